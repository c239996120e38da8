using System.Runtime.CompilerServices;

namespace Throughline.Analysis;

/// <summary>
/// How the values of a quantity are spread: always through its quantile function, so that the same uniform number gives corresponding values whatever the
/// distribution and pseudo- and quasi-random numbers serve alike. Immutable; safe on any thread. The unit is that of the quantity.
/// </summary>
/// <remarks>JCGM 101:2008, 6.4, and the divisors of JCGM 100:2008, 4.3 (both from memory).</remarks>
public abstract record Distribution
{
    private protected Distribution()
    {
    }

    public abstract double Mean { get; init; }

    /// <summary>The standard deviation, which is the standard uncertainty u of the GUM. Infinite for a t distribution of 2 degrees of freedom or fewer.</summary>
    public abstract double StandardUncertainty { get; }

    /// <summary>The smallest value that can come, −∞ when there is none.</summary>
    public abstract double Lowest { get; }

    /// <summary>The largest value that can come, ∞ when there is none.</summary>
    public abstract double Highest { get; }

    /// <summary>The value that a share <paramref name="p"/> lies below: never falls as p rises, but for a few roundings between neighbouring shares of the normal and t
    /// distributions. A NaN gives NaN.</summary>
    /// <param name="p">Between 0 and 1, both excluded.</param>
    public abstract double Quantile(double p);

    /// <summary>The share of values at or below <paramref name="x"/>.</summary>
    public abstract double Cumulative(double x);

    /// <summary>Quantiles of many shares: the same bits as <see cref="Quantile(double)"/> of each. Allocates nothing.</summary>
    /// <param name="p">Each between 0 and 1, both excluded.</param>
    /// <param name="values">As long as <paramref name="p"/>; may be the same span.</param>
    public virtual void Quantiles(ReadOnlySpan<double> p, Span<double> values)
    {
        values = values[..p.Length];
        for (int i = 0; i < p.Length; i++)
        {
            values[i] = Quantile(p[i]);
        }
    }

    private protected static double Finite(double value, [CallerArgumentExpression(nameof(value))] string? name = null) =>
        double.IsFinite(value) ? value : throw new ArgumentOutOfRangeException(name, value, "Finite.");

    private protected static double Width(double value, [CallerArgumentExpression(nameof(value))] string? name = null) =>
        double.IsFinite(value) && value >= 0 ? value : throw new ArgumentOutOfRangeException(name, value, "A width is finite and not negative.");
}

/// <summary>Every value between two limits is equally likely: a tolerance about which nothing else is known, a quantisation step. u = a/√3.</summary>
/// <param name="Mean">Middle of the limits.</param>
/// <param name="HalfWidth">a, not negative.</param>
public sealed record RectangularDistribution(double Mean, double HalfWidth) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double HalfWidth { get; init; } = Width(HalfWidth);

    public override double StandardUncertainty => HalfWidth / Math.Sqrt(3);

    public override double Lowest => Mean - HalfWidth;

    public override double Highest => Mean + HalfWidth;

    public override double Quantile(double p) => Mean + HalfWidth * (2 * p - 1);

    public override double Cumulative(double x) => HalfWidth > 0 ? Math.Clamp(0.5 + 0.5 * ((x - Mean) / HalfWidth), 0, 1) : x >= Mean ? 1 : 0;

    /// <summary>The error of rounding to steps of <paramref name="step"/>: u = q/√12.</summary>
    public static RectangularDistribution OfStep(double step) => new(0, step / 2);
}

/// <summary>The normal distribution.</summary>
/// <param name="Mean">The mean.</param>
/// <param name="StandardDeviation">Not negative.</param>
public sealed record NormalDistribution(double Mean, double StandardDeviation) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double StandardDeviation { get; init; } = Width(StandardDeviation);

    public override double StandardUncertainty => StandardDeviation;

    public override double Lowest => StandardDeviation > 0 ? double.NegativeInfinity : Mean;

    public override double Highest => StandardDeviation > 0 ? double.PositiveInfinity : Mean;

    public override double Quantile(double p) => Mean + StandardDeviation * StandardNormal.Quantile(p);

    public override double Cumulative(double x) => StandardDeviation > 0 ? StandardNormal.Cumulative((x - Mean) / StandardDeviation) : x >= Mean ? 1 : 0;

    public override void Quantiles(ReadOnlySpan<double> p, Span<double> values)
    {
        StandardNormal.Quantiles(p, values);
        foreach (ref double x in values[..p.Length])
        {
            x = Mean + StandardDeviation * x;
        }
    }

    /// <summary>An expanded uncertainty with its coverage factor, as a certificate states it: u = U/k.</summary>
    public static NormalDistribution FromExpanded(double mean, double expandedUncertainty, double coverageFactor) => new(mean, expandedUncertainty / coverageFactor);
}

/// <summary>A normal distribution from which everything beyond k standard deviations was sorted out: parts that are measured before they are sold.</summary>
/// <param name="Mean">The mean.</param>
/// <param name="StandardDeviation">Of the normal distribution before sorting; not negative.</param>
/// <param name="K">Limits in standard deviations, positive.</param>
public sealed record TruncatedNormalDistribution(double Mean, double StandardDeviation, double K) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double StandardDeviation { get; init; } = Width(StandardDeviation);

    public double K { get; init; } = double.IsFinite(K) && K > 0 ? K : throw new ArgumentOutOfRangeException(nameof(K), K, "Positive and finite.");

    // Share of the untruncated distribution below −K.
    private double Below => StandardNormal.Cumulative(-K);

    public override double StandardUncertainty => StandardDeviation * Math.Sqrt(1 - 2 * K * StandardNormal.Density(K) / (1 - 2 * Below));

    public override double Lowest => Mean - K * StandardDeviation;

    public override double Highest => Mean + K * StandardDeviation;

    public override double Quantile(double p) => Quantile(p, Below);

    public override double Cumulative(double x)
    {
        if (!(StandardDeviation > 0))
        {
            return x >= Mean ? 1 : 0;
        }

        double z = Math.Clamp((x - Mean) / StandardDeviation, -K, K);
        double lower = (StandardNormal.Cumulative(-Math.Abs(z)) - Below) / (1 - 2 * Below);
        return z < 0 ? lower : 1 - lower;
    }

    public override void Quantiles(ReadOnlySpan<double> p, Span<double> values)
    {
        values = values[..p.Length];
        double below = Below, inside = 1 - 2 * below;
        Span<double> tails = stackalloc double[64];
        for (int start = 0; start < p.Length; start += tails.Length)
        {
            int count = Math.Min(tails.Length, p.Length - start);
            for (int i = 0; i < count; i++)
            {
                double share = p[start + i];
                tails[i] = below + inside * Math.Min(share, 1 - share);
            }

            StandardNormal.Quantiles(tails[..count], tails);
            for (int i = 0; i < count; i++)
            {
                double z = Math.Max(tails[i], -K);
                values[start + i] = Mean + StandardDeviation * (p[start + i] < 0.5 ? z : -z);
            }
        }
    }

    // Both halves come from the lower tail, where a share is held with full precision.
    private double Quantile(double p, double below)
    {
        double z = Math.Max(StandardNormal.Quantile(below + (1 - 2 * below) * Math.Min(p, 1 - p)), -K);
        return Mean + StandardDeviation * (p < 0.5 ? z : -z);
    }
}

/// <summary>Likeliest in the middle, falling straight to the limits: the sum of two equal rectangles. u = a/√6.</summary>
/// <param name="Mean">Middle of the limits.</param>
/// <param name="HalfWidth">a, not negative.</param>
public sealed record TriangularDistribution(double Mean, double HalfWidth) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double HalfWidth { get; init; } = Width(HalfWidth);

    public override double StandardUncertainty => HalfWidth / Math.Sqrt(6);

    public override double Lowest => Mean - HalfWidth;

    public override double Highest => Mean + HalfWidth;

    public override double Quantile(double p) => Mean + HalfWidth * (p < 0.5 ? Math.Sqrt(2 * p) - 1 : 1 - Math.Sqrt(2 * (1 - p)));

    public override double Cumulative(double x)
    {
        if (!(HalfWidth > 0))
        {
            return x >= Mean ? 1 : 0;
        }

        double z = Math.Clamp((x - Mean) / HalfWidth, -1, 1);
        return z < 0 ? 0.5 * (1 + z) * (1 + z) : 1 - 0.5 * (1 - z) * (1 - z);
    }
}

/// <summary>Level in the middle and falling straight to the limits. u = a √((1 + β²)/6).</summary>
/// <param name="Mean">Middle of the limits.</param>
/// <param name="HalfWidth">a, not negative.</param>
/// <param name="TopRatio">β: the level part over the whole width, 0 (triangle) to 1 (rectangle).</param>
public sealed record TrapezoidalDistribution(double Mean, double HalfWidth, double TopRatio) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double HalfWidth { get; init; } = Width(HalfWidth);

    public double TopRatio { get; init; } = TopRatio is >= 0 and <= 1 ? TopRatio : throw new ArgumentOutOfRangeException(nameof(TopRatio), TopRatio, "0 to 1.");

    public override double StandardUncertainty => HalfWidth * Math.Sqrt((1 + TopRatio * TopRatio) / 6);

    public override double Lowest => Mean - HalfWidth;

    public override double Highest => Mean + HalfWidth;

    public override double Quantile(double p)
    {
        double tail = Math.Min(p, 1 - p);
        double slope = (1 - TopRatio) / (2 * (1 + TopRatio)); // share in one falling part
        double z = tail < slope ? Math.Sqrt(2 * tail * (1 - TopRatio * TopRatio)) - 1 : (tail - 0.5) * (1 + TopRatio);
        return Mean + HalfWidth * (p < 0.5 ? z : -z);
    }

    public override double Cumulative(double x)
    {
        if (!(HalfWidth > 0))
        {
            return x >= Mean ? 1 : 0;
        }

        double z = Math.Clamp((x - Mean) / HalfWidth, -1, 1), y = -Math.Abs(z);
        double lower = y < -TopRatio ? (1 + y) * (1 + y) / (2 * (1 - TopRatio * TopRatio)) : 0.5 + y / (1 + TopRatio);
        return z < 0 ? lower : 1 - lower;
    }
}

/// <summary>
/// A rectangle whose limits are themselves known only to ±d. u = √(w²/3 + d²/9).
/// </summary>
/// <param name="Mean">Middle of the limits.</param>
/// <param name="HalfWidth">w, not negative.</param>
/// <param name="LimitUncertainty">d, 0 to w.</param>
/// <remarks>JCGM 101:2008, 6.4.3 (from memory): the half-width is itself rectangular from w − d to w + d.</remarks>
public sealed record CurvilinearTrapezoidDistribution(double Mean, double HalfWidth, double LimitUncertainty) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double HalfWidth { get; init; } = Width(HalfWidth);

    public double LimitUncertainty { get; init; } = LimitUncertainty >= 0 && LimitUncertainty <= HalfWidth ? LimitUncertainty
        : throw new ArgumentOutOfRangeException(nameof(LimitUncertainty), LimitUncertainty, "0 to the half-width.");

    public override double StandardUncertainty => Math.Sqrt(HalfWidth * HalfWidth / 3 + LimitUncertainty * LimitUncertainty / 9);

    public override double Lowest => Mean - HalfWidth - LimitUncertainty;

    public override double Highest => Mean + HalfWidth + LimitUncertainty;

    public override double Quantile(double p)
    {
        double outside = 2 * Math.Min(p, 1 - p); // share farther from the middle than the quantile
        double least = HalfWidth - LimitUncertainty, most = HalfWidth + LimitUncertainty;
        double y;
        if (!(LimitUncertainty > 1e-12 * HalfWidth))
        {
            y = (1 - outside) * HalfWidth;
        }
        else if (least > 0 && 1 - outside <= Inside(least))
        {
            y = (1 - outside) * 2 * LimitUncertainty / PortableMath.Log(most / least);
        }
        else
        {
            // With y = (1 − v) most the share outside is (v + (1 − v) ln(1 − v)) most/2d, which starts as v²/2 and is convex.
            double wanted = outside * 2 * LimitUncertainty / most;
            double low = 0, high = 1 - least / most, v = Math.Min(Math.Sqrt(2 * wanted), high);
            for (int i = 0; i < 100; i++)
            {
                double error = Outside(v) - wanted;
                (low, high) = error < 0 ? (v, high) : (low, v);
                double next = v + error / PortableMath.Log(1 - v);
                next = next >= low && next <= high ? next : 0.5 * (low + high);
                bool isSettled = Math.Abs(next - v) <= 1e-9 * v; // Newton's error is squared at each step
                v = next;
                if (isSettled)
                {
                    break;
                }
            }

            y = most - most * v;
        }

        return p < 0.5 ? Mean - y : Mean + y;
    }

    // v + (1 − v) ln(1 − v); for small v, where the two cancel, its series Σ v^k/(k(k − 1)).
    private static double Outside(double v)
    {
        if (v > 0.1)
        {
            return v + (1 - v) * PortableMath.Log(1 - v);
        }

        double sum = 0;
        for (int k = 17; k >= 2; k--)
        {
            sum = sum * v + 1.0 / (k * (k - 1));
        }

        return sum * v * v;
    }

    public override double Cumulative(double x)
    {
        double inside = Inside(Math.Min(Math.Abs(x - Mean), HalfWidth + LimitUncertainty));
        return x < Mean ? 0.5 * (1 - inside) : 0.5 * (1 + inside);
    }

    // Share within ±y of the mean.
    private double Inside(double y)
    {
        double least = HalfWidth - LimitUncertainty, most = HalfWidth + LimitUncertainty;
        if (!(LimitUncertainty > 1e-12 * HalfWidth))
        {
            return HalfWidth > 0 ? Math.Min(y / HalfWidth, 1) : 1;
        }

        return y <= least
            ? y * PortableMath.Log(most / least) / (2 * LimitUncertainty)
            : (y > 0 ? y - least + y * PortableMath.Log(most / y) : 0) / (2 * LimitUncertainty);
    }
}

/// <summary>A quantity that swings as a sine between two limits: likeliest at the limits. u = a/√2.</summary>
/// <param name="Mean">Middle of the limits.</param>
/// <param name="HalfWidth">a, not negative.</param>
public sealed record ArcsineDistribution(double Mean, double HalfWidth) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double HalfWidth { get; init; } = Width(HalfWidth);

    public override double StandardUncertainty => HalfWidth / Math.Sqrt(2);

    public override double Lowest => Mean - HalfWidth;

    public override double Highest => Mean + HalfWidth;

    // sin rather than cos, so that it is odd about the middle to the bit; double.SinPi is managed code and the same everywhere.
    public override double Quantile(double p) => Mean + HalfWidth * double.SinPi(p - 0.5);

    public override double Cumulative(double x) => HalfWidth > 0 ? 0.5 + Math.Asin(Math.Clamp((x - Mean) / HalfWidth, -1, 1)) / Math.PI : x >= Mean ? 1 : 0;
}

/// <summary>One of two values, equally likely: a limit that is always met at one end or the other, a sign that isn't known. u = a.</summary>
/// <param name="Mean">Middle of the two.</param>
/// <param name="HalfWidth">a, not negative.</param>
public sealed record TwoPointDistribution(double Mean, double HalfWidth) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double HalfWidth { get; init; } = Width(HalfWidth);

    public override double StandardUncertainty => HalfWidth;

    public override double Lowest => Mean - HalfWidth;

    public override double Highest => Mean + HalfWidth;

    public override double Quantile(double p) => p < 0.5 ? Mean - HalfWidth : p >= 0.5 ? Mean + HalfWidth : double.NaN;

    public override double Cumulative(double x) => x < Lowest ? 0 : x < Highest ? 0.5 : 1;
}

/// <summary>Student's t, shifted and scaled: the mean of few readings. u = s √(ν/(ν − 2)) for more than 2 degrees of freedom (JCGM 101:2008, 6.4.9).</summary>
/// <param name="Mean">The location; also the mean above 1 degree of freedom.</param>
/// <param name="Scale">s, not negative: the standard uncertainty that JCGM 100 uses.</param>
/// <param name="DegreesOfFreedom">ν, positive.</param>
public sealed record StudentDistribution(double Mean, double Scale, double DegreesOfFreedom) : Distribution
{
    public override double Mean { get; init; } = Finite(Mean);

    public double Scale { get; init; } = Width(Scale);

    public double DegreesOfFreedom { get; init; } = DegreesOfFreedom > 0 ? DegreesOfFreedom
        : throw new ArgumentOutOfRangeException(nameof(DegreesOfFreedom), DegreesOfFreedom, "Positive.");

    public override double StandardUncertainty => double.IsPositiveInfinity(DegreesOfFreedom) ? Scale
        : DegreesOfFreedom > 2 ? Scale * Math.Sqrt(DegreesOfFreedom / (DegreesOfFreedom - 2)) : double.PositiveInfinity;

    public override double Lowest => Scale > 0 ? double.NegativeInfinity : Mean;

    public override double Highest => Scale > 0 ? double.PositiveInfinity : Mean;

    public override double Quantile(double p) => Mean + Scale * StudentT.Quantile(p, DegreesOfFreedom);

    public override double Cumulative(double x) => Scale > 0 ? StudentT.Cumulative((x - Mean) / Scale, DegreesOfFreedom) : x >= Mean ? 1 : 0;
}
