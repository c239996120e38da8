using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an output converter gives when it is told to give a voltage: its own errors are part of it, so that they reach everything behind it.</summary>
internal sealed class OutputConverterLaw
{
    private readonly OutputConverterStage _dac;
    private readonly double _nominalReference;
    private readonly double _full;

    public OutputConverterLaw(OutputConverterStage dac)
    {
        _dac = dac;
        _nominalReference = dac.Reference?.Quantity.Value ?? 1;
        _full = _nominalReference * dac.Gain;
        Law = s => Volts(((UnitState)s).DriveVolts, Of((UnitState)s));
    }

    /// <summary>The voltage given, V, as a law of the network.</summary>
    public Law Law { get; }

    /// <summary>What of a unit it takes to say the voltage; the same for every voltage asked for.</summary>
    /// <param name="Factor">On the voltage asked for.</param>
    /// <param name="Added">V.</param>
    /// <param name="Nonlinearity">At its greatest, V.</param>
    /// <param name="Bend">See <see cref="Analysis.Bend"/>.</param>
    public readonly record struct Errors(double Factor, double Added, double Nonlinearity, double Bend);

    /// <summary>The errors of a state's unit as it is.</summary>
    public Errors Of(UnitState state)
    {
        double reference = _dac.Reference is null ? 1 : _dac.ReferenceVolts(state) / _nominalReference;
        double gainError = _dac.GainError is { } g ? state.Value(g) : 0;
        double offset = _dac.Offset is { } o ? state.Value(o) : 0;
        double nonlinearity = _dac.Nonlinearity is { } n ? Math.ScaleB(state.Value(n) * _full, -_dac.Bits) : 0;
        return new Errors(reference * (1 + gainError), offset, nonlinearity, state.OutputBend);
    }

    /// <summary>What of the voltage given is in proportion to the reference, V; the rest is <see cref="Errors.Added"/>.</summary>
    public double InProportion(UnitState state)
    {
        Errors errors = Of(state);
        return Volts(state.DriveVolts, errors) - errors.Added;
    }

    /// <summary>The voltage given for one asked for, V.</summary>
    public double Volts(double asked, in Errors errors) =>
        (asked * errors.Factor) + errors.Added + (errors.Nonlinearity == 0 ? 0 : errors.Nonlinearity * Bend.Share(asked / _full, errors.Bend));
}
