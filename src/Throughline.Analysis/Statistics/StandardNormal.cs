using System.Runtime.Intrinsics;

namespace Throughline.Analysis;

/// <summary>The normal distribution of mean 0 and standard deviation 1. The same bits on every machine: nothing here uses the platform's logarithm. Safe on any thread.</summary>
public static class StandardNormal
{
    private const double Split1 = 0.425, Split2 = 5.0, Const1 = 0.180625, Const2 = 1.6;

    /// <summary>The value that a share <paramref name="p"/> lies below.</summary>
    /// <param name="p">0 to 1; 0 gives −∞ and 1 gives ∞, outside and NaN gives NaN.</param>
    /// <returns>Relative error about 1e−16 (the source's claim; tests hold 3e−15 down to p = 1e−300).</returns>
    /// <remarks>Wichura, Algorithm AS 241, PPND16, Applied Statistics 37 (1988) 477. Odd about ½ to the bit for every p whose 1 − p is exact.</remarks>
    public static double Quantile(double p)
    {
        double q = p - 0.5;
        if (Math.Abs(q) <= Split1)
        {
            return Centre(q);
        }

        double tail = q < 0 ? p : 1 - p;
        if (!(tail > 0))
        {
            return tail == 0 ? (q < 0 ? double.NegativeInfinity : double.PositiveInfinity) : double.NaN;
        }

        double r = Math.Sqrt(-PortableMath.Log(tail));
        double x = r <= Split2 ? Tail(r - Const2) : FarTail(r - Split2);
        return q < 0 ? -x : x;
    }

    /// <summary>Quantiles of many shares, eight at a time; the same bits as <see cref="Quantile(double)"/> of each. Allocates nothing.</summary>
    /// <param name="values">As long as <paramref name="p"/>; may be the same span.</param>
    /// <exception cref="ArgumentException"><paramref name="values"/> is shorter.</exception>
    public static void Quantiles(ReadOnlySpan<double> p, Span<double> values)
    {
        values = values[..p.Length];
        int i = 0;
        for (; p.Length - i >= 8; i += 8)
        {
            Vector512<double> q = Vector512.Create(p.Slice(i, 8)) - Vector512.Create(0.5);
            Vector512<double> central = Vector512.LessThanOrEqual(Vector512.Abs(q), Vector512.Create(Split1));
            if (Vector512.EqualsAll(central.AsUInt64(), Vector512<ulong>.AllBitsSet))
            {
                Centre(q).CopyTo(values[i..]);
                continue;
            }

            Vector512<double> negative = Vector512.LessThan(q, Vector512<double>.Zero);
            Vector512<double> tail = Vector512.ConditionalSelect(negative, Vector512.Create(p.Slice(i, 8)), Vector512<double>.One - Vector512.Create(p.Slice(i, 8)));
            Vector512<double> far = ~central & ~Vector512.GreaterThan(tail, Vector512.Create(FarTailBelow));
            if (!Vector512.EqualsAll(far.AsUInt64(), Vector512<ulong>.Zero))
            {
                // rarer than one draw in 10¹⁰
                for (int j = i; j < i + 8; j++)
                {
                    values[j] = Quantile(p[j]);
                }

                continue;
            }

            Vector512<double> r = Vector512.Sqrt(-PortableMath.Log(tail)) - Vector512.Create(Const2);
            Vector512<double> x = Tail(r);
            x = Vector512.ConditionalSelect(negative, -x, x);
            Vector512.ConditionalSelect(central, Centre(q), x).CopyTo(values[i..]);
        }

        for (; i < p.Length; i++)
        {
            values[i] = Quantile(p[i]);
        }
    }

    /// <summary>The share below <paramref name="x"/>: full relative precision in the lower tail, where it is small.</summary>
    /// <param name="x">Any value; ±∞ give 0 and 1, NaN gives NaN.</param>
    /// <remarks>Cody, Rational Chebyshev approximations for the error function, Math. Comp. 23 (1969) 631, in the form of ACM Algorithm 715 (ANORM).</remarks>
    public static double Cumulative(double x)
    {
        double y = Math.Abs(x);
        if (y <= 0.67448975)
        {
            double s = y > 1.11e-16 ? x * x : 0;
            double num = A4 * s, den = s;
            num = (num + A0) * s;
            den = (den + B0) * s;
            num = (num + A1) * s;
            den = (den + B1) * s;
            num = (num + A2) * s;
            den = (den + B2) * s;
            return 0.5 + x * (num + A3) / (den + B3);
        }

        if (double.IsNaN(x))
        {
            return x;
        }

        double lower = y > 38.5 ? 0 : LowerTail(y);
        return x < 0 ? lower : 1 - lower;
    }

    /// <summary>The density at <paramref name="x"/>.</summary>
    public static double Density(double x) => 0.39894228040143267794 * PortableMath.Exp(-0.5 * x * x);

    /// <summary>Coverage factor k of a central interval: <c>p = 0.9545</c> gives 2.00.</summary>
    /// <param name="p">Between 0 and 1, both excluded.</param>
    public static double CoverageFactor(double p)
    {
        Probability.Check(p);
        return -Quantile((1 - p) / 2);
    }

    private const double FarTailBelow = 1.3887943864964021e-11; // e^-25: beyond it sqrt(-ln p) exceeds 5

    private static double LowerTail(double y)
    {
        double num, den, temp;
        if (y <= 5.656854249492380195)
        {
            num = C8 * y;
            den = y;
            num = (num + C0) * y;
            den = (den + D0) * y;
            num = (num + C1) * y;
            den = (den + D1) * y;
            num = (num + C2) * y;
            den = (den + D2) * y;
            num = (num + C3) * y;
            den = (den + D3) * y;
            num = (num + C4) * y;
            den = (den + D4) * y;
            num = (num + C5) * y;
            den = (den + D5) * y;
            num = (num + C6) * y;
            den = (den + D6) * y;
            temp = (num + C7) / (den + D7);
        }
        else
        {
            double s = 1 / (y * y);
            num = P5 * s;
            den = s;
            num = (num + P0) * s;
            den = (den + Q0) * s;
            num = (num + P1) * s;
            den = (den + Q1) * s;
            num = (num + P2) * s;
            den = (den + Q2) * s;
            num = (num + P3) * s;
            den = (den + Q3) * s;
            temp = s * (num + P4) / (den + Q4);
            temp = (0.39894228040143267794 - temp) / y;
        }

        // exp(-y²/2) in two factors, so that the rounding of y² does not grow with y²
        double cut = Math.Truncate(y * 16) / 16;
        return PortableMath.Exp(-cut * cut * 0.5) * PortableMath.Exp(-(y - cut) * (y + cut) * 0.5) * temp;
    }

    // AS 241. a, b for |p − ½| ≤ 0.425; c, d for the tails; e, f beyond e^-25.
    private static double Centre(double q)
    {
        double r = Const1 - q * q;
        return q * (((((((((((((2.5090809287301226727e3 * r) + 3.3430575583588128105e4) * r) + 6.7265770927008700853e4) * r) + 4.5921953931549871457e4) * r) + 1.3731693765509461125e4) * r)
            + 1.9715909503065514427e3) * r) + 1.3314166789178437745e2) * r + 3.3871328727963666080e0)
            / (((((((((((((5.2264952788528545610e3 * r) + 2.8729085735721942674e4) * r) + 3.9307895800092710610e4) * r) + 2.1213794301586595867e4) * r) + 5.3941960214247511077e3) * r)
            + 6.8718700749205790830e2) * r) + 4.2313330701600911252e1) * r + 1.0);
    }

    private static Vector512<double> Centre(Vector512<double> q)
    {
        Vector512<double> r = Vector512.Create(Const1) - q * q;
        Vector512<double> num = Vector512.Create(2.5090809287301226727e3) * r + Vector512.Create(3.3430575583588128105e4);
        num = num * r + Vector512.Create(6.7265770927008700853e4);
        num = num * r + Vector512.Create(4.5921953931549871457e4);
        num = num * r + Vector512.Create(1.3731693765509461125e4);
        num = num * r + Vector512.Create(1.9715909503065514427e3);
        num = num * r + Vector512.Create(1.3314166789178437745e2);
        num = num * r + Vector512.Create(3.3871328727963666080e0);
        Vector512<double> den = Vector512.Create(5.2264952788528545610e3) * r + Vector512.Create(2.8729085735721942674e4);
        den = den * r + Vector512.Create(3.9307895800092710610e4);
        den = den * r + Vector512.Create(2.1213794301586595867e4);
        den = den * r + Vector512.Create(5.3941960214247511077e3);
        den = den * r + Vector512.Create(6.8718700749205790830e2);
        den = den * r + Vector512.Create(4.2313330701600911252e1);
        den = den * r + Vector512<double>.One;
        return q * num / den;
    }

    private static double Tail(double r) =>
        (((((((((((((7.74545014278341407640e-4 * r) + 2.27238449892691845833e-2) * r) + 2.41780725177450611770e-1) * r) + 1.27045825245236838258e0) * r) + 3.64784832476320460504e0) * r)
        + 5.76949722146069140550e0) * r) + 4.63033784615654529590e0) * r + 1.42343711074968357734e0)
        / (((((((((((((1.05075007164441684324e-9 * r) + 5.47593808499534494600e-4) * r) + 1.51986665636164571966e-2) * r) + 1.48103976427480074590e-1) * r) + 6.89767334985100004550e-1) * r)
        + 1.67638483018380384940e0) * r) + 2.05319162663775882187e0) * r + 1.0);

    private static Vector512<double> Tail(Vector512<double> r)
    {
        Vector512<double> num = Vector512.Create(7.74545014278341407640e-4) * r + Vector512.Create(2.27238449892691845833e-2);
        num = num * r + Vector512.Create(2.41780725177450611770e-1);
        num = num * r + Vector512.Create(1.27045825245236838258e0);
        num = num * r + Vector512.Create(3.64784832476320460504e0);
        num = num * r + Vector512.Create(5.76949722146069140550e0);
        num = num * r + Vector512.Create(4.63033784615654529590e0);
        num = num * r + Vector512.Create(1.42343711074968357734e0);
        Vector512<double> den = Vector512.Create(1.05075007164441684324e-9) * r + Vector512.Create(5.47593808499534494600e-4);
        den = den * r + Vector512.Create(1.51986665636164571966e-2);
        den = den * r + Vector512.Create(1.48103976427480074590e-1);
        den = den * r + Vector512.Create(6.89767334985100004550e-1);
        den = den * r + Vector512.Create(1.67638483018380384940e0);
        den = den * r + Vector512.Create(2.05319162663775882187e0);
        den = den * r + Vector512<double>.One;
        return num / den;
    }

    private static double FarTail(double r) =>
        (((((((((((((2.01033439929228813265e-7 * r) + 2.71155556874348757815e-5) * r) + 1.24266094738807843860e-3) * r) + 2.65321895265761230930e-2) * r) + 2.96560571828504891230e-1) * r)
        + 1.78482653991729133580e0) * r) + 5.46378491116411436990e0) * r + 6.65790464350110377720e0)
        / (((((((((((((2.04426310338993978564e-15 * r) + 1.42151175831644588870e-7) * r) + 1.84631831751005468180e-5) * r) + 7.86869131145613259100e-4) * r) + 1.48753612908506148525e-2) * r)
        + 1.36929880922735805310e-1) * r) + 5.99832206555887937690e-1) * r + 1.0);

    private const double A0 = 2.2352520354606839287, A1 = 161.02823106855587881, A2 = 1067.6894854603709582, A3 = 18154.981253343561249, A4 = 0.065682337918207449113;
    private const double B0 = 47.20258190468824187, B1 = 976.09855173777669322, B2 = 10260.932208618978205, B3 = 45507.789335026729956;
    private const double C0 = 0.39894151208813466764, C1 = 8.8831497943883759412, C2 = 93.506656132177855979, C3 = 597.27027639480026226, C4 = 2494.5375852903726711,
        C5 = 6848.1904505362823326, C6 = 11602.651437647350124, C7 = 9842.7148383839780218, C8 = 1.0765576773720192317e-8;
    private const double D0 = 22.266688044328115691, D1 = 235.38790178262499861, D2 = 1519.377599407554805, D3 = 6485.558298266760755, D4 = 18615.571640885098091,
        D5 = 34900.952721145977266, D6 = 38912.003286093271411, D7 = 19685.429676859990727;
    private const double P0 = 0.21589853405795699, P1 = 0.1274011611602473639, P2 = 0.022235277870649807, P3 = 0.001421619193227893466, P4 = 2.9112874951168792e-5, P5 = 0.02307344176494017303;
    private const double Q0 = 1.28426009614491121, Q1 = 0.468238212480865118, Q2 = 0.0659881378689285515, Q3 = 0.00378239633202758244, Q4 = 7.29751555083966205e-5;
}
