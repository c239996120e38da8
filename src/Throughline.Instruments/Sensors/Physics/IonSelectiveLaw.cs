namespace Throughline.Instruments.Physics;

/// <summary>
/// Potential of an ion-selective electrode against its reference: E = E_ref + s k(T) / z · log₁₀((c + L) / c_ref), rising with the concentration of a
/// positive ion. Below the detection limit L the potential levels off; the limit is where the sloping and the level part of the line cross, as the IUPAC
/// recommendations for ion-selective electrodes define it (from memory). The potential at c_ref is taken not to move with temperature.
/// </summary>
public static class IonSelectiveLaw
{
    /// <summary>Potential, V; NaN for a concentration that is not positive while there is no detection limit.</summary>
    /// <param name="concentration">c, in the unit of <paramref name="reference"/>.</param>
    /// <param name="celsius">°C.</param>
    /// <param name="charge">z: 1, −1, 2 or −2.</param>
    /// <param name="reference">c_ref, positive.</param>
    /// <param name="referenceVolts">E_ref, V.</param>
    /// <param name="relativeSlope">s; 1 is ideal.</param>
    /// <param name="detectionLimit">L, in the unit of <paramref name="reference"/>; 0 for none.</param>
    public static double Potential(
        double concentration, double celsius, int charge, double reference, double referenceVolts, double relativeSlope = 1, double detectionLimit = 0)
    {
        double effective = concentration + detectionLimit;
        return effective > 0
            ? referenceVolts + relativeSlope * Nernst.Slope(celsius) / charge * Math.Log10(effective / reference)
            : double.NaN;
    }

    /// <summary>The concentration of a potential on the sloping line, that is without a detection limit.</summary>
    public static double Concentration(
        double volts, double celsius, int charge, double reference, double referenceVolts, double relativeSlope = 1) =>
        reference * Math.Pow(10, (volts - referenceVolts) * charge / (relativeSlope * Nernst.Slope(celsius)));
}
