using Xunit;

namespace Throughline.Circuits.Tests;

public class SobolSequenceTests
{
    // scipy 1.10.1, scipy.stats.qmc.Sobol(256, scramble=False), points 1, 2, 3, 5, 100, 777 and 1023 of its Gray-code order
    [Theory]
    [InlineData(0, 0.5, 0.75, 0.25, 0.875, 0.4140625, 0.6923828125, 0.0009765625)]
    [InlineData(1, 0.5, 0.25, 0.75, 0.875, 0.2578125, 0.9365234375, 0.7529296875)]
    [InlineData(2, 0.5, 0.25, 0.75, 0.125, 0.7734375, 0.1630859375, 0.6123046875)]
    [InlineData(3, 0.5, 0.25, 0.75, 0.375, 0.7265625, 0.2744140625, 0.1455078125)]
    [InlineData(39, 0.5, 0.25, 0.75, 0.375, 0.1328125, 0.3583984375, 0.6982421875)]
    [InlineData(63, 0.5, 0.75, 0.25, 0.625, 0.6484375, 0.4267578125, 0.0400390625)]
    [InlineData(64, 0.5, 0.75, 0.25, 0.875, 0.1953125, 0.9384765625, 0.0986328125)]
    [InlineData(127, 0.5, 0.25, 0.75, 0.125, 0.4609375, 0.1181640625, 0.7001953125)]
    [InlineData(255, 0.5, 0.75, 0.25, 0.875, 0.5703125, 0.6357421875, 0.8427734375)]
    public void Bits_AtTheGrayCodeOfAPoint_IsThePointOfTheReferenceLibrary(int dimension, params double[] coordinates)
    {
        ulong[] points = [1, 2, 3, 5, 100, 777, 1023];
        Assert.Equal(coordinates, points.Select(p => SobolSequence.Bits(dimension, p ^ (p >> 1)) / Math.ScaleB(1, 64)));
    }

    [Fact] // Property A of Sobol' is what the first direction numbers give: the first two dimensions are a (0,2)-sequence, every elementary box of area 2^-k has one of 2^k points
    public void Bits_OfTheFirstTwoDimensions_FillEveryElementaryBox()
    {
        const int k = 10;
        for (int first = 0; first <= k; first++)
        {
            var boxes = new HashSet<(ulong, ulong)>();
            for (ulong i = 0; i < 1 << k; i++)
            {
                // a shift by 64 would be a shift by 0
                ulong x = first == 0 ? 0 : SobolSequence.Bits(0, i) >> (64 - first);
                ulong y = first == k ? 0 : SobolSequence.Bits(1, i) >> (64 - (k - first));
                boxes.Add((x, y));
            }

            Assert.Equal(1 << k, boxes.Count);
        }
    }

    [Fact] // every pair of neighbouring dimensions is even over quarters: 2^14 points in 16 cells; random points would scatter by 31
    public void Bits_OfNeighbouringDimensions_FillTheirSquareEvenly()
    {
        for (int d = 0; d + 1 < SobolSequence.LargestDimension; d++)
        {
            int[] counts = new int[16];
            for (ulong i = 0; i < 1 << 14; i++)
            {
                counts[(SobolSequence.Bits(d, i) >> 62 << 2) | (SobolSequence.Bits(d + 1, i) >> 62)]++;
            }

            Assert.All(counts, c => Assert.Equal(1 << 10, c));
        }
    }

    [Fact]
    public void Bits_OutsideTheTable_AreRefused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => SobolSequence.Bits(SobolSequence.LargestDimension, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => SobolSequence.Bits(-1, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => SobolSequence.Bits(0, 1UL << SobolSequence.IndexBits));
    }
}
