using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>
/// One scale of the nomogram: a quantity of the chain, laid out by what the intended chain makes of the measurand. Where a value lies on it is said as a value
/// of the measurand, so that everything intended lies level.
/// </summary>
/// <param name="Column">Number of the quantity's column in the readings.</param>
/// <param name="Name">As in the readings.</param>
/// <param name="Stage">The stage it belongs to.</param>
/// <param name="Shown">How its values are shown.</param>
/// <param name="Measurands">Rising, in the specification's unit, beyond the measuring range at both ends.</param>
/// <param name="Intended">What the intended chain makes of them, strictly rising or falling.</param>
public sealed record ChainScale(
    int Column,
    string Name,
    string Stage,
    ReadingsColumn Shown,
    ImmutableArray<double> Measurands,
    ImmutableArray<double> Intended)
{
    /// <summary>The least and greatest that the stage can do; NaN where nothing ends it.</summary>
    public double CanLow { get; init; } = double.NaN;

    public double CanHigh { get; init; } = double.NaN;

    /// <summary>Where a value lies: the measurand for which it is intended. Continued straight beyond the ends.</summary>
    public double LevelOf(double value) => Interpolate(Intended, Measurands, value);

    /// <summary>The value that is intended at a level.</summary>
    public double ValueAt(double level) => Interpolate(Measurands, Intended, level);

    private static double Interpolate(ImmutableArray<double> x, ImmutableArray<double> y, double value)
    {
        if (double.IsNaN(value))
        {
            return double.NaN;
        }

        bool isRising = x[^1] > x[0];
        int low = 1;
        int high = x.Length - 1;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (isRising ? value > x[middle] : value < x[middle])
            {
                low = middle + 1;
            }
            else
            {
                high = middle;
            }
        }

        double t = (value - x[low - 1]) / (x[low] - x[low - 1]);
        return y[low - 1] + (t * (y[low] - y[low - 1]));
    }
}

/// <summary>Between which values 95 % of the units of a virtual batch lie, at one value of the measurand.</summary>
/// <param name="Measurand">In the specification's unit.</param>
/// <param name="Low">In the order of the readings' columns; NaN where there is none.</param>
public sealed record ChainSpread(double Measurand, ImmutableArray<double> Low, ImmutableArray<double> High);

/// <summary>What everything of one unit reads at one operating point.</summary>
/// <param name="Values">In the order of the readings' columns.</param>
/// <param name="Remark">What is not as it should be; null when all is.</param>
/// <param name="Nodes">Voltage of every node against the return of its domain, V.</param>
public sealed record LiveReading(ImmutableArray<double> Values, string? Remark, ImmutableSortedDictionary<string, double> Nodes);
