using System.Numerics;
using System.Runtime.Intrinsics;

namespace Throughline.Circuits;

/// <summary>
/// The Sobol' sequence in up to 256 dimensions: points that fill the unit cube more evenly than random ones, in natural order, each a pure function of its index.
/// Safe on any thread; allocates nothing.
/// </summary>
/// <remarks>
/// Bratley, Fox, Algorithm 659, ACM Trans. Math. Softw. 14 (1988) 88, with the primitive polynomials and initial direction numbers of Joe, Kuo, SIAM J. Sci.
/// Comput. 30 (2008) 2635 (their table new-joe-kuo-6.21201, BSD licence). Natural rather than Gray-code order, so that any block of 2^k consecutive
/// points that begins at a multiple of 2^k is evenly spread. A shift is added digit by digit (exclusive or), which keeps this property.
/// </remarks>
public static partial class SobolSequence
{
    /// <summary>Dimensions that the table of direction numbers holds.</summary>
    public const int LargestDimension = 256;

    /// <summary>Bits of an index, and of a coordinate: as many as <see cref="UnitInterval"/> uses.</summary>
    public const int IndexBits = 52;

    // Direction number k of dimension d at [d·52 + k], the binary point before the highest of 64 bits.
    private static readonly ulong[] Directions = MakeDirections();

    /// <summary>The coordinate of a point as a binary fraction, without shift.</summary>
    /// <param name="dimension">0 to 255.</param>
    /// <param name="index">Number of the point, below 2⁵²; point 0 is the origin.</param>
    /// <exception cref="ArgumentOutOfRangeException">Outside these ranges.</exception>
    public static ulong Bits(int dimension, ulong index)
    {
        ReadOnlySpan<ulong> v = Column(dimension);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(index, 1UL << IndexBits);
        ulong x = 0;
        for (; index != 0; index &= index - 1)
        {
            x ^= v[BitOperations.TrailingZeroCount(index)];
        }

        return x;
    }

    /// <summary>A coordinate of consecutive points as numbers of (0, 1).</summary>
    /// <param name="shift">Random bits that are added to every point digit by digit; 0 for none.</param>
    /// <param name="numbers">Overwritten; any length.</param>
    public static void Fill(int dimension, ulong firstIndex, ulong shift, Span<double> numbers)
    {
        ReadOnlySpan<ulong> v = Column(dimension);
        int i = 0;
        for (; i < numbers.Length && ((firstIndex + (ulong)i) & 7) != 0; i++)
        {
            numbers[i] = UnitInterval.From(Bits(dimension, firstIndex + (ulong)i) ^ shift);
        }

        // From a multiple of eight on, the last three digits of the index run through the same eight patterns.
        if (numbers.Length - i >= 8)
        {
            Vector512<ulong> eight = Vector512.Create(0, v[0], v[1], v[0] ^ v[1], v[2], v[2] ^ v[0], v[2] ^ v[1], v[2] ^ v[1] ^ v[0]);
            ulong index = firstIndex + (ulong)i;
            ulong x = Bits(dimension, index) ^ shift;
            for (; numbers.Length - i >= 8; i += 8, index += 8)
            {
                UnitInterval.From(Vector512.Create(x) ^ eight).CopyTo(numbers[i..]);
                // The carry into the next eight flips one digit up and all digits below it down.
                int flipped = Math.Min(BitOperations.TrailingZeroCount((index >> 3) + 1) + 3, IndexBits - 1);
                for (int k = 3; k <= flipped; k++)
                {
                    x ^= v[k];
                }
            }
        }

        for (; i < numbers.Length; i++)
        {
            numbers[i] = UnitInterval.From(Bits(dimension, firstIndex + (ulong)i) ^ shift);
        }
    }

    private static ReadOnlySpan<ulong> Column(int dimension)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(dimension);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(dimension, LargestDimension);
        return Directions.AsSpan(dimension * IndexBits, IndexBits);
    }

    private static ulong[] MakeDirections()
    {
        ulong[] directions = new ulong[LargestDimension * IndexBits];
        for (int k = 0; k < IndexBits; k++)
        {
            directions[k] = 1UL << (63 - k); // the first dimension is van der Corput's sequence
        }

        int at = 0;
        for (int d = 1; d < LargestDimension; d++)
        {
            Span<ulong> v = directions.AsSpan(d * IndexBits, IndexBits);
            uint polynomial = Table[at++]; // bit i is the coefficient of x^i
            int degree = BitOperations.Log2(polynomial);
            for (int k = 0; k < IndexBits; k++)
            {
                if (k < degree)
                {
                    v[k] = (ulong)Table[at++] << (63 - k);
                    continue;
                }

                ulong value = v[k - degree] ^ (v[k - degree] >> degree);
                for (int j = 1; j < degree; j++)
                {
                    value ^= ((polynomial >> (degree - j)) & 1) == 1 ? v[k - j] : 0;
                }

                v[k] = value;
            }
        }

        return directions;
    }
}
