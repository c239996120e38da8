namespace Throughline.Instruments.Physics;

/// <summary>Solutions of known redox potential.</summary>
public static class RedoxStandard
{
    private static readonly PiecewiseLinear Triiodide = new(
        [(0, 0.438), (5, 0.435), (10, 0.431), (15, 0.428), (20, 0.424), (25, 0.420), (30, 0.415), (35, 0.411), (40, 0.406), (45, 0.401), (50, 0.396)]);

    /// <summary>Zobell's solution (1/300 mol/L each of ferro- and ferricyanide in 0.1 mol/L KCl) on the hydrogen scale, V: 428 mV − 2.2 mV/K from 25 °C, which
    /// gives Standard Methods 2580 table I to its last digit; NaN outside 1 to 30 °C.</summary>
    public static double Zobell(double celsius) => celsius is >= 1 and <= 30 ? 0.428 - 0.0022 * (celsius - 25) : double.NaN;

    /// <summary>The same against silver chloride in 4 mol/L KCl, V: 228 mV − 1.3 mV/K from 25 °C; NaN outside −5 to 50 °C.</summary>
    public static double ZobellAgainstSilverChloride4(double celsius) => celsius is >= -5 and <= 50 ? 0.228 - 0.0013 * (celsius - 25) : double.NaN;

    /// <summary>Light's solution on the hydrogen scale at 25 °C, V.</summary>
    public const double Light = 0.675;

    /// <summary>Ready-made standards against silver chloride in 3 mol/L KCl at 25 °C, V (from memory; no table against temperature is known).</summary>
    public const double Ready220 = 0.220;

    public const double Ready468 = 0.468;

    /// <summary>Triiodide and iodide on the hydrogen scale, V, published from 0 to 50 °C; NaN outside.</summary>
    public static double TriiodideIodide(double celsius) => Triiodide.Y(celsius);

    /// <summary>Quinhydrone in a buffer on the hydrogen scale, V: 699.2 mV − 0.74 mV/K from 25 °C − k(T) pH. Standard potential and its coefficient are
    /// from memory; against a published table they agree within 2.2 mV.</summary>
    public static double Quinhydrone(double ph, double celsius) => 0.6992 - 0.00074 * (celsius - 25) - Nernst.Slope(celsius) * ph;
}
