namespace Throughline.Instruments;

/// <summary>What kind of quantity a number is. Values are kept in the unit named beside each kind.</summary>
public enum Dimension
{
    /// <summary>A plain number; per cent, ppm, decibel and volt per volt come here as a ratio (1 % is 0.01, 20 dB is 10).</summary>
    Ratio,

    /// <summary>Volt.</summary>
    Voltage,

    /// <summary>Ampere.</summary>
    Current,

    /// <summary>Ohm.</summary>
    Resistance,

    /// <summary>Farad.</summary>
    Capacitance,

    /// <summary>Henry.</summary>
    Inductance,

    /// <summary>Second.</summary>
    Time,

    /// <summary>Hertz.</summary>
    Frequency,

    /// <summary>Degree Celsius, a point on the scale.</summary>
    Temperature,

    /// <summary>Kelvin, a difference or an interval.</summary>
    TemperatureDifference,

    /// <summary>Watt.</summary>
    Power,

    /// <summary>Kelvin per watt.</summary>
    ThermalResistance,

    /// <summary>pH unit.</summary>
    Acidity,

    /// <summary>pH per second.</summary>
    AcidityRate,

    /// <summary>Volt per second.</summary>
    VoltageRate,

    /// <summary>Ratio per second: a drift with time.</summary>
    RatioRate,

    /// <summary>Volt per square root of hertz.</summary>
    VoltageNoise,

    /// <summary>Ampere per square root of hertz.</summary>
    CurrentNoise,

    /// <summary>Kilogram.</summary>
    Mass,

    /// <summary>Newton.</summary>
    Force,

    /// <summary>Pascal.</summary>
    Pressure,

    /// <summary>Metre.</summary>
    Length,

    /// <summary>Square metre.</summary>
    Area,

    /// <summary>Mole per cubic metre, which is a millimole per litre.</summary>
    Concentration,

    /// <summary>Coulomb, which is an ampere second.</summary>
    Charge,

    /// <summary>Byte.</summary>
    Memory,

    /// <summary>Steps of a converter (LSB).</summary>
    ConverterStep,

    /// <summary>Price in the user's currency, a plain number.</summary>
    Price,
}
