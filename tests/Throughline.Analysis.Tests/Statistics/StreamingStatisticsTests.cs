using System.Numerics;
using CsCheck;
using Throughline.Circuits;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

public class StreamingStatisticsTests
{
    private static readonly Gen<double> AnyFinite = Gen.OneOf(Gen.Double.Where(double.IsFinite), Gen.Long.Select(BitConverter.Int64BitsToDouble).Where(double.IsFinite),
        Gen.Double[-1, 1], Gen.Const(0.0), Gen.Const(-0.0), Gen.Const(double.Epsilon), Gen.Const(double.MaxValue), Gen.Const(double.MinValue));

    // Slow model: a whole number of 2^-1074.
    private static BigInteger Exact(double x)
    {
        long bits = BitConverter.DoubleToInt64Bits(x);
        int exponent = (int)(bits >> 52) & 0x7FF;
        BigInteger mantissa = (bits & 0x000FFFFFFFFFFFFF) | (exponent == 0 ? 0 : 1L << 52);
        return (bits < 0 ? -mantissa : mantissa) << Math.Max(exponent - 1, 0);
    }

    // Nearest double, ties to even, found by comparing with both neighbours of a guess.
    private static double Nearest(BigInteger value)
    {
        BigInteger size = BigInteger.Abs(value);
        int shift = Math.Max((int)size.GetBitLength() - 53, 0);
        BigInteger kept = size >> shift, rest = size - (kept << shift), half = shift == 0 ? 0 : BigInteger.One << (shift - 1);
        if (shift > 0 && (rest > half || (rest == half && !kept.IsEven)))
        {
            kept++;
        }

        double magnitude = Math.ScaleB((double)kept, shift - 1074);
        return value.Sign < 0 ? -magnitude : magnitude;
    }

    [Fact] // Property: the sum of any doubles is the exact sum rounded once (whole numbers of 2^-1074 as the slow model)
    public void ExactSum_OfAnyDoubles_IsTheExactSumRounded() => AnyFinite.Array[0, 60].Sample(terms =>
    {
        var sum = new ExactSum();
        BigInteger exact = 0;
        foreach (double term in terms)
        {
            sum.Add(term);
            exact += Exact(term);
        }

        return sum.Round().Equals(Nearest(exact) + 0.0);
    });

    [Fact] // Property: many at a time is each by itself, whether sizes are alike (the fast way) or not
    public void ExactSum_OfSpans_IsTheSumOfEach() =>
        Gen.Select(Gen.OneOf(Gen.Double[-1, 1], AnyFinite).Array[0, 20], Gen.Double[-1e-3, 1e-3].Array[0, 600], Gen.Int[-900, 900], Gen.Int[0, 600]).Sample((odd, alike, power, at) =>
        {
            double[] scaled = [.. alike.Select(x => Math.ScaleB(x, power))];
            at = Math.Min(at, scaled.Length);
            double[] terms = [.. scaled[..at], .. odd, .. scaled[at..]];
            ExactSum each = new(), spans = new(), uniform = new();
            Array.ForEach(terms, each.Add);
            spans.Add(terms);
            uniform.Add(scaled);
            BigInteger exact = scaled.Aggregate(BigInteger.Zero, (sum, x) => sum + Exact(x));
            return each.Round().Equals(spans.Round()) && each.RoundTwice() == spans.RoundTwice() && uniform.Round().Equals(Nearest(exact) + 0.0);
        }, iter: 300);

    [Fact]
    public void ExactSum_OfASpanThatIsNotFinite_IsRefused()
    {
        double[] terms = new double[64];
        terms[40] = double.NaN;
        Assert.Throws<ArgumentOutOfRangeException>(() => new ExactSum().Add(terms));
    }

    [Fact] // Property: a run of units at once is each unit by itself, to the byte; with ties, −0, infinities and NaN among them
    public void Add_OfARunOfUnits_IsEachByItself() =>
        Gen.Select(Gen.OneOf(Gen.Double[6.9, 7.1], Gen.Double[6.9, 7.1], Gen.Double[6.9, 7.1], Gen.Const(7.05), Gen.Const(-0.0), Gen.Const(0.0), Gen.Double[-1e9, 1e9]).Array[0, 700], Gen.Int[0, 699], Gen.Int[0, 3].Select(k => new[] { 7.0, double.NaN, double.PositiveInfinity, 1e200 }[k]))
            .Sample((values, at, odd) =>
            {
                if (at < values.Length)
                {
                    values[at] = odd;
                }

                StreamingStatistics run = new(7, 0.01, worstUnits: 4), each = new(7, 0.01, worstUnits: 4);
                run.Add(100, values);
                for (int i = 0; i < values.Length; i++)
                {
                    each.Add(100 + i, values[i]);
                }

                return Bytes(run).AsSpan().SequenceEqual(Bytes(each));
            }, iter: 300);

    [Fact] // Subnormal results and ties, where rounding goes wrong first
    public void ExactSum_AtTheEdges_RoundsToNearestEven()
    {
        static double Sum(params double[] terms)
        {
            var sum = new ExactSum();
            Array.ForEach(terms, sum.Add);
            return sum.Round();
        }

        double half = Math.ScaleB(1, -53);
        Assert.Equal(1, Sum(1, half));
        Assert.Equal(1 + Math.ScaleB(1, -51), Sum(1, Math.ScaleB(1, -52), half));
        Assert.Equal(Math.BitIncrement(1.0), Sum(1, half, double.Epsilon));
        Assert.Equal(1, Sum(1, half, -double.Epsilon));
        Assert.Equal(3 * double.Epsilon, Sum(1e300, double.Epsilon, double.Epsilon, -1e300, double.Epsilon));
        Assert.Equal(2.2250738585072014e-308, Sum(2.2250738585072009e-308, double.Epsilon));
        Assert.Equal(double.PositiveInfinity, Sum(double.MaxValue, double.MaxValue));
        Assert.Equal(double.MaxValue, Sum(double.MaxValue, double.MaxValue, -double.MaxValue));
        Assert.Equal(double.NegativeInfinity, Sum(-double.MaxValue, -double.MaxValue));
        Assert.Equal(0, Sum());
        Assert.Throws<ArgumentOutOfRangeException>(() => Sum(double.NaN));
        Assert.Throws<ArgumentOutOfRangeException>(() => Sum(double.NegativeInfinity));
    }

    [Fact] // many terms of one size, so that carries are settled several times
    public void ExactSum_OfManyLargeTerms_IsExact()
    {
        var sum = new ExactSum();
        double term = Math.BitDecrement(2.0);
        for (int i = 0; i < 100_000; i++)
        {
            sum.Add(-term);
        }

        Assert.Equal(Nearest(Exact(-term) * 100_000), sum.Round());
        (double high, double low) = sum.RoundTwice();
        Assert.Equal(Exact(-term) * 100_000, Exact(high) + Exact(low));
    }

    private static byte[] Bytes(StreamingStatistics statistics)
    {
        using var memory = new MemoryStream();
        using var writer = new BinaryWriter(memory);
        statistics.Write(writer);
        return memory.ToArray();
    }

    private static double[] Readings(int count)
    {
        double[] values = new double[count];
        UniformSource.PseudoRandom(9, ["reading"]).Fill(0, 0, values);
        new NormalDistribution(7.002, 0.01).Quantiles(values, values);
        for (int i = 13; i < count; i += 97)
        {
            values[i] = (i % 5) switch { 0 => 7, 1 => double.NaN, 2 => -1e6, 3 => double.PositiveInfinity, _ => 7.5 };
        }

        return values;
    }

    [Fact] // Property: cut anywhere, dealt to shards in any way, shards merged in any order: the same bytes
    public void Merge_OfAnySharding_IsBitIdenticalToOneRun()
    {
        double[] values = Readings(3000);
        var whole = new StreamingStatistics(7, 0.01, 6);
        whole.Add(0, values);
        byte[] expected = Bytes(whole);
        Gen.Select(Gen.Int[1, 9], Gen.Int[0, 8].Array[3000], Gen.Shuffle(Enumerable.Range(0, 9).ToArray()), Gen.Shuffle(Enumerable.Range(0, 3000).ToArray())).Sample((shards, deal, order, units) =>
        {
            StreamingStatistics[] parts = [.. Enumerable.Range(0, 9).Select(_ => new StreamingStatistics(7, 0.01, 6))];
            foreach (int unit in units)
            {
                parts[deal[unit] % shards].Add(unit, values[unit]);
            }

            var merged = new StreamingStatistics(7, 0.01, 6);
            foreach (int shard in order)
            {
                merged.Add(parts[shard]);
            }

            return Bytes(merged).AsSpan().SequenceEqual(expected);
        }, iter: 50);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(4)]
    public void Merge_OfThreads_IsBitIdenticalToOneRun(int threads)
    {
        double[] values = Readings(40_000);
        var whole = new StreamingStatistics(7, 0.01);
        whole.Add(0, values);
        var merged = new StreamingStatistics(7, 0.01);
        Parallel.For(0, 400, new ParallelOptions { MaxDegreeOfParallelism = threads }, () => new StreamingStatistics(7, 0.01), (block, _, mine) =>
        {
            mine.Add(block * 100, values.AsSpan(block * 100, 100));
            return mine;
        }, mine =>
        {
            lock (merged)
            {
                merged.Add(mine);
            }
        });
        Assert.Equal(Bytes(whole), Bytes(merged));
        Assert.Equal((whole.Mean, whole.Variance, whole.Quantile(0.9)), (merged.Mean, merged.Variance, merged.Quantile(0.9)));
        Assert.Equal(whole.Worst, merged.Worst);
    }

    [Fact]
    public void Read_OfWhatWasWritten_GoesOnAsBefore()
    {
        double[] values = Readings(2000);
        var first = new StreamingStatistics(7, 0.01);
        first.Add(0, values.AsSpan(0, 1200));
        StreamingStatistics read = StreamingStatistics.Read(new BinaryReader(new MemoryStream(Bytes(first))));
        Assert.Equal(Bytes(first), Bytes(read));
        read.Add(1200, values.AsSpan(1200));
        first.Add(1200, values.AsSpan(1200));
        Assert.Equal(Bytes(first), Bytes(read));
        Assert.Equal((first.Count, first.NotFinite, first.Smallest, first.Largest), (read.Count, read.NotFinite, read.Smallest, read.Largest));
        byte[] cut = Bytes(first)[..500];
        Assert.Throws<EndOfStreamException>(() => StreamingStatistics.Read(new BinaryReader(new MemoryStream(cut))));
        byte[] wrong = Bytes(first);
        wrong[5] = 1;
        Assert.Throws<InvalidDataException>(() => StreamingStatistics.Read(new BinaryReader(new MemoryStream(wrong))));
    }

    // NIST StRD, univariate summary statistics, certified: NumAcc3 (1000000.2, then 1000000.1 and .3 alternating, 1001 values) and NumAcc4 (10000000.2 …)
    [Theory]
    [InlineData(1_000_000.2, 1_000_000.1, 1_000_000.3, 1_000_000, 1e-15, 1e-9)]
    [InlineData(10_000_000.2, 10_000_000.1, 10_000_000.3, 10_000_000, 1e-15, 1e-7)]
    public void Moments_OfTheNistSeries_AreTheCertifiedOnes(double first, double odd, double even, double centre, double meanTolerance, double deviationTolerance)
    {
        // The digits of the data are lost when 10 000 000.1 becomes a double: 2e-9 of 0.1. The certified figures are 10 000 000.2 and 0.1 exactly.
        var statistics = new StreamingStatistics(centre, 0.1);
        statistics.Add(0, first);
        for (int i = 1; i <= 1000; i++)
        {
            statistics.Add(i, i % 2 == 1 ? odd : even);
        }

        Assert.Equal(1, statistics.Mean / first, meanTolerance);
        Assert.Equal(0.1, statistics.StandardDeviation, deviationTolerance);
        Assert.Equal(0.1 / Math.Sqrt(1001), statistics.StandardErrorOfMean, deviationTolerance);
    }

    [Fact] // centre far from the values: still right to the bits that the rounded squares leave
    public void Variance_FarFromTheCentre_IsExactForWholeNumbers()
    {
        var statistics = new StreamingStatistics(0, 1);
        for (int i = 0; i < 1000; i++)
        {
            statistics.Add(i, 10_000_000 + i % 2);
        }

        Assert.Equal(250.0 / 999, statistics.Variance, 1e-15);
        Assert.Equal(10_000_000.5, statistics.Mean);
    }

    [Fact]
    public void Extremes_WithEqualReadings_NameTheLowestUnit()
    {
        var statistics = new StreamingStatistics(0, 1, worstUnits: 3);
        foreach ((long unit, double value) in ((long, double)[])[(9, 5), (4, 5), (7, -5), (8, 0), (3, -5), (2, double.NaN), (1, double.NegativeInfinity)])
        {
            statistics.Add(unit, value);
        }

        Assert.Equal((-5.0, 3L), statistics.Smallest);
        Assert.Equal((5.0, 4L), statistics.Largest);
        Assert.Equal((5L, 2L), (statistics.Count, statistics.NotFinite));
        Assert.Equal([2L, 1L, 3L], statistics.Worst.Select(w => w.Unit)); // NaN, then infinite, then 3, 4, 7, 9 all at 5
    }

    [Fact]
    public void Figures_OfNothing_AreNotNumbers()
    {
        var statistics = new StreamingStatistics(0, 1);
        Assert.All([statistics.Mean, statistics.Variance, statistics.Quantile(0.5), statistics.RootMeanSquare], v => Assert.True(double.IsNaN(v)));
        Assert.Null(statistics.Smallest);
        Assert.Empty(statistics.Worst);
        statistics.Add(5, 2);
        Assert.True(double.IsNaN(statistics.Variance));
        Assert.Equal((2.0, 2.0, 2.0), (statistics.Mean, statistics.Quantile(0.5), statistics.RootMeanSquare));
    }

    [Fact] // Property: each quantile lies within a bin's width of the order statistic it stands for, over 30 decades
    public void Quantile_OfAnyValues_IsWithinItsBin() =>
        Gen.Select(Gen.OneOf(Gen.Double[-3, 3], Gen.Double[-1e15, 1e15], Gen.Double[-1e-15, 1e-15], Gen.Const(0.25)).Array[1, 200], Gen.Double[0.0001, 0.9999], Gen.Int[4, 10], Gen.Double[-2, 2])
            .Sample((values, p, resolution, centre) =>
            {
                var statistics = new StreamingStatistics(centre, 0.5, resolution);
                statistics.Add(0, values);
                double[] sorted = [.. values.Order()];
                double exact = sorted[(int)Math.Ceiling(p * values.Length) - 1];
                double quantile = statistics.Quantile(p);
                return Math.Abs(quantile - exact) <= statistics.Histogram.BinWidth(exact) * (1 + 1e-9) && quantile >= sorted[0] && quantile <= sorted[^1];
            });

    [Fact] // the promise about widths: scale / 2^bits at the centre, in proportion far away; bins touch each other and hold every value
    public void Bins_AreAsWideAsPromisedAndCountEverything()
    {
        var histogram = new QuantileHistogram(1, 0.25, 5);
        Gen.Double[-50, 50].Array[2000].Sample(values => Array.ForEach(values, histogram.Add), iter: 3, threads: 1);
        (double Low, double High, long Count)[] bins = [.. histogram.Bins()];
        Assert.Equal(histogram.Count, bins.Sum(b => b.Count));
        Assert.All(bins, b => Assert.True(b.High > b.Low));
        Assert.All(bins.Zip(bins.Skip(1)), pair => Assert.True(pair.First.High <= pair.Second.Low));
        Assert.Equal(0.25 / 32, histogram.BinWidth(1));
        Assert.Equal(0.25 / 32, histogram.BinWidth(1.24));
        Assert.Equal(0.25 / 16, histogram.BinWidth(1.26));
        Assert.Equal(2.0 / 32, histogram.BinWidth(1 + 0.25 * 14)); // 1 + 14 is in the fourth octave
    }

    [Fact]
    public void Histogram_OfTheInfinite_UsesItsOutermostBins()
    {
        var histogram = new QuantileHistogram(0, 1e-10);
        foreach (double value in (double[])[double.MaxValue, double.PositiveInfinity, double.MinValue, double.NegativeInfinity, 0])
        {
            histogram.Add(value);
        }

        Assert.Equal(5, histogram.Count);
        Assert.Equal(3, histogram.Bins().Count());
    }

    [Fact]
    public void Add_OfOtherBins_IsRefused()
    {
        Assert.Throws<ArgumentException>(() => new StreamingStatistics(0, 1).Add(new StreamingStatistics(0, 2)));
        Assert.Throws<ArgumentException>(() => new StreamingStatistics(0, 1).Add(new StreamingStatistics(1, 1)));
        Assert.Throws<ArgumentException>(() => new StreamingStatistics(0, 1, worstUnits: 1).Add(new StreamingStatistics(0, 1, worstUnits: 2)));
        Assert.Throws<ArgumentOutOfRangeException>(() => new StreamingStatistics(0, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => new StreamingStatistics(double.NaN, 1));
    }

    [Fact]
    public void Add_AfterWarmUp_AllocatesNothing()
    {
        double[] values = Readings(5000);
        var statistics = new StreamingStatistics(7, 0.01);
        statistics.Add(0, values);
        long before = GC.GetAllocatedBytesForCurrentThread();
        statistics.Add(5000, values);
        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
    }
}
