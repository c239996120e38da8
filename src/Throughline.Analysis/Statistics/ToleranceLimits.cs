using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>What a result can be when every input may be anywhere within its tolerance.</summary>
/// <param name="Nominal">Result at the nominal inputs.</param>
/// <param name="Lowest">Worst case downwards.</param>
/// <param name="Highest">Worst case upwards.</param>
/// <param name="RootSumOfSquares">Of the limits, by the sensitivities at the nominal inputs.</param>
/// <param name="LowestAt">The inputs of <paramref name="Lowest"/>.</param>
/// <param name="HighestAt">The inputs of <paramref name="Highest"/>.</param>
public sealed record ToleranceLimits(
    double Nominal, double Lowest, double Highest, double RootSumOfSquares, ImmutableArray<double> LowestAt, ImmutableArray<double> HighestAt)
{
    /// <summary>
    /// The corner that the signs of the sensitivities point to, then every single input moved to its other end for as long as that makes it worse. Exact where
    /// the result is monotone in each input; elsewhere a lower bound of the worst case, since an extreme inside the tolerances is not looked for.
    /// </summary>
    /// <param name="halfWidths">Tolerance of each input, not negative.</param>
    public static ToleranceLimits Of(MeasurementModel model, ReadOnlySpan<double> nominal, ReadOnlySpan<double> halfWidths)
    {
        if (nominal.Length != halfWidths.Length)
        {
            throw new ArgumentException("A tolerance for each input.", nameof(halfWidths));
        }

        double[] x = nominal.ToArray();
        double[] slope = new double[x.Length];
        double squares = 0;
        for (int i = 0; i < x.Length; i++)
        {
            ArgumentOutOfRangeException.ThrowIfNegative(halfWidths[i]);
            slope[i] = Differences.First(model, x, i, halfWidths[i] / 16);
            squares += slope[i] * halfWidths[i] * (slope[i] * halfWidths[i]);
        }

        (double lowest, double[] lowestAt) = Corner(model, nominal, halfWidths, slope, -1);
        (double highest, double[] highestAt) = Corner(model, nominal, halfWidths, slope, 1);
        return new(model(x), lowest, highest, Math.Sqrt(squares), [.. lowestAt], [.. highestAt]);
    }

    private static (double Value, double[] At) Corner(MeasurementModel model, ReadOnlySpan<double> nominal, ReadOnlySpan<double> halfWidths, double[] slope, int direction)
    {
        double[] x = new double[slope.Length];
        int[] sign = new int[slope.Length];
        for (int i = 0; i < x.Length; i++)
        {
            sign[i] = slope[i] * direction >= 0 ? 1 : -1;
            x[i] = nominal[i] + sign[i] * halfWidths[i];
        }

        double best = model(x);
        for (bool moved = true; moved;)
        {
            moved = false;
            for (int i = 0; i < x.Length; i++)
            {
                double before = x[i];
                x[i] = nominal[i] - sign[i] * halfWidths[i];
                double value = model(x);
                if ((value - best) * direction > 0)
                {
                    (best, sign[i], moved) = (value, -sign[i], true);
                }
                else
                {
                    x[i] = before;
                }
            }
        }

        return (best, x);
    }
}
