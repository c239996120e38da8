using System.Runtime.Intrinsics;
using CsCheck;
using Xunit;

namespace Throughline.Circuits.Tests;

public class PhiloxTests
{
    [Theory] // Random123 1.x, file kat_vectors, philox4x32 10 (Salmon et al., SC11): zero, all ones, digits of pi; the first also stands in the paper's own tests
    [InlineData(0x00000000u, 0x00000000u, 0x00000000u, 0x00000000u, 0x00000000u, 0x00000000u, 0x6627e8d5u, 0xe169c58du, 0xbc57ac4cu, 0x9b00dbd8u)]
    [InlineData(0xffffffffu, 0xffffffffu, 0xffffffffu, 0xffffffffu, 0xffffffffu, 0xffffffffu, 0x408f276du, 0x41c83b0eu, 0xa20bc7c6u, 0x6d5451fdu)]
    [InlineData(0x243f6a88u, 0x85a308d3u, 0x13198a2eu, 0x03707344u, 0xa4093822u, 0x299f31d0u, 0xd16cfe09u, 0x94fdccebu, 0x5001e420u, 0x24126ea1u)]
    public void Block_OfPublishedVectors_IsTheirResult(uint c0, uint c1, uint c2, uint c3, uint k0, uint k1, uint r0, uint r1, uint r2, uint r3) =>
        Assert.Equal(Vector128.Create(r0, r1, r2, r3), Philox.Block(Vector128.Create(c0, c1, c2, c3), k0 | ((ulong)k1 << 32)));

    [Fact] // the first vector again through the public draws: bits of draws 0 and 1 of stream 0, seed 0
    public void Bits_OfFirstDraws_AreTheWordsOfTheBlock()
    {
        Assert.Equal(0xe169c58d6627e8d5, Philox.Bits(0, 0, 0));
        Assert.Equal(0x9b00dbd8bc57ac4c, Philox.Bits(0, 0, 1));
    }

    [Fact]
    public void Fill_AtEveryLengthAndStart_IsTheScalarDraws()
    {
        foreach (ulong start in (ulong[])[0, 1, 2, 7, (1UL << 33) - 19, (1UL << 33) - 20, ulong.MaxValue - 40])
        {
            for (int length = 0; length <= 256; length++)
            {
                ulong[] bits = new ulong[length];
                Philox.Fill(0x0123456789ABCDEF, 0xFEDCBA9876543210, start, bits);
                for (int i = 0; i < length; i++)
                {
                    Assert.Equal(Philox.Bits(0x0123456789ABCDEF, 0xFEDCBA9876543210, unchecked(start + (ulong)i)), bits[i]);
                }
            }
        }
    }

    [Fact]
    public void Fill_CutAnywhere_IsTheSameDraws() =>
        Gen.Select(Gen.ULong, Gen.ULong, Gen.ULong[0, 1UL << 60], Gen.Int[0, 90], Gen.Int[0, 90]).Sample((seed, stream, start, a, b) =>
        {
            ulong[] whole = new ulong[a + b];
            ulong[] parts = new ulong[a + b];
            Philox.Fill(seed, stream, start, whole);
            Philox.Fill(seed, stream, start + (ulong)a, parts.AsSpan(a));
            Philox.Fill(seed, stream, start, parts.AsSpan(0, a));
            return whole.AsSpan().SequenceEqual(parts);
        });

    [Fact] // chi-square: 256 values of each of the eight bytes, 2^18 draws; its 0.1 and 99.9 % points at 255 degrees of freedom (scipy.stats.chi2.ppf)
    public void Bits_ByBytes_AreEquallyFrequent()
    {
        ulong[] bits = new ulong[1 << 18];
        Philox.Fill(20240601, StreamName.Hash("R1"), 0, bits);
        for (int shift = 0; shift < 64; shift += 8)
        {
            int[] counts = new int[256];
            foreach (ulong b in bits)
            {
                counts[(b >> shift) & 255]++;
            }

            double expected = bits.Length / 256.0;
            Assert.InRange(counts.Sum(c => (c - expected) * (c - expected) / expected), 190.87, 330.52); // 0.1 and 99.9 % points
        }
    }

    [Fact] // Neighbouring streams, seeds and indices: correlation of 2^16 pairs has standard deviation 1/256; five of them
    public void Bits_OfNeighbours_AreUncorrelated()
    {
        const int n = 1 << 16;
        double seeds = 0, streams = 0, indices = 0;
        for (ulong i = 0; i < n; i++)
        {
            double u = UnitInterval.From(Philox.Bits(1, 1, i)) - 0.5;
            seeds += u * (UnitInterval.From(Philox.Bits(2, 1, i)) - 0.5);
            streams += u * (UnitInterval.From(Philox.Bits(1, 2, i)) - 0.5);
            indices += u * (UnitInterval.From(Philox.Bits(1, 1, i + 1)) - 0.5);
        }

        Assert.All([seeds, streams, indices], sum => Assert.InRange(12 * sum / n, -5.0 / 256, 5.0 / 256));
    }

    [Fact]
    public void Fill_AfterWarmUp_AllocatesNothing()
    {
        double[] numbers = new double[1000];
        UniformSource[] sources = [UniformSource.PseudoRandom(1, ["a", "b"]), UniformSource.QuasiRandom(1, ["a", "b"])];
        foreach (UniformSource source in sources)
        {
            source.Fill(1, 3, numbers);
            long before = GC.GetAllocatedBytesForCurrentThread();
            source.Fill(1, 5, numbers);
            Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
        }
    }
}
