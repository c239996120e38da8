using System.Collections.Immutable;
using System.Runtime.Intrinsics;

namespace Throughline.Analysis;

/// <summary>
/// Everything that a batch tells about one reading, in constant memory: count, mean, spread, extremes with their units, quantiles, worst units. Units may come in any order, on any
/// number of instances that are merged afterwards in any order: every figure has the same bits as after one run. One thread per instance.
/// </summary>
public sealed class StreamingStatistics
{
    private readonly ExactSum _sum;
    private readonly ExactSum _squares;
    private readonly QuantileHistogram _histogram;
    private readonly WorstUnits _worst;

    /// <param name="centre">What the reading should be: deviations from it are squared, quantiles are finest near it and the worst units are the farthest from it.</param>
    /// <param name="scale">Positive; about the expected spread, see <see cref="QuantileHistogram"/>.</param>
    /// <param name="resolutionBits">4 to 16: quantiles near the centre are known to scale / 2^bits.</param>
    /// <param name="worstUnits">How many of the worst units are kept.</param>
    public StreamingStatistics(double centre, double scale, int resolutionBits = 8, int worstUnits = 10)
        : this(new ExactSum(), new ExactSum(), new QuantileHistogram(centre, scale, resolutionBits), new WorstUnits(worstUnits))
    {
    }

    private StreamingStatistics(ExactSum sum, ExactSum squares, QuantileHistogram histogram, WorstUnits worst) =>
        (_sum, _squares, _histogram, _worst) = (sum, squares, histogram, worst);

    public double Centre => _histogram.Centre;

    /// <summary>Units with a finite reading.</summary>
    public long Count => _histogram.Count;

    /// <summary>Units whose reading was infinite or NaN: counted here and left out of everything but the worst units.</summary>
    public long NotFinite { get; private set; }

    /// <summary>The smallest reading and the lowest number of a unit that has it; null before the first.</summary>
    public (double Value, long Unit)? Smallest { get; private set; }

    /// <summary>The largest reading and the lowest number of a unit that has it; null before the first.</summary>
    public (double Value, long Unit)? Largest { get; private set; }

    /// <summary>The mean; NaN before the first unit. The sum of the deviations from the centre is exact, so the mean is right to the last bits.</summary>
    public double Mean => Count == 0 ? double.NaN : Centre + _sum.Round() / Count;

    /// <summary>The sample variance, over n − 1; NaN below two units. The squares of the deviations from the centre are rounded once each and their sum is exact:
    /// relative error about 1e−16 × (1 + (mean − centre)²/variance).</summary>
    public double Variance
    {
        get
        {
            if (Count < 2)
            {
                return double.NaN;
            }

            // n Σd² − (Σd)² as exact sums of exact products: no cancellation beyond what the rounded squares bring
            (double sumHigh, double sumLow) = _sum.RoundTwice();
            (double squareHigh, double squareLow) = _squares.RoundTwice();
            var difference = new ExactSum();
            AddProduct(difference, Count, squareHigh);
            AddProduct(difference, Count, squareLow);
            AddProduct(difference, -sumHigh, sumHigh);
            AddProduct(difference, -2 * sumHigh, sumLow);
            AddProduct(difference, -sumLow, sumLow);
            return Math.Max(difference.Round(), 0) / ((double)Count * (Count - 1));
        }
    }

    public double StandardDeviation => Math.Sqrt(Variance);

    /// <summary>The standard deviation of the mean of independent units, s/√n. For quasi-random units it is an upper bound in practice, not an estimate.</summary>
    public double StandardErrorOfMean => Math.Sqrt(Variance / Count);

    /// <summary>The root mean square of the deviations from the centre; NaN before the first unit.</summary>
    public double RootMeanSquare => Count == 0 ? double.NaN : Math.Sqrt(_squares.Round() / Count);

    /// <summary>The units farthest from the centre, worst first.</summary>
    public ImmutableArray<RankedUnit> Worst => _worst.Units;

    /// <summary>The bins of the distribution.</summary>
    public QuantileHistogram Histogram => _histogram;

    /// <summary>Takes a unit in. Each unit is to be shown once to all instances together.</summary>
    public void Add(long unit, double value)
    {
        double d = value - Centre;
        double square = d * d;
        if (!double.IsFinite(square))
        {
            NotFinite++;
            _worst.Add(unit, double.IsNaN(d) ? double.NaN : double.PositiveInfinity);
            return;
        }

        value += 0.0; // −0 equals 0, and which came first must not show
        _sum.Add(d);
        _squares.Add(square);
        _histogram.Add(value);
        _worst.Add(unit, Math.Abs(d));
        KeepExtremes((value, unit), (value, unit));
    }

    /// <summary>Takes consecutive units in; the same figures as of each by itself, several times faster.</summary>
    public void Add(long firstUnit, ReadOnlySpan<double> values)
    {
        while (values.Length >= 16)
        {
            int count = Math.Min(values.Length & ~7, 256);
            AddBlock(firstUnit, values[..count]);
            firstUnit += count;
            values = values[count..];
        }

        AddEach(firstUnit, values);
    }

    /// <summary>Takes in what another instance of the same construction holds.</summary>
    /// <exception cref="ArgumentException">The instances were made with different centres, scales, resolutions or numbers of worst units.</exception>
    public void Add(StreamingStatistics other)
    {
        _histogram.Add(other._histogram);
        _worst.Add(other._worst);
        _sum.Add(other._sum);
        _squares.Add(other._squares);
        NotFinite += other.NotFinite;
        if (other is { Smallest: { } low, Largest: { } high })
        {
            KeepExtremes(low, high);
        }
    }

    /// <summary>The value that a share <paramref name="p"/> of the units lies at or below; never outside the extremes. The error is below the width of the
    /// histogram's bin there.</summary>
    /// <param name="p">0 to 1; 0 and 1 give the extremes.</param>
    /// <returns>NaN before the first unit.</returns>
    public double Quantile(double p) => (Smallest, Largest) switch
    {
        ({ } low, { } high) => p switch
        {
            0 => low.Value,
            1 => high.Value,
            _ => Math.Clamp(_histogram.Quantile(p), low.Value, high.Value),
        },
        _ => double.NaN,
    };

    /// <summary>Writes the state; instances of equal content write equal bytes. Little endian.</summary>
    public void Write(BinaryWriter writer)
    {
        _sum.Write(writer);
        _squares.Write(writer);
        _histogram.Write(writer);
        _worst.Write(writer);
        writer.Write(NotFinite);
        WriteExtreme(writer, Smallest);
        WriteExtreme(writer, Largest);
    }

    /// <summary>Reads what <see cref="Write"/> wrote.</summary>
    /// <exception cref="InvalidDataException">Not such a state.</exception>
    /// <exception cref="EndOfStreamException">The state is cut off.</exception>
    public static StreamingStatistics Read(BinaryReader reader) =>
        new(ExactSum.Read(reader), ExactSum.Read(reader), QuantileHistogram.Read(reader), WorstUnits.Read(reader))
        {
            NotFinite = reader.ReadInt64(),
            Smallest = ReadExtreme(reader),
            Largest = ReadExtreme(reader),
        };

    private void AddEach(long firstUnit, ReadOnlySpan<double> values)
    {
        for (int i = 0; i < values.Length; i++)
        {
            Add(firstUnit + i, values[i]);
        }
    }

    // A multiple of 8 values, at most 256.
    private void AddBlock(long firstUnit, ReadOnlySpan<double> values)
    {
        Span<double> deviations = stackalloc double[256], squares = stackalloc double[256];
        Vector512<double> centre = Vector512.Create(Centre), least = Vector512.Create(double.PositiveInfinity), most = -least, farthest = Vector512<double>.Zero;
        Vector512<ulong> largest = Vector512<ulong>.Zero;
        for (int i = 0; i < values.Length; i += 8)
        {
            Vector512<double> value = Vector512.Create(values.Slice(i, 8)), d = value - centre, square = d * d;
            d.CopyTo(deviations[i..]);
            square.CopyTo(squares[i..]);
            least = Vector512.Min(least, value);
            most = Vector512.Max(most, value);
            farthest = Vector512.Max(farthest, Vector512.Abs(d));
            largest = Vector512.Max(largest, square.AsUInt64()); // a square has no sign but that of a NaN, which is then the largest of all
        }

        if (Vector512.GreaterThanOrEqualAny(largest, Vector512.Create(0x7FF0000000000000UL)))
        {
            AddEach(firstUnit, values);
            return;
        }

        _sum.Add(deviations[..values.Length]);
        _squares.Add(squares[..values.Length]);
        foreach (double value in values)
        {
            _histogram.Add(value);
        }

        // Most blocks hold no extreme and none of the worst units.
        (double low, double high, double far) = (double.PositiveInfinity, double.NegativeInfinity, 0);
        for (int lane = 0; lane < 8; lane++)
        {
            (low, high, far) = (Math.Min(low, least[lane]), Math.Max(high, most[lane]), Math.Max(far, farthest[lane]));
        }

        bool isExtreme = !(low > Smallest?.Value && high < Largest?.Value), isBad = !(far < _worst.Threshold);
        for (int i = 0; i < values.Length && (isExtreme || isBad); i++)
        {
            _worst.Add(firstUnit + i, Math.Abs(deviations[i]));
            KeepExtremes((values[i] + 0.0, firstUnit + i), (values[i] + 0.0, firstUnit + i));
        }
    }

    private void KeepExtremes((double Value, long Unit) low, (double Value, long Unit) high)
    {
        if (Smallest is not { } smallest || low.Value < smallest.Value || (low.Value == smallest.Value && low.Unit < smallest.Unit))
        {
            Smallest = low;
        }

        if (Largest is not { } largest || high.Value > largest.Value || (high.Value == largest.Value && high.Unit < largest.Unit))
        {
            Largest = high;
        }
    }

    private static void AddProduct(ExactSum sum, double a, double b)
    {
        double product = a * b;
        sum.Add(product);
        sum.Add(Math.FusedMultiplyAdd(a, b, -product));
    }

    private static void WriteExtreme(BinaryWriter writer, (double Value, long Unit)? extreme)
    {
        writer.Write(extreme.HasValue);
        if (extreme is { } e)
        {
            writer.Write(e.Value);
            writer.Write(e.Unit);
        }
    }

    private static (double Value, long Unit)? ReadExtreme(BinaryReader reader) => reader.ReadBoolean() ? (reader.ReadDouble(), reader.ReadInt64()) : null;
}
