namespace Throughline.Instruments.Physics;

/// <summary>
/// What two readings in two standards at one temperature say about a pH electrode, and what a later reading then means.
/// The slope is positive: a reading falls as the pH rises.
/// </summary>
/// <param name="Slope">V/pH at <paramref name="Celsius"/>.</param>
/// <param name="ZeroPh">pH at which the electrode gives 0 V at <paramref name="Celsius"/>.</param>
/// <param name="Celsius">Temperature of the standards, °C.</param>
public readonly record struct ElectrodeCalibration(double Slope, double ZeroPh, double Celsius)
{
    /// <summary>From two readings.</summary>
    /// <param name="firstPh">pH of the first standard at <paramref name="celsius"/>.</param>
    /// <param name="firstVolts">Reading in it, V.</param>
    /// <param name="secondPh">pH of the second; another than the first.</param>
    /// <param name="secondVolts">Reading in it, V.</param>
    /// <param name="celsius">Temperature of both, °C.</param>
    /// <exception cref="ArgumentException">Both standards have the same pH, or both readings are the same.</exception>
    public static ElectrodeCalibration FromTwoPoints(double firstPh, double firstVolts, double secondPh, double secondVolts, double celsius)
    {
        double slope = (firstVolts - secondVolts) / (secondPh - firstPh);
        if (!double.IsFinite(slope) || slope == 0)
        {
            throw new ArgumentException("Two standards of different pH with different readings make a slope.", nameof(secondPh));
        }

        return new(slope, firstPh + firstVolts / slope, celsius);
    }

    /// <summary>Slope over the theoretical slope at the temperature of the standards.</summary>
    public double RelativeSlope => Slope / Nernst.Slope(Celsius);

    /// <summary>The slope that this electrode has at another temperature, V/pH: slopes go with the absolute temperature.</summary>
    public double SlopeAt(double celsius) => RelativeSlope * Nernst.Slope(celsius);

    /// <summary>Potential at a pH at the temperature of the standards, V.</summary>
    public double Potential(double ph) => Slope * (ZeroPh - ph);

    /// <summary>pH of a reading, compensated about an isopotential point: the potential there, as calibrated, is held.</summary>
    /// <param name="volts">Reading, V.</param>
    /// <param name="celsius">Temperature of the reading, °C; that of the standards means no compensation.</param>
    /// <param name="isopotentialPh">pH whose potential does not move with temperature; <see cref="ZeroPh"/> pivots about the zero.</param>
    public double Ph(double volts, double celsius, double isopotentialPh) =>
        isopotentialPh + (Potential(isopotentialPh) - volts) / SlopeAt(celsius);
}
