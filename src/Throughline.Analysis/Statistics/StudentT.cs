namespace Throughline.Analysis;

/// <summary>Student's t distribution, location 0 and scale 1, with any positive number of degrees of freedom, whole or not; infinity is the normal distribution. Safe on any thread.</summary>
public static class StudentT
{
    // From here on the expansion about the normal distribution is exact to rounding.
    private const double Many = 1e5;

    /// <summary>The share below <paramref name="t"/>.</summary>
    /// <param name="degrees">Degrees of freedom, positive; infinity allowed.</param>
    /// <remarks>½ I_x(ν/2, ½) with x = ν/(ν + t²): Abramowitz, Stegun 26.7.1 and 26.5.27; the incomplete beta function by its continued fraction 26.5.8 in the form of Lentz.</remarks>
    public static double Cumulative(double t, double degrees)
    {
        Check(degrees);
        if (double.IsNaN(t) || double.IsPositiveInfinity(degrees))
        {
            return StandardNormal.Cumulative(t);
        }

        double tail = Tail(Math.Abs(t), degrees);
        return t < 0 ? tail : 1 - tail;
    }

    /// <summary>The value that a share <paramref name="p"/> lies below.</summary>
    /// <param name="p">Between 0 and 1, both excluded.</param>
    /// <param name="degrees">Degrees of freedom, positive; infinity allowed.</param>
    /// <remarks>Newton steps on <see cref="Cumulative"/> inside a shrinking bracket, relative error about 1e−14; above 10⁵ degrees the expansion Abramowitz, Stegun 26.7.5.</remarks>
    public static double Quantile(double p, double degrees)
    {
        Probability.Check(p);
        Check(degrees);
        if (p == 0.5)
        {
            return 0;
        }

        double tail = p < 0.5 ? p : 1 - p;
        double t = degrees > Many ? Expansion(-StandardNormal.Quantile(tail), degrees) : Solve(tail, degrees);
        return p < 0.5 ? -t : t;
    }

    /// <summary>Coverage factor of a central interval: t₉₅(16) is <c>CoverageFactor(0.95, 16)</c> = 2.12.</summary>
    /// <param name="p">Between 0 and 1, both excluded.</param>
    /// <param name="degrees">Degrees of freedom, positive; infinity allowed.</param>
    public static double CoverageFactor(double p, double degrees)
    {
        Probability.Check(p);
        Check(degrees);
        return -Quantile((1 - p) / 2, degrees);
    }

    private static void Check(double degrees)
    {
        if (!(degrees > 0))
        {
            throw new ArgumentOutOfRangeException(nameof(degrees), degrees, "Degrees of freedom are positive.");
        }
    }

    private static double Solve(double tail, double degrees)
    {
        double low = 0, high = double.PositiveInfinity;
        double t = degrees >= 1 ? Guess(2 * tail, degrees) : 1;
        t = t > 0 && double.IsFinite(t) ? t : 1;
        double logScale = LogBeta(degrees);
        for (int i = 0; i < 2000; i++)
        {
            double error = TailError(t, degrees, tail);
            (low, high) = error > 0 ? (t, high) : (low, t);
            double density = PortableMath.Exp(-0.5 * (degrees + 1) * Log1P(t * t / degrees) - logScale) / Math.Sqrt(degrees);
            double next = t + error / density;
            if (!(next > low && next < high))
            {
                next = double.IsPositiveInfinity(high) ? 4 * t : 0.5 * (low + high);
            }
            else if (Math.Abs(next - t) <= 1e-9 * t)
            {
                return next; // Newton's error is squared at each step: what is left is rounding
            }

            if (next == t || next == low || next == high)
            {
                return next;
            }

            t = next;
        }

        return t;
    }

    // Hill, Algorithm 396, Commun. ACM 13 (1970) 619: to a few digits, for a good start.
    private static double Guess(double twoTails, double n)
    {
        double a = 1 / (n - 0.5), b = 48 / (a * a);
        double c = ((20700 * a / b - 98) * a - 16) * a + 96.36;
        double d = ((94.5 / (b + c) - 3) / b + 1) * Math.Sqrt(a * Math.PI / 2) * n;
        double y = PortableMath.Exp(2 / n * PortableMath.Log(d * twoTails));
        if (y > 0.05 + a)
        {
            double x = StandardNormal.Quantile(0.5 * twoTails);
            y = x * x;
            c = n < 5 ? c + 0.3 * (n - 4.5) * (x + 0.6) : c;
            c = (((0.05 * d * x - 5) * x - 7) * x - 2) * x + b + c;
            y = (((((0.4 * y + 6.3) * y + 36) * y + 94.5) / c - y - 3) / b + 1) * x;
            y = PortableMath.Exp(a * y * y) - 1;
        }
        else
        {
            y = ((1 / (((n + 6) / (n * y) - 0.089 * d - 0.822) * (n + 2) * 3) + 0.5 / (n + 4)) * y - 1) * (n + 1) / (n + 2) + 1 / y;
        }

        return Math.Sqrt(n * y);
    }

    private static double Expansion(double x, double n)
    {
        double x2 = x * x;
        double g1 = (x2 + 1) * x / 4;
        double g2 = ((5 * x2 + 16) * x2 + 3) * x / 96;
        double g3 = (((3 * x2 + 19) * x2 + 17) * x2 - 15) * x / 384;
        return x + (g1 + (g2 + g3 / n) / n) / n;
    }

    private static double Tail(double t, double degrees)
    {
        (double share, bool isTail) = Share(t, degrees);
        return isTail ? share : 0.5 - share;
    }

    // Near the middle the share from 0 to t is what is held with full precision, in the tails the share beyond t.
    private static double TailError(double t, double degrees, double tail)
    {
        (double share, bool isTail) = Share(t, degrees);
        return isTail ? share - tail : 0.5 - tail - share;
    }

    private static (double Share, bool IsTail) Share(double t, double degrees)
    {
        double t2 = t * t;
        if (double.IsPositiveInfinity(t2))
        {
            return (0, true);
        }

        double a = 0.5 * degrees;
        double x = degrees / (degrees + t2);
        double y = t2 / (degrees + t2); // 1 − x without cancellation
        // x^a y^½ / B(a, ½); ln x = −ln(1 + t²/ν)
        double front = PortableMath.Exp(-a * Log1P(t2 / degrees) - LogBeta(degrees)) * Math.Sqrt(y);
        return x < (a + 1) / (a + 2.5) ? (0.5 * front * Fraction(a, 0.5, x) / a, true) : (front * Fraction(0.5, a, y), false);
    }

    private static double Fraction(double a, double b, double x)
    {
        const double tiny = 1e-300;
        double c = 1, d = 1 - (a + b) * x / (a + 1);
        d = 1 / (Math.Abs(d) < tiny ? tiny : d);
        double h = d;
        for (int m = 1; m < 100_000; m++)
        {
            double factor = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
            d = 1 + factor * d;
            c = 1 + factor / c;
            d = 1 / (Math.Abs(d) < tiny ? tiny : d);
            h *= d * c;
            factor = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
            d = 1 + factor * d;
            c = 1 + factor / c;
            d = 1 / (Math.Abs(d) < tiny ? tiny : d);
            double step = d * c;
            h *= step;
            if (Math.Abs(step - 1) < 3e-16)
            {
                break;
            }
        }

        return h;
    }

    // ln B(ν/2, ½) = ½ ln π + ln Γ(a) − ln Γ(a + ½). The recurrence Γ(a)/Γ(a+½) = ((a+½)/a) Γ(a+1)/Γ(a+3/2) brings a above 20, where the
    // asymptotic series of the ratio is exact to rounding (Abramowitz, Stegun 6.1.47 with the coefficients of Γ(a+½)/Γ(a)).
    private static double LogBeta(double degrees)
    {
        double a = 0.5 * degrees, ratio = 1;
        for (; a < 20; a++)
        {
            ratio *= (a + 0.5) / a;
        }

        double z = 1 / a, z2 = z * z;
        // ln(Γ(a+½)/Γ(a)) = ½ ln a − 1/(8a) + 1/(192a³) − 1/(640a⁵) + 17/(14336a⁷) − 31/(18432a⁹)
        double series = z * (-1.0 / 8 + z2 * (1.0 / 192 + z2 * (-1.0 / 640 + z2 * (17.0 / 14336 - z2 * 31.0 / 18432))));
        return 0.5 * PortableMath.Log(Math.PI / a) + PortableMath.Log(ratio) - series;
    }

    private static double Log1P(double x)
    {
        double u = 1 + x;
        return u == 1 ? x : PortableMath.Log(u) * x / (u - 1); // Kahan: the rounding of 1 + x cancels
    }
}
