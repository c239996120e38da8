namespace Throughline.Instruments;

/// <summary>What one unit is at one moment: the values of its parameters and the conditions around it.</summary>
public interface IUnitState
{
    /// <summary>The parameter's value in this unit at this ambient temperature, drift included, in the parameter's unit.</summary>
    double Value(Parameter parameter);

    /// <summary>The value of the measurand, in the unit of the specification.</summary>
    double Measurand { get; }

    /// <summary>Ambient temperature of the instrument, °C.</summary>
    double AmbientCelsius { get; }

    /// <summary>Temperature of what is measured, °C.</summary>
    double ProcessCelsius { get; }

    /// <summary>Time since the last calibration, s.</summary>
    double AgeSeconds { get; }
}

/// <summary>A value of an element as it follows from a unit's state. It reads only what <see cref="IUnitState"/> gives and has no memory.</summary>
public delegate double Law(IUnitState state);
