using System.Collections.Immutable;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>What one input does to the scatter of the result, as shares of its variance.</summary>
/// <param name="Name">The input.</param>
/// <param name="First">By itself: how much would vanish, on average, if the input were known.</param>
/// <param name="FirstError">Standard error of <paramref name="First"/>; NaN from a single set of numbers.</param>
/// <param name="Total">With every interaction it is part of: how much would be left if all others were known.</param>
/// <param name="TotalError">Standard error of <paramref name="Total"/>; NaN from a single set of numbers.</param>
public sealed record VarianceShare(string Name, double First, double FirstError, double Total, double TotalError);

/// <summary>
/// Sobol' indices by exchanging one input at a time between two independent sets of trials, A and B: AB_i is A with input i from B.
/// </summary>
/// <remarks>
/// First order: mean of f(B) (f(AB_i) − f(A)) over the variance, Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, table 2 (b); f(B) is taken from the centre,
/// which changes nothing on average and removes scatter. Total: mean of (f(A) − f(AB_i))² over twice the variance, Jansen, Comput. Phys. Commun. 117 (1999) 35.
/// </remarks>
public static class VarianceShares
{
    private const int BlockLength = 256;

    /// <summary>Shares of every input of a model with independent inputs, from quasi-random numbers. The model is evaluated trials × (inputs + 2) × replicates times.</summary>
    /// <param name="trials">Of each replicate; a power of two spreads the numbers best.</param>
    /// <param name="replicates">Independent repetitions, at least 2: their scatter gives the standard errors.</param>
    public static ImmutableArray<VarianceShare> Estimate(
        MeasurementModel model, IReadOnlyList<RandomInput> inputs, int trials, ulong seed, int replicates = 8, CancellationToken cancel = default)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(trials, 2);
        ArgumentOutOfRangeException.ThrowIfLessThan(replicates, 2);
        int n = inputs.Count;
        var drawn = new RandomInputs(inputs);
        double centre = model([.. inputs.Select(i => i.Distribution.Mean)]);
        // A and B are the two halves of one sequence; names that would meet are refused by the source.
        string[] names = [.. inputs.Select(i => i.Name), .. inputs.Select(i => i.Name + "′")];
        var first = new double[replicates, n];
        var total = new double[replicates, n];
        double[] a = new double[n * BlockLength], b = new double[n * BlockLength], row = new double[n], exchanged = new double[n];
        for (int r = 0; r < replicates; r++)
        {
            UniformSource source = UniformSource.QuasiRandom(seed, names, r);
            var sums = new VarianceShareSums(n, centre);
            for (int start = 0; start < trials; start += BlockLength)
            {
                cancel.ThrowIfCancellationRequested();
                int count = Math.Min(BlockLength, trials - start);
                drawn.Fill(source, (ulong)start, a.AsSpan(0, n * count));
                drawn.Fill(source, (ulong)start, b.AsSpan(0, n * count), firstColumn: n);
                for (int k = 0; k < count; k++)
                {
                    for (int i = 0; i < n; i++)
                    {
                        row[i] = b[i * count + k];
                    }

                    double fb = model(row);
                    for (int i = 0; i < n; i++)
                    {
                        row[i] = a[i * count + k];
                    }

                    double fa = model(row);
                    for (int i = 0; i < n; i++)
                    {
                        row[i] = b[i * count + k];
                        exchanged[i] = model(row);
                        row[i] = a[i * count + k];
                    }

                    sums.Add(fa, fb, exchanged);
                }
            }

            for (int i = 0; i < n; i++)
            {
                first[r, i] = sums.First(i);
                total[r, i] = sums.Total(i);
            }
        }

        return [.. inputs.Select((input, i) =>
        {
            (double f, double fError) = Column(first, i);
            (double t, double tError) = Column(total, i);
            return new VarianceShare(input.Name, f, fError, t, tError);
        })];
    }

    private static (double Mean, double Error) Column(double[,] values, int column)
    {
        int n = values.GetLength(0);
        double mean = Enumerable.Range(0, n).Average(r => values[r, column]);
        double squares = Enumerable.Range(0, n).Sum(r => (values[r, column] - mean) * (values[r, column] - mean));
        return (mean, Math.Sqrt(squares / (n - 1) / n));
    }
}

/// <summary>
/// The sums behind <see cref="VarianceShares"/>, exact: trials may be shared over instances in any way and merged in any order. For a batch that already
/// evaluates its units. One thread per instance.
/// </summary>
public sealed class VarianceShareSums
{
    private readonly double _centre;
    private readonly ExactSum _sum = new();
    private readonly ExactSum _squares = new();
    private readonly ExactSum[] _products;
    private readonly ExactSum[] _differences;

    /// <param name="inputs">How many inputs are exchanged.</param>
    /// <param name="centre">About the mean of the result: the nominal value. Finite.</param>
    public VarianceShareSums(int inputs, double centre)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(inputs);
        _centre = double.IsFinite(centre) ? centre : throw new ArgumentOutOfRangeException(nameof(centre), centre, "Finite.");
        _products = [.. Enumerable.Range(0, inputs).Select(_ => new ExactSum())];
        _differences = [.. Enumerable.Range(0, inputs).Select(_ => new ExactSum())];
    }

    /// <summary>Trials taken in.</summary>
    public long Count { get; private set; }

    /// <summary>The variance of the result over both sets.</summary>
    public double Variance
    {
        get
        {
            double n = 2.0 * Count, mean = _sum.Round() / n;
            return Math.Max(_squares.Round() / n - mean * mean, 0);
        }
    }

    /// <summary>Takes one trial in.</summary>
    /// <param name="a">Result of set A, finite.</param>
    /// <param name="b">Result of set B, finite.</param>
    /// <param name="exchanged">Result of A with input i from B, for each i.</param>
    public void Add(double a, double b, ReadOnlySpan<double> exchanged)
    {
        if (exchanged.Length != _products.Length)
        {
            throw new ArgumentException("A result for each input.", nameof(exchanged));
        }

        a -= _centre;
        b -= _centre;
        _sum.Add(a);
        _sum.Add(b);
        _squares.Add(a * a);
        _squares.Add(b * b);
        for (int i = 0; i < exchanged.Length; i++)
        {
            double change = exchanged[i] - _centre - a;
            _products[i].Add(b * change);
            _differences[i].Add(change * change);
        }

        Count++;
    }

    /// <summary>Takes in the trials of another instance of the same construction.</summary>
    public void Add(VarianceShareSums other)
    {
        if (other._products.Length != _products.Length || !other._centre.Equals(_centre))
        {
            throw new ArgumentException("Only sums of the same inputs and centre merge.", nameof(other));
        }

        _sum.Add(other._sum);
        _squares.Add(other._squares);
        for (int i = 0; i < _products.Length; i++)
        {
            _products[i].Add(other._products[i]);
            _differences[i].Add(other._differences[i]);
        }

        Count += other.Count;
    }

    /// <summary>First-order share of an input; NaN when the result does not vary.</summary>
    public double First(int input) => _products[input].Round() / Count / Positive(Variance);

    /// <summary>Total share of an input; NaN when the result does not vary.</summary>
    public double Total(int input) => _differences[input].Round() / (2.0 * Count) / Positive(Variance);

    private static double Positive(double variance) => variance > 0 ? variance : double.NaN;

    public void Write(BinaryWriter writer)
    {
        writer.Write(_centre);
        writer.Write(_products.Length);
        writer.Write(Count);
        _sum.Write(writer);
        _squares.Write(writer);
        for (int i = 0; i < _products.Length; i++)
        {
            _products[i].Write(writer);
            _differences[i].Write(writer);
        }
    }

    /// <exception cref="InvalidDataException">Not such sums.</exception>
    public static VarianceShareSums Read(BinaryReader reader)
    {
        double centre = reader.ReadDouble();
        int inputs = reader.ReadInt32();
        long count = reader.ReadInt64();
        if (!double.IsFinite(centre) || inputs is < 0 or > 1_000_000 || count < 0)
        {
            throw new InvalidDataException("Sums of variance shares have no legal beginning.");
        }

        var sums = new VarianceShareSums(inputs, centre) { Count = count };
        sums._sum.Add(ExactSum.Read(reader));
        sums._squares.Add(ExactSum.Read(reader));
        for (int i = 0; i < inputs; i++)
        {
            sums._products[i].Add(ExactSum.Read(reader));
            sums._differences[i].Add(ExactSum.Read(reader));
        }

        return sums;
    }
}
