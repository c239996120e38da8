using System.Runtime.Intrinsics;

namespace Throughline.Analysis;

/// <summary>
/// Logarithm and exponential with the same bits on every machine and at every vector width. Those of <see cref="Math"/> are the platform's C library's, whose
/// last bit differs from one to the next: a unit of the virtual batch would then not be the same unit everywhere.
/// </summary>
/// <remarks>The methods and coefficients of FDLIBM's e_log.c and e_exp.c (Sun Microsystems, 1993, free for any use): error below 1 ulp.</remarks>
internal static class PortableMath
{
    private const double Ln2High = 6.93147180369123816490e-01, Ln2Low = 1.90821492927058770002e-10;
    private const double L1 = 6.666666666666735130e-01, L2 = 3.999999999940941908e-01, L3 = 2.857142874366239149e-01, L4 = 2.222219843214978396e-01,
        L5 = 1.818357216161805012e-01, L6 = 1.531383769920937332e-01, L7 = 1.479819860511658591e-01;

    private const long HalfRoot2 = 0x3FE6A09E667F3BCD; // bits of sqrt(1/2): the fraction is brought to [sqrt(1/2), sqrt(2))

    /// <summary>ln x of a positive finite x, subnormal included.</summary>
    public static double Log(double x)
    {
        double scale = 0;
        if (x < 2.2250738585072014e-308)
        {
            x *= 18014398509481984; // 2^54
            scale = -54;
        }

        long bits = BitConverter.DoubleToInt64Bits(x) - HalfRoot2;
        double k = (bits >> 52) + scale;
        double f = BitConverter.Int64BitsToDouble((bits & 0x000FFFFFFFFFFFFF) + HalfRoot2) - 1;
        double s = f / (2 + f), z = s * s, w = z * z;
        double odd = z * (L1 + w * (L3 + w * (L5 + w * L7)));
        double even = w * (L2 + w * (L4 + w * L6));
        double half = 0.5 * f * f;
        return k * Ln2High - (half - (s * (half + (even + odd)) + k * Ln2Low) - f);
    }

    /// <summary>ln x of eight positive normal numbers.</summary>
    public static Vector512<double> Log(Vector512<double> x)
    {
        Vector512<long> bits = x.AsInt64() - Vector512.Create(HalfRoot2);
        Vector512<double> k = Vector512.ConvertToDouble(bits >> 52);
        Vector512<double> f = ((bits & Vector512.Create(0x000FFFFFFFFFFFFF)) + Vector512.Create(HalfRoot2)).AsDouble() - Vector512<double>.One;
        Vector512<double> s = f / (Vector512.Create(2.0) + f), z = s * s, w = z * z;
        Vector512<double> odd = z * (Vector512.Create(L1) + w * (Vector512.Create(L3) + w * (Vector512.Create(L5) + w * Vector512.Create(L7))));
        Vector512<double> even = w * (Vector512.Create(L2) + w * (Vector512.Create(L4) + w * Vector512.Create(L6)));
        Vector512<double> half = Vector512.Create(0.5) * f * f;
        return k * Vector512.Create(Ln2High) - (half - (s * (half + (even + odd)) + k * Vector512.Create(Ln2Low)) - f);
    }

    /// <summary>e^x of any finite x: 0 below −745.14, ∞ above 709.79. NaN gives NaN.</summary>
    public static double Exp(double x)
    {
        if (!(x > -745.14))
        {
            return double.IsNaN(x) ? x : 0;
        }

        if (x > 709.79)
        {
            return double.PositiveInfinity;
        }

        double k = Math.Round(x * 1.44269504088896338700);
        double high = x - k * Ln2High, low = k * Ln2Low;
        double r = high - low, t = r * r;
        double c = r - t * (E1 + t * (E2 + t * (E3 + t * (E4 + t * E5))));
        return Math.ScaleB(1 - (low - r * c / (2 - c) - high), (int)k);
    }

    private const double E1 = 1.66666666666666019037e-01, E2 = -2.77777777770155933842e-03, E3 = 6.61375632143793436117e-05,
        E4 = -1.65339022054652515390e-06, E5 = 4.13813679705723846039e-08;
}
