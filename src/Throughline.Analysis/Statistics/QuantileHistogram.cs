using System.Runtime.CompilerServices;

namespace Throughline.Analysis;

/// <summary>
/// Counts values in bins that are fine about a centre and grow with the distance from it, to read quantiles from. Bins depend on the value alone and counts
/// are whole, so neither order nor sharing over threads or machines can show. One thread per instance.
/// </summary>
/// <remarks>
/// With d the distance from the centre in units of the scale, a bin is 2^(⌊log₂(1 + d)⌋ − resolution) scales wide: equally wide bins about the centre, bins in
/// proportion far away, found from the bits of 1 + d. Memory: 2^resolution counts for each octave of 1 + d that occurs on either side, at most 64 octaves.
/// </remarks>
public sealed class QuantileHistogram
{
    private const int Octaves = 64;
    private const long OneBits = 0x3FF0000000000000;

    private readonly double _inverseScale;
    private readonly long[]?[] _below = new long[Octaves][];
    private readonly long[]?[] _above = new long[Octaves][];

    /// <param name="centre">Where the bins are finest: the nominal value.</param>
    /// <param name="scale">Positive; about the expected spread.</param>
    /// <param name="resolutionBits">Bins per scale at the centre, as a power of two: 4 to 16.</param>
    public QuantileHistogram(double centre, double scale, int resolutionBits = 8)
    {
        if (!double.IsFinite(centre))
        {
            throw new ArgumentOutOfRangeException(nameof(centre), centre, "Finite.");
        }

        if (!(scale > 1e-290 && scale < 1e290))
        {
            throw new ArgumentOutOfRangeException(nameof(scale), scale, "Positive and finite.");
        }

        ArgumentOutOfRangeException.ThrowIfLessThan(resolutionBits, 4);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(resolutionBits, 16);
        Centre = centre;
        Scale = scale;
        ResolutionBits = resolutionBits;
        _inverseScale = 1 / scale;
    }

    public double Centre { get; }

    public double Scale { get; }

    public int ResolutionBits { get; }

    /// <summary>Values counted.</summary>
    public long Count { get; private set; }

    /// <summary>Counts a value. Allocates only when an octave is met for the first time.</summary>
    /// <param name="value">Finite, or ±∞, which goes to the outermost bin; a NaN is counted as ∞.</param>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public void Add(double value)
    {
        double d = (value - Centre) * _inverseScale;
        long index = (BitConverter.DoubleToInt64Bits(1 + Math.Abs(d)) - OneBits) >> (52 - ResolutionBits);
        int octave = (int)(index >> ResolutionBits);
        long[]?[] side = d < 0 ? _below : _above;
        if (octave >= Octaves || side[octave] is not { } counts)
        {
            counts = Octave(side, ref octave, ref index);
        }

        counts[index & ((1L << ResolutionBits) - 1)]++;
        Count++;
    }

    /// <summary>Adds the counts of another histogram of the same bins.</summary>
    /// <exception cref="ArgumentException">The bins differ.</exception>
    public void Add(QuantileHistogram other)
    {
        if (!other.Centre.Equals(Centre) || !other.Scale.Equals(Scale) || other.ResolutionBits != ResolutionBits)
        {
            throw new ArgumentException("Only histograms of the same centre, scale and resolution merge.", nameof(other));
        }

        AddSide(_below, other._below);
        AddSide(_above, other._above);
        Count += other.Count;
    }

    /// <summary>The width of the bin that a value is counted in: the bound of the error of a quantile there.</summary>
    public double BinWidth(double value)
    {
        double d = Math.Abs((value - Centre) * _inverseScale);
        return Scale * Math.ScaleB(1, Math.Min(Math.ILogB(1 + d), Octaves - 1) - ResolutionBits);
    }

    /// <summary>
    /// The value that a share <paramref name="p"/> of the values lies at or below: the ⌈p n⌉-th smallest, known to its bin and placed in it by rank, so that the error is
    /// below <see cref="BinWidth"/> there.
    /// </summary>
    /// <param name="p">Between 0 and 1, both excluded.</param>
    /// <returns>NaN when nothing was counted.</returns>
    public double Quantile(double p)
    {
        Probability.Check(p);
        if (Count == 0)
        {
            return double.NaN;
        }

        long rank = Math.Clamp((long)Math.Ceiling(p * Count), 1, Count);
        long before = 0;
        foreach ((double low, double high, long count) in Bins())
        {
            if (before + count >= rank)
            {
                return low + (high - low) * ((rank - before - 0.5) / count);
            }

            before += count;
        }

        return double.PositiveInfinity;
    }

    /// <summary>The bins that hold something, from the lowest up.</summary>
    public IEnumerable<(double Low, double High, long Count)> Bins()
    {
        int bins = 1 << ResolutionBits;
        for (int octave = Octaves - 1; octave >= 0; octave--)
        {
            if (_below[octave] is { } counts)
            {
                for (int i = bins - 1; i >= 0; i--)
                {
                    if (counts[i] > 0)
                    {
                        yield return (Centre - Scale * Edge(octave, i + 1), Centre - Scale * Edge(octave, i), counts[i]);
                    }
                }
            }
        }

        for (int octave = 0; octave < Octaves; octave++)
        {
            if (_above[octave] is { } counts)
            {
                for (int i = 0; i < bins; i++)
                {
                    if (counts[i] > 0)
                    {
                        yield return (Centre + Scale * Edge(octave, i), Centre + Scale * Edge(octave, i + 1), counts[i]);
                    }
                }
            }
        }
    }

    /// <summary>Writes bins and counts; equal histograms write equal bytes.</summary>
    public void Write(BinaryWriter writer)
    {
        writer.Write(Centre);
        writer.Write(Scale);
        writer.Write(ResolutionBits);
        WriteSide(writer, _below);
        WriteSide(writer, _above);
    }

    /// <summary>Reads what <see cref="Write"/> wrote.</summary>
    /// <exception cref="InvalidDataException">Not such a histogram.</exception>
    public static QuantileHistogram Read(BinaryReader reader)
    {
        double centre = reader.ReadDouble(), scale = reader.ReadDouble();
        int resolution = reader.ReadInt32();
        if (!double.IsFinite(centre) || !(scale > 1e-290 && scale < 1e290) || resolution is < 4 or > 16)
        {
            throw new InvalidDataException("A histogram has no legal centre, scale or resolution.");
        }

        var histogram = new QuantileHistogram(centre, scale, resolution);
        histogram.Count = checked(ReadSide(reader, histogram._below, resolution) + ReadSide(reader, histogram._above, resolution));
        return histogram;
    }

    private double Edge(int octave, int i) => Math.ScaleB(1 + i * Math.ScaleB(1, -ResolutionBits), octave) - 1;

    private long[] Octave(long[]?[] side, ref int octave, ref long index)
    {
        if (octave >= Octaves)
        {
            octave = Octaves - 1;
            index = -1; // the last bin of the last octave
        }

        return side[octave] ??= new long[1 << ResolutionBits];
    }

    private static void AddSide(long[]?[] to, long[]?[] from)
    {
        for (int octave = 0; octave < Octaves; octave++)
        {
            if (from[octave] is { } counts)
            {
                long[] sum = to[octave] ??= new long[counts.Length];
                for (int i = 0; i < counts.Length; i++)
                {
                    sum[i] += counts[i];
                }
            }
        }
    }

    private static void WriteSide(BinaryWriter writer, long[]?[] side)
    {
        for (int octave = 0; octave < Octaves; octave++)
        {
            writer.Write(side[octave] is not null);
            foreach (long count in side[octave] ?? [])
            {
                writer.Write7BitEncodedInt64(count);
            }
        }
    }

    private static long ReadSide(BinaryReader reader, long[]?[] side, int resolution)
    {
        long total = 0;
        for (int octave = 0; octave < Octaves; octave++)
        {
            if (!reader.ReadBoolean())
            {
                continue;
            }

            long[] counts = side[octave] = new long[1 << resolution];
            foreach (ref long count in counts.AsSpan())
            {
                count = reader.Read7BitEncodedInt64();
                total = count >= 0 ? checked(total + count) : throw new InvalidDataException("A histogram has a negative count.");
            }
        }

        return total;
    }
}
