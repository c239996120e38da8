using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Preferred numbers for the values of resistors and capacitors: IEC 60063:2015, series E3 to E192.</summary>
public static class ESeries
{
    private static readonly ImmutableArray<int> E24 = Generate(24, 2);
    private static readonly ImmutableArray<int> E192 = Generate(192, 3);

    /// <summary>The series that there are, by their number of values in a decade.</summary>
    public static ImmutableArray<int> All { get; } = [3, 6, 12, 24, 48, 96, 192];

    /// <summary>The values of a series in one decade: from 10 to 99 up to E24, from 100 to 999 above.</summary>
    /// <param name="series">3, 6, 12, 24, 48, 96 or 192.</param>
    /// <exception cref="ArgumentOutOfRangeException">There is no such series.</exception>
    public static ImmutableArray<int> Values(int series) => series switch
    {
        3 or 6 or 12 or 24 => Every(E24, 24 / series),
        48 or 96 or 192 => Every(E192, 192 / series),
        _ => throw new ArgumentOutOfRangeException(nameof(series), series, "The series are E3, E6, E12, E24, E48, E96 and E192."),
    };

    /// <summary>The series whose values are made for a tolerance: E24 for 5 %, E96 for 1 % and so on (common practice after IEC 60063).</summary>
    /// <param name="tolerance">Fraction, such as 0.01.</param>
    public static int ForTolerance(double tolerance) => tolerance switch
    {
        > 0.2 => 3,
        > 0.1 => 6,
        > 0.05 => 12,
        > 0.02 => 24,
        > 0.01 => 48,
        > 0.005 => 96,
        _ => 192,
    };

    /// <summary>The value of a series that is nearest by ratio; of two equally near ones the lower.</summary>
    /// <param name="value">Finite and above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">The value is not finite and above 0, or there is no such series.</exception>
    public static double Nearest(double value, int series)
    {
        if (!(value > 0) || !double.IsFinite(value))
        {
            throw new ArgumentOutOfRangeException(nameof(value), value, "A part's value is finite and above 0.");
        }

        ImmutableArray<int> values = Values(series);
        int digits = series <= 24 ? 1 : 2;
        int decade = (int)Math.Floor(Math.Log10(value)) - digits;
        double best = 0;
        double bestRatio = double.PositiveInfinity;

        // The decade is one too low or too high where the logarithm rounds; the neighbours cover that and the step to the next decade.
        for (int exponent = decade - 1; exponent <= decade + 1; exponent++)
        {
            foreach (int mantissa in values)
            {
                double candidate = exponent < 0 ? mantissa / Math.Pow(10, -exponent) : mantissa * Math.Pow(10, exponent);
                double ratio = candidate > value ? candidate / value : value / candidate;
                if (ratio < bestRatio)
                {
                    best = candidate;
                    bestRatio = ratio;
                }
            }
        }

        return best;
    }

    private static ImmutableArray<int> Every(ImmutableArray<int> values, int step) => [.. values.Where((_, i) => i % step == 0)];

    /// <summary>10^(i/N) rounded to the digits of the series, with the exceptions that the standard keeps for history's sake.</summary>
    private static ImmutableArray<int> Generate(int count, int digits)
    {
        ImmutableArray<int>.Builder values = ImmutableArray.CreateBuilder<int>(count);
        for (int i = 0; i < count; i++)
        {
            int rounded = (int)Math.Round(Math.Pow(10, ((double)i / count) + digits - 1), MidpointRounding.AwayFromZero);
            values.Add((count, i) switch
            {
                (24, >= 10 and <= 16) => rounded + 1,
                (24, 22) => rounded - 1,
                (192, 185) => 920,
                _ => rounded,
            });
        }

        return values.ToImmutable();
    }
}
