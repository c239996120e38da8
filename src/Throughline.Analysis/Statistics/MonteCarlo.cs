using System.Collections.Immutable;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>The propagation of distributions by trials (JCGM 101:2008).</summary>
public static class MonteCarlo
{
    private const int BlockLength = 1024;

    /// <summary>Evaluates the model at so many random inputs.</summary>
    /// <param name="trials">At least 2. 10⁶ usually gives a 95 % interval to two digits.</param>
    /// <param name="seed">The same seed gives the same trials.</param>
    /// <param name="threads">How many may work; never changes a bit of the result.</param>
    public static MonteCarloResult Propagate(MeasurementModel model, RandomInputs inputs, int trials, ulong seed, int threads = 1, CancellationToken cancel = default)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(trials, 2);
        return Propagate(model, inputs, UniformSource.PseudoRandom(seed, inputs.Inputs.Select(i => i.Name)), trials, threads, cancel);
    }

    /// <summary>Evaluates the model at the first trials of any source, quasi-random ones for example.</summary>
    /// <param name="source">Has the inputs' names, in their order.</param>
    public static MonteCarloResult Propagate(MeasurementModel model, RandomInputs inputs, UniformSource source, int trials, int threads = 1, CancellationToken cancel = default)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(trials, 2);
        double[] results = new double[trials];
        Evaluate(model, inputs, source, 0, results, threads, cancel);
        return MonteCarloResult.Of(results);
    }

    /// <summary>
    /// Goes on in blocks until the result is stable: twice the standard errors of estimate, standard uncertainty and both ends of the interval are within the
    /// numerical tolerance of the wanted digits (JCGM 101:2008, 7.9).
    /// </summary>
    /// <param name="probability">Of the probabilistically symmetric interval, between 0 and 1, both excluded.</param>
    /// <param name="significantDigits">Digits of the standard uncertainty that shall be right: 1 or 2 as a rule.</param>
    /// <param name="largest">Trials after which it ends in any case; the result then says that it isn't stable.</param>
    public static AdaptiveResult PropagateAdaptively(
        MeasurementModel model, RandomInputs inputs, double probability, int significantDigits, ulong seed, int largest = 20_000_000, int threads = 1, CancellationToken cancel = default)
    {
        Probability.Check(probability);
        UniformSource source = UniformSource.PseudoRandom(seed, inputs.Inputs.Select(i => i.Name));
        int block = (int)Math.Max(Math.Ceiling(100 / (1 - probability)), 10_000);
        ArgumentOutOfRangeException.ThrowIfLessThan(largest, block * 2);
        var all = new List<double>();
        var blocks = new List<MonteCarloResult>();
        while (true)
        {
            double[] results = new double[block];
            Evaluate(model, inputs, source, (ulong)all.Count, results, threads, cancel);
            all.AddRange(results);
            blocks.Add(MonteCarloResult.Of(results));
            if (blocks.Count < 2)
            {
                continue;
            }

            double u = Deviation(all);
            double tolerance = NumericalTolerance(u, significantDigits);
            CoverageInterval[] intervals = [.. blocks.Select(b => b.Symmetric(probability))];
            bool isStable = 2 * StandardError(blocks.Select(b => b.Estimate)) <= tolerance
                && 2 * StandardError(blocks.Select(b => b.StandardUncertainty)) <= tolerance
                && 2 * StandardError(intervals.Select(i => i.Low)) <= tolerance
                && 2 * StandardError(intervals.Select(i => i.High)) <= tolerance;
            if (isStable || all.Count + (long)block > largest)
            {
                return new(MonteCarloResult.Of([.. all]), tolerance, isStable);
            }
        }
    }

    /// <summary>The numerical tolerance δ = ½ 10^l of a standard uncertainty u = c 10^l, c a whole number of so many digits (JCGM 101:2008, 7.9.2). 0 for u = 0.</summary>
    public static double NumericalTolerance(double standardUncertainty, int significantDigits)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(significantDigits, 1);
        if (!(standardUncertainty > 0))
        {
            return 0;
        }

        int l = (int)Math.Floor(Math.Log10(standardUncertainty)) - significantDigits + 1;
        if (Math.Round(standardUncertainty / Math.Pow(10, l)) >= Math.Pow(10, significantDigits))
        {
            l++; // 0.0996 to one digit is 0.1
        }

        return 0.5 * Math.Pow(10, l);
    }

    /// <summary>Whether the linear method's interval agrees with that of the trials: both ends within the tolerance (JCGM 101:2008, 8.1).</summary>
    /// <param name="linear">y ± U, see <see cref="UncertaintyBudget.Interval"/>.</param>
    /// <param name="trials">The probabilistically symmetric interval of the same probability.</param>
    /// <param name="tolerance">See <see cref="NumericalTolerance"/>.</param>
    public static Validation Validate(CoverageInterval linear, CoverageInterval trials, double tolerance)
    {
        double low = Math.Abs(linear.Low - trials.Low), high = Math.Abs(linear.High - trials.High);
        return new(low, high, tolerance, low <= tolerance && high <= tolerance);
    }

    private static void Evaluate(MeasurementModel model, RandomInputs inputs, UniformSource source, ulong first, double[] results, int threads, CancellationToken cancel)
    {
        int columns = inputs.Inputs.Length;
        int blocks = (results.Length + BlockLength - 1) / BlockLength;
        var options = new ParallelOptions { MaxDegreeOfParallelism = Math.Max(threads, 1), CancellationToken = cancel };
        Parallel.For(0, blocks, options, () => (Values: new double[columns * BlockLength], Row: new double[columns]), (block, _, work) =>
        {
            int start = block * BlockLength, count = Math.Min(BlockLength, results.Length - start);
            Span<double> values = work.Values.AsSpan(0, columns * count);
            inputs.Fill(source, first + (ulong)start, values);
            for (int k = 0; k < count; k++)
            {
                for (int i = 0; i < columns; i++)
                {
                    work.Row[i] = values[i * count + k];
                }

                results[start + k] = model(work.Row);
            }

            return work;
        }, _ => { });
    }

    private static double Deviation(List<double> values)
    {
        double mean = values.Average();
        return Math.Sqrt(values.Sum(v => (v - mean) * (v - mean)) / (values.Count - 1));
    }

    private static double StandardError(IEnumerable<double> blocks)
    {
        List<double> values = [.. blocks];
        return Deviation(values) / Math.Sqrt(values.Count);
    }
}

/// <summary>A coverage interval, in the unit of the result.</summary>
public readonly record struct CoverageInterval(double Low, double High);

/// <summary>A comparison of the linear method with trials.</summary>
/// <param name="LowDifference">Between the lower ends, not negative.</param>
/// <param name="HighDifference">Between the upper ends, not negative.</param>
/// <param name="Tolerance">What both are compared with.</param>
/// <param name="IsValid">Both are within it.</param>
public sealed record Validation(double LowDifference, double HighDifference, double Tolerance, bool IsValid);

/// <summary>What an adaptive run ended with.</summary>
/// <param name="Result">Of all trials.</param>
/// <param name="Tolerance">The numerical tolerance that was aimed at.</param>
/// <param name="IsStable">Whether it was reached; else the run ended at its largest number of trials.</param>
public sealed record AdaptiveResult(MonteCarloResult Result, double Tolerance, bool IsStable);

/// <summary>The results of the trials as a distribution. Immutable.</summary>
public sealed class MonteCarloResult
{
    private readonly ImmutableArray<double> _sorted;

    private MonteCarloResult(ImmutableArray<double> sorted, double estimate, double standardUncertainty)
    {
        _sorted = sorted;
        Estimate = estimate;
        StandardUncertainty = standardUncertainty;
    }

    public int Trials => _sorted.Length;

    /// <summary>The mean of the trials.</summary>
    public double Estimate { get; }

    /// <summary>Their standard deviation.</summary>
    public double StandardUncertainty { get; }

    /// <summary>All results in rising order.</summary>
    public ImmutableArray<double> Sorted => _sorted;

    /// <summary>The distribution of given results; at least two.</summary>
    /// <exception cref="ArgumentException">A result is NaN or infinite.</exception>
    public static MonteCarloResult Of(ReadOnlySpan<double> results)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(results.Length, 2);
        double centre = results[0];
        var sum = new ExactSum();
        foreach (double y in results)
        {
            sum.Add(double.IsFinite(y) ? y - centre : throw new ArgumentException("A trial has no finite result.", nameof(results)));
        }

        double mean = centre + sum.Round() / results.Length;
        var squares = new ExactSum();
        foreach (double y in results)
        {
            squares.Add((y - mean) * (y - mean));
        }

        double[] sorted = results.ToArray();
        Array.Sort(sorted);
        return new([.. sorted], mean, Math.Sqrt(squares.Round() / (results.Length - 1)));
    }

    /// <summary>The value that a share <paramref name="p"/> of the results lies at or below.</summary>
    public double Quantile(double p)
    {
        Probability.Check(p);
        return _sorted[Math.Clamp((int)Math.Ceiling(p * Trials) - 1, 0, Trials - 1)];
    }

    /// <summary>The interval with as many results below as above (JCGM 101:2008, 7.7.2).</summary>
    public CoverageInterval Symmetric(double probability)
    {
        int inside = Inside(probability);
        int first = (Trials - inside) / 2;
        return new(_sorted[first], _sorted[Math.Min(first + inside, Trials - 1)]);
    }

    /// <summary>The shortest interval that holds a share <paramref name="probability"/> of the results (JCGM 101:2008, 7.7.4).</summary>
    public CoverageInterval Shortest(double probability)
    {
        int inside = Math.Min(Inside(probability), Trials - 1);
        int best = 0;
        for (int first = 1; first + inside < Trials; first++)
        {
            if (_sorted[first + inside] - _sorted[first] < _sorted[best + inside] - _sorted[best])
            {
                best = first;
            }
        }

        return new(_sorted[best], _sorted[best + inside]);
    }

    private int Inside(double probability)
    {
        Probability.Check(probability);
        return (int)Math.Floor(probability * Trials + 0.5);
    }
}
