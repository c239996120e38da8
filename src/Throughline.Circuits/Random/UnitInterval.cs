using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace Throughline.Circuits;

/// <summary>
/// Turns 64 random bits into a number of the open interval (0, 1): one of the 2⁵² odd multiples of 2⁻⁵³, all equally likely. 0, ½ and 1 never come, and 1 − u is
/// exact and as likely as u, so that a quantile function is finite everywhere and its draws symmetric.
/// </summary>
public static class UnitInterval
{
    private const ulong One = 0x3FF0000000000000;
    private const double JustBelowOne = 1 - 1.0 / (1L << 53);

    /// <summary>Smallest and largest number that comes: 2⁻⁵³ and 1 − 2⁻⁵³.</summary>
    public const double Smallest = 1 - JustBelowOne;

    public const double Largest = JustBelowOne;

    /// <summary>The number of one draw: the upper 52 bits decide.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    public static double From(ulong bits) => BitConverter.UInt64BitsToDouble((bits >> 12) | One) - JustBelowOne; // 1 + k·2⁻⁵² less 1 − 2⁻⁵³: exact

    /// <summary>Turns bits into numbers, eight at a time.</summary>
    /// <param name="numbers">As long as <paramref name="bits"/>; may be the same memory.</param>
    /// <exception cref="ArgumentException"><paramref name="numbers"/> is shorter than <paramref name="bits"/>.</exception>
    public static void From(ReadOnlySpan<ulong> bits, Span<double> numbers)
    {
        numbers = numbers[..bits.Length];
        int i = 0;
        for (; bits.Length - i >= 8; i += 8)
        {
            From(Vector512.Create(bits.Slice(i, 8))).CopyTo(numbers[i..]);
        }

        for (; i < bits.Length; i++)
        {
            numbers[i] = From(bits[i]);
        }
    }

    internal static Vector512<double> From(Vector512<ulong> bits) =>
        ((bits >>> 12) | Vector512.Create(One)).AsDouble() - Vector512.Create(JustBelowOne);

    /// <summary>The memory of numbers seen as bits, to draw in place.</summary>
    internal static Span<ulong> AsBits(Span<double> numbers) => MemoryMarshal.Cast<double, ulong>(numbers);
}
