using System.Numerics;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace Throughline.Analysis;

/// <summary>
/// A sum of doubles without any rounding until it is read: the order of the terms, their sharing over threads and the order of merging can't show. Constant
/// memory of about half a kilobyte. One thread per instance.
/// </summary>
/// <remarks>
/// The small superaccumulator of Neal, Fast exact summation using small and large superaccumulators, arXiv:1505.05571 (2015): a fixed-point number that spans all
/// doubles, in limbs of 32 bits held in 64, so that carries are settled only once in a thousand additions. Adding costs about as much as three dependent
/// floating-point additions. Rejected: compensated sums, which are accurate but depend on the order; sums by fixed chunks of unit numbers, which
/// allow no shard to begin inside a chunk.
/// </remarks>
public sealed class ExactSum
{
    // Bit 0 of limb 0 is worth 2^-1074. The largest double needs limbs up to 65; two more hold the carries of 2^63 terms.
    private const int LimbCount = 68;
    private const int AddsBetweenCarries = 1000; // below 2^10: a term puts at most 2^52 into a limb

    private readonly long[] _limbs = new long[LimbCount];
    private int _pending;

    /// <summary>Adds a finite number.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Infinite or NaN.</exception>
    public void Add(double term)
    {
        if (_pending == AddsBetweenCarries)
        {
            Settle();
        }

        _pending++;
        long bits = BitConverter.DoubleToInt64Bits(term);
        int exponent = (int)(bits >> 52) & 0x7FF;
        ulong mantissa = (ulong)bits & 0x000FFFFFFFFFFFFF;
        if (exponent == 0)
        {
            exponent = 1;
        }
        else if (exponent != 0x7FF)
        {
            mantissa |= 1UL << 52;
        }
        else
        {
            throw new ArgumentOutOfRangeException(nameof(term), term, "Only finite numbers have a sum.");
        }

        int position = exponent - 1, shift = position & 31;
        long sign = bits >> 63; // 0 or −1: (x ^ sign) − sign negates
        long low = (long)((mantissa << shift) & 0xFFFFFFFF), high = (long)(mantissa >> (32 - shift));
        Span<long> pair = _limbs.AsSpan(position >> 5, 2);
        pair[0] += (low ^ sign) - sign;
        pair[1] += (high ^ sign) - sign;
    }

    /// <summary>Adds finite numbers: the same sum as adding each, several times faster where their sizes are alike.</summary>
    /// <exception cref="ArgumentOutOfRangeException">One is infinite or NaN.</exception>
    public void Add(ReadOnlySpan<double> terms)
    {
        while (terms.Length >= 16)
        {
            ReadOnlySpan<double> block = terms[..Math.Min(terms.Length & ~7, 256)];
            if (!TryAddBlock(block))
            {
                AddEach(block);
            }

            terms = terms[block.Length..];
        }

        AddEach(terms);
    }

    /// <summary>Adds what another sum holds, which stays as it is.</summary>
    public void Add(ExactSum other)
    {
        other.Settle();
        Settle();
        for (int i = 0; i < LimbCount; i++)
        {
            _limbs[i] += other._limbs[i];
        }

        _pending = 1;
        Settle();
    }

    /// <summary>The sum rounded to the nearest double, ties to even; ±∞ when it is beyond the largest.</summary>
    public double Round()
    {
        Settle();
        Span<long> limbs = stackalloc long[LimbCount];
        _limbs.CopyTo(limbs);
        bool negative = limbs[^1] < 0;
        if (negative)
        {
            long borrow = 0;
            foreach (ref long limb in limbs)
            {
                long value = borrow - limb;
                borrow = value >> 32;
                limb = value & 0xFFFFFFFF;
            }
        }

        int top = LimbCount - 1;
        while (top >= 0 && limbs[top] == 0)
        {
            top--;
        }

        if (top < 0)
        {
            return 0;
        }

        int highest = 32 * top + BitOperations.Log2((ulong)limbs[top]);
        int shift = Math.Max(highest - 52, 0);
        ulong mantissa = 0;
        for (int i = 0; i < 3 && (shift >> 5) + i < LimbCount; i++)
        {
            int move = 32 * i - (shift & 31);
            ulong limb = (ulong)limbs[(shift >> 5) + i];
            mantissa |= move < 0 ? limb >> -move : move < 64 ? limb << move : 0;
        }

        // A mantissa below 2^52 is subnormal and its own bits; else its leading one is hidden by adding to the exponent.
        ulong bits = ((ulong)shift << 52) + mantissa;
        if (shift > 0 && Bit(limbs, shift - 1) && ((mantissa & 1) == 1 || AnyBelow(limbs, shift - 1)))
        {
            bits++; // a carry out of the mantissa raises the exponent, which is right
        }

        if (bits >= 0x7FF0000000000000)
        {
            bits = 0x7FF0000000000000;
        }

        double magnitude = BitConverter.UInt64BitsToDouble(bits);
        return negative ? -magnitude : magnitude;
    }

    /// <summary>The sum as two doubles: the rounded sum and the rounded rest. Together about 106 bits.</summary>
    public (double High, double Low) RoundTwice()
    {
        double high = Round();
        if (!double.IsFinite(high))
        {
            return (high, 0);
        }

        var rest = new ExactSum();
        rest.Add(this);
        rest.Add(-high);
        return (high, rest.Round());
    }

    /// <summary>Writes the sum; equal sums write equal bytes.</summary>
    public void Write(BinaryWriter writer)
    {
        Settle();
        foreach (long limb in _limbs)
        {
            writer.Write(limb);
        }
    }

    /// <summary>Reads what <see cref="Write"/> wrote.</summary>
    /// <exception cref="InvalidDataException">Not such a sum.</exception>
    public static ExactSum Read(BinaryReader reader)
    {
        var sum = new ExactSum();
        for (int i = 0; i < LimbCount; i++)
        {
            sum._limbs[i] = reader.ReadInt64();
            if (i < LimbCount - 1 && (ulong)sum._limbs[i] >> 32 != 0)
            {
                throw new InvalidDataException("An exact sum has a limb outside 32 bits.");
            }
        }

        return sum;
    }

    private void AddEach(ReadOnlySpan<double> terms)
    {
        foreach (double term in terms)
        {
            Add(term);
        }
    }

    // Splits each term on two grids 42 bits apart, so coarse that up to 256 pieces add up in doubles without rounding; a third piece, of a term 2^33 times smaller
    // than the largest, is left to the caller. The pieces are exact, so nothing shows which way a term went.
    private bool TryAddBlock(ReadOnlySpan<double> block)
    {
        ReadOnlySpan<Vector512<double>> terms = MemoryMarshal.Cast<double, Vector512<double>>(block);
        Vector512<ulong> largest = Vector512<ulong>.Zero;
        foreach (Vector512<double> term in terms)
        {
            largest = Vector512.Max(largest, Vector512.Abs(term).AsUInt64());
        }

        ulong top = 0;
        for (int lane = 0; lane < 8; lane++)
        {
            top = Math.Max(top, largest[lane]);
        }

        int exponent = (int)(top >> 52) + 1; // biased; every term is below 2^(exponent − 1023). Zeros, the very small and large, ∞ and NaN go the long way
        if (exponent is < 200 or > 1900)
        {
            return false;
        }

        // Adding and taking away 1.5 × 2^52 grid steps rounds to the grid.
        Vector512<double> coarse = Vector512.Create(1.5 * BitConverter.UInt64BitsToDouble((ulong)(exponent + 10) << 52));
        Vector512<double> fine = Vector512.Create(1.5 * BitConverter.UInt64BitsToDouble((ulong)(exponent - 33) << 52));
        Vector512<double> sumCoarse = Vector512<double>.Zero, sumFine = Vector512<double>.Zero, left = Vector512<double>.Zero;
        foreach (Vector512<double> term in terms)
        {
            Vector512<double> high = term + coarse - coarse;
            Vector512<double> rest = term - high;
            Vector512<double> low = rest + fine - fine;
            sumCoarse += high;
            sumFine += low;
            left |= Vector512.Abs(rest - low);
        }

        if (left.AsUInt64() != Vector512<ulong>.Zero)
        {
            return false;
        }

        Add(Vector512.Sum(sumCoarse));
        Add(Vector512.Sum(sumFine));
        return true;
    }

    private static bool Bit(ReadOnlySpan<long> limbs, int position) => ((limbs[position >> 5] >> (position & 31)) & 1) == 1;

    private static bool AnyBelow(ReadOnlySpan<long> limbs, int position)
    {
        for (int i = 0; i < position >> 5; i++)
        {
            if (limbs[i] != 0)
            {
                return true;
            }
        }

        return (limbs[position >> 5] & ((1L << (position & 31)) - 1)) != 0;
    }

    // Brings every limb but the last to 0 … 2^32 − 1: one form for each value.
    private void Settle()
    {
        if (_pending == 0)
        {
            return;
        }

        long carry = 0;
        for (int i = 0; i < LimbCount - 1; i++)
        {
            long value = _limbs[i] + carry;
            carry = value >> 32;
            _limbs[i] = value & 0xFFFFFFFF;
        }

        _limbs[^1] += carry;
        _pending = 0;
    }
}
