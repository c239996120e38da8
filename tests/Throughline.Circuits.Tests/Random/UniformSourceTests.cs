using CsCheck;
using Xunit;

namespace Throughline.Circuits.Tests;

public class UniformSourceTests
{
    [Theory] // FNV test vectors: draft-eastlake-fnv (RFC 9923), appendix, FNV-1a 64 bit
    [InlineData("", 0xcbf29ce484222325)]
    [InlineData("a", 0xaf63dc4c8601ec8c)]
    [InlineData("foobar", 0x85944171f73967e8)]
    public void Hash_OfPublishedTexts_IsFnv1a(string text, ulong hash) => Assert.Equal(hash, StreamName.Hash(text));

    [Fact] // UTF-8, not UTF-16: "Ω" is CE A9
    public void Hash_BeyondAscii_IsOverUtf8Bytes() =>
        Assert.Equal(unchecked((((0xCBF29CE484222325 ^ 0xCE) * 0x100000001B3) ^ 0xA9) * 0x100000001B3), StreamName.Hash("Ω"));

    [Fact]
    public void From_AtTheEnds_StaysInside()
    {
        Assert.Equal(Math.ScaleB(1, -53), UnitInterval.From(0));
        Assert.Equal(1 - Math.ScaleB(1, -53), UnitInterval.From(ulong.MaxValue));
        Assert.Equal(UnitInterval.Smallest, UnitInterval.From(0));
        Assert.Equal(UnitInterval.Largest, UnitInterval.From(ulong.MaxValue));
        Assert.True(UnitInterval.From(1UL << 63) > 0.5);
    }

    [Fact] // Property: exact mirror, and the inverse gives the bits back
    public void From_OfAnyBits_IsAnExactOddMultipleAndMirrors() => Gen.ULong.Sample(bits =>
    {
        double u = UnitInterval.From(bits);
        double steps = u * (1L << 53);
        return u is > 0 and < 1 && steps == (double)(2 * (bits >> 12) + 1) && 1 - u == UnitInterval.From(~bits);
    });

    [Fact]
    public void From_OfSpan_IsTheScalar()
    {
        ulong[] bits = new ulong[300];
        Philox.Fill(5, 6, 0, bits);
        for (int length = 0; length <= 256; length++)
        {
            double[] numbers = new double[length];
            UnitInterval.From(bits.AsSpan(0, length), numbers);
            Assert.Equal(bits.Take(length).Select(UnitInterval.From), numbers);
        }
    }

    [Fact]
    public void PseudoRandom_WithAnotherInputAdded_KeepsTheDrawsOfTheRest()
    {
        UniformSource few = UniformSource.PseudoRandom(7, ["R1", "R3"]);
        UniformSource more = UniformSource.PseudoRandom(7, ["R9", "R3", "R1"]);
        Assert.Equal(few.At(1, 123456), more.At(1, 123456));
        Assert.Equal(few.At(0, 123456), more.At(2, 123456));
        Assert.NotEqual(few.At(0, 123456), few.At(1, 123456));
        Assert.NotEqual(few.At(0, 5), UniformSource.PseudoRandom(8, ["R1"]).At(0, 5));
    }

    [Fact]
    public void Create_WithANameTwice_IsRefused() => Assert.Throws<ArgumentException>(() => UniformSource.PseudoRandom(1, ["R1", "R2", "R1"]));

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Fill_OfAnyStretch_IsAt(bool quasi)
    {
        string[] names = [.. Enumerable.Range(0, 300).Select(i => "n" + i)];
        UniformSource source = quasi ? UniformSource.QuasiRandom(3, names, 2) : UniformSource.PseudoRandom(3, names);
        Gen.Select(Gen.Int[0, 299], Gen.ULong[0, 1UL << 40], Gen.Int[0, 70]).Sample((input, start, length) =>
        {
            double[] numbers = new double[length];
            source.Fill(input, start, numbers);
            return Enumerable.Range(0, length).All(i => numbers[i] == source.At(input, start + (ulong)i) && numbers[i] is > 0 and < 1);
        });
    }

    [Fact] // Kolmogorov-Smirnov at 10^5 draws: sqrt(n) D below 1.949, the 99.9 % point of Kolmogorov's distribution (handbook table)
    public void PseudoRandom_OfSeveralStreams_PassesKolmogorovSmirnov()
    {
        UniformSource source = UniformSource.PseudoRandom(20240601, ["R1", "R2", "R3", "C1"]);
        double[] numbers = new double[100_000];
        for (int input = 0; input < 4; input++)
        {
            source.Fill(input, 0, numbers);
            Array.Sort(numbers);
            double largest = numbers.Select((u, i) => Math.Max((i + 1.0) / numbers.Length - u, u - (double)i / numbers.Length)).Max();
            Assert.InRange(largest * Math.Sqrt(numbers.Length), 0.3, 1.949);
        }
    }

    [Fact] // Exact: a shifted (0,1)-sequence in base 2 has one of every aligned 2^k points in each of the 2^k equal cells, in every dimension
    public void QuasiRandom_InEveryDimension_IsStratified()
    {
        UniformSource source = UniformSource.QuasiRandom(11, Enumerable.Range(0, SobolSequence.LargestDimension).Select(i => "n" + i));
        double[] numbers = new double[1 << 12];
        for (int input = 0; input < SobolSequence.LargestDimension; input++)
        {
            source.Fill(input, 3 << 12, numbers);
            Assert.Equal(numbers.Length, numbers.Select(u => (int)(u * numbers.Length)).Distinct().Count());
        }
    }

    [Fact] // Closed form: the mean of the product of (1 + (u - 1/2)/j) is 1. The scatter of 16 replicates shows the gain over pseudo-random numbers
    public void QuasiRandom_OnASmoothFunction_ConvergesFasterThanPseudoRandom()
    {
        const int dimensions = 12, points = 1 << 12, replicates = 16;
        string[] names = [.. Enumerable.Range(1, dimensions).Select(i => "x" + i)];
        double Error(Func<int, UniformSource> make) => Math.Sqrt(Enumerable.Range(0, replicates).Average(r =>
        {
            UniformSource source = make(r);
            double sum = 0;
            for (ulong i = 0; i < points; i++)
            {
                double product = 1;
                for (int j = 0; j < dimensions; j++)
                {
                    product *= 1 + (source.At(j, i) - 0.5) / (j + 1);
                }

                sum += product - 1;
            }

            return sum / points * (sum / points);
        }));
        double pseudo = Error(r => UniformSource.PseudoRandom((ulong)r, names));
        double quasi = Error(r => UniformSource.QuasiRandom(1, names, r));
        Assert.InRange(pseudo, 0.0025, 0.011); // variance of the product is prod(1 + 1/(12 j^2)) - 1 = 0.142; sqrt(0.142/4096) = 0.0059, ±45 % at 16 replicates
        Assert.InRange(quasi, 0, pseudo / 15);
    }
}
