namespace Throughline.Instruments.Physics;

/// <summary>
/// Resistance of industrial platinum thermometers, IEC 60751:2008: R(t) = R₀ (1 + A t + B t²) from 0 to 850 °C and
/// R₀ (1 + A t + B t² + C (t − 100) t³) from −200 to 0 °C.
/// </summary>
public static class PlatinumResistance
{
    public const double A = 3.9083e-3;

    public const double B = -5.775e-7;

    public const double C = -4.183e-12;

    /// <summary>Ends of the standard's range, °C.</summary>
    public const double LowestCelsius = -200;

    public const double HighestCelsius = 850;

    private static readonly double LowestRatio = Ratio(LowestCelsius);

    private static readonly double HighestRatio = Ratio(HighestCelsius);

    /// <summary>R(t) / R₀; NaN outside −200 to 850 °C.</summary>
    public static double Ratio(double celsius) => celsius switch
    {
        >= 0 and <= HighestCelsius => 1 + celsius * (A + celsius * B),
        < 0 and >= LowestCelsius => 1 + celsius * (A + celsius * (B + celsius * C * (celsius - 100))),
        _ => double.NaN,
    };

    /// <summary>d(R/R₀)/dt, 1/K; NaN outside −200 to 850 °C.</summary>
    public static double Sensitivity(double celsius) => celsius switch
    {
        >= 0 and <= HighestCelsius => A + 2 * B * celsius,
        < 0 and >= LowestCelsius => A + celsius * (2 * B + C * celsius * (4 * celsius - 300)),
        _ => double.NaN,
    };

    /// <summary>The temperature of a ratio R/R₀, °C: the quadratic's root from 0 °C up, Newton's method from that root below, where the fourth-order
    /// term counts. NaN outside the ratios of −200 and 850 °C.</summary>
    public static double Celsius(double ratio)
    {
        if (!(ratio >= LowestRatio && ratio <= HighestRatio))
        {
            return double.NaN;
        }

        // The root in the form without cancellation near 0 °C.
        double t = 2 * (ratio - 1) / (A + Math.Sqrt(A * A + 4 * B * (ratio - 1)));
        if (ratio >= 1)
        {
            return Math.Min(t, HighestCelsius);
        }

        for (int i = 0; i < 20; i++)
        {
            // Steps from outside the range are taken from its end; the curve is convex enough for that to converge from either side.
            t = Math.Max(t, LowestCelsius);
            double step = (Ratio(t) - ratio) / Sensitivity(t);
            t -= step;
            if (Math.Abs(step) <= 1e-13 * Math.Abs(t))
            {
                break;
            }
        }

        return Math.Max(t, LowestCelsius);
    }

    /// <summary>Error of a bare curve without the fourth-order term below 0 °C: the temperature that the quadratic's root gives, °C.</summary>
    public static double CelsiusByQuadratic(double ratio) => 2 * (ratio - 1) / (A + Math.Sqrt(A * A + 4 * B * (ratio - 1)));
}
