namespace Throughline.Instruments.Physics;

/// <summary>
/// Potential of a glass electrode with its reference: E = E₀ − k(T) s (pH − pHᵢ), positive in acid. The relative slope s, the zero (the pH at which
/// it gives 0 V at 25 °C) and the isopotential point pHᵢ (the pH at which its potential does not move with temperature) are three properties; E₀ is the
/// potential at the isopotential point and follows from the zero. IEC 60746-2 tells zero and isopotential apart in the same way.
/// </summary>
public static class GlassElectrodeLaw
{
    private const double ReferenceCelsius = 25;

    /// <summary>Potential, V.</summary>
    /// <param name="ph">pH.</param>
    /// <param name="celsius">Temperature of the electrode, °C.</param>
    /// <param name="zeroPh">pH at which it gives 0 V at 25 °C.</param>
    /// <param name="relativeSlope">Slope over the theoretical one; 1 is ideal.</param>
    /// <param name="isopotentialPh">pH of the isopotential point.</param>
    public static double Potential(double ph, double celsius, double zeroPh, double relativeSlope, double isopotentialPh) =>
        relativeSlope * (Nernst.Slope(ReferenceCelsius) * (zeroPh - isopotentialPh) - Nernst.Slope(celsius) * (ph - isopotentialPh));

    /// <summary>The pH at which <see cref="Potential"/> gives <paramref name="volts"/>; NaN for a slope of 0.</summary>
    public static double Ph(double volts, double celsius, double zeroPh, double relativeSlope, double isopotentialPh) =>
        relativeSlope == 0
            ? double.NaN
            : isopotentialPh + (Nernst.Slope(ReferenceCelsius) * (zeroPh - isopotentialPh) - volts / relativeSlope) / Nernst.Slope(celsius);

    /// <summary>Resistance of the glass, Ω: it halves with every <paramref name="halvingKelvin"/> of rise.</summary>
    /// <param name="ohmsAt25">Resistance at 25 °C, Ω.</param>
    /// <param name="celsius">°C.</param>
    /// <param name="halvingKelvin">K, positive; 7 to 8 K is common practice, a factor of ten in 25 K (an electrode maker's guide) is 7.53 K.</param>
    public static double Resistance(double ohmsAt25, double celsius, double halvingKelvin) =>
        ohmsAt25 * double.Exp2((ReferenceCelsius - celsius) / halvingKelvin);

    /// <summary>The kelvins in which a resistance halves that falls by <paramref name="factor"/> over <paramref name="kelvins"/>.</summary>
    public static double HalvingInterval(double factor, double kelvins) => kelvins / Math.Log2(factor);
}
