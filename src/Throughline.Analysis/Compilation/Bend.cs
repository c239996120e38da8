namespace Throughline.Analysis;

/// <summary>
/// How a converter's integral nonlinearity lies over its range. A data sheet gives only its greatest size; between ends that are right by definition it is
/// a bow, an S, or a mixture of both, and no calibration at two points takes it away. Common practice, no source.
/// </summary>
internal static class Bend
{
    /// <summary>Not bent: the greatest size everywhere, which is what a worst case asks for.</summary>
    public const double Everywhere = double.NaN;

    /// <summary>1 over the greatest value of x (1 − x)(1 − 2x), 6 √3.</summary>
    private const double PeakOfS = 10.392304845413264;

    /// <summary>The share of the greatest nonlinearity at a place of the range, −1 to 1.</summary>
    /// <param name="place">0 at the low end of the range, 1 at the high end; beyond them 0.</param>
    /// <param name="mix">−1 and 1 are an S of either sign, 0 is a bow; <see cref="Everywhere"/> for the greatest size at every place.</param>
    public static double Share(double place, double mix)
    {
        if (double.IsNaN(mix))
        {
            return 1;
        }

        double x = Math.Clamp(place, 0, 1);
        double bow = x * (1 - x);
        return ((1 - Math.Abs(mix)) * 4 * bow) + (mix * PeakOfS * bow * (1 - (2 * x)));
    }
}
