using System.Collections.Immutable;

namespace Throughline.Instruments.Physics;

/// <summary>One published inverse polynomial of a thermocouple type, t = Σ dᵢ Eⁱ.</summary>
/// <param name="LowVolts">Start of the emf for which it is published, V.</param>
/// <param name="HighVolts">End of it, V.</param>
/// <param name="Coefficients">d₀ and on, in °C and mV as published.</param>
public sealed record ThermocoupleInverse(double LowVolts, double HighVolts, ImmutableArray<double> Coefficients)
{
    /// <summary>Highest power in it.</summary>
    public int Degree => Coefficients.Length - 1;

    /// <summary>The temperature of an emf, °C, wherever the emf lies.</summary>
    public double Celsius(double volts)
    {
        double sum = 0;
        for (int i = Coefficients.Length - 1; i >= 0; i--)
        {
            sum = sum * volts * 1000 + Coefficients[i];
        }

        return sum;
    }
}
