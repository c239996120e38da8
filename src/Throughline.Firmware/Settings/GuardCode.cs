using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// A guard over some bytes, computed four bits at a time: a table of sixteen entries is small enough for any processor, and the C does the same.
/// </summary>
/// <remarks>
/// The cyclic redundancy checks are those catalogued as CRC-8/SMBUS (System Management Bus specification), CRC-16/IBM-3740 and CRC-32/ISO-HDLC (ISO/IEC 13239, IEEE 802.3);
/// over the nine characters 123456789 they give F4, 29B1 and CBF43926.
/// </remarks>
public sealed class GuardCode
{
    private static readonly ImmutableArray<GuardCode> All =
    [
        new(MemoryGuard.None, 0, 0, 0, 0, isReflected: false), new(MemoryGuard.Sum8, 8, 0, 0, 0, isReflected: false),
        new(MemoryGuard.Crc8, 8, 0x07, 0, 0, isReflected: false), new(MemoryGuard.Crc16, 16, 0x1021, 0xFFFF, 0, isReflected: false),
        new(MemoryGuard.Crc32, 32, 0xEDB88320, 0xFFFFFFFF, 0xFFFFFFFF, isReflected: true),
    ];

    private readonly bool _isReflected;
    private readonly uint _mask;

    private GuardCode(MemoryGuard kind, int bits, uint polynomial, uint initial, uint final, bool isReflected)
    {
        (Kind, Bits, Initial, Final, _isReflected) = (kind, bits, initial, final, isReflected);
        _mask = bits == 0 ? 0 : uint.MaxValue >> (32 - bits);
        Table = kind is MemoryGuard.None or MemoryGuard.Sum8 ? [] : [.. Enumerable.Range(0, 16).Select(i => Entry((uint)i, polynomial))];
    }

    public MemoryGuard Kind { get; }

    /// <summary>0 for none.</summary>
    public int Bits { get; }

    public int Bytes => Bits / 8;

    public uint Initial { get; }

    /// <summary>What the result is changed by, bit for bit.</summary>
    public uint Final { get; }

    /// <summary>Sixteen entries; empty for a sum.</summary>
    public ImmutableArray<uint> Table { get; }

    public static GuardCode Of(MemoryGuard kind) => All[(int)kind];

    /// <summary>One byte more.</summary>
    public uint Add(uint state, byte value)
    {
        if (Kind == MemoryGuard.Sum8)
        {
            return (state + value) & _mask;
        }

        if (Bits == 0)
        {
            return 0;
        }

        if (_isReflected)
        {
            state ^= value;
            state = Table[(int)(state & 15)] ^ (state >> 4);
            return Table[(int)(state & 15)] ^ (state >> 4);
        }

        int top = Bits - 4;
        state = ((state << 4) ^ Table[(int)((state >> top) ^ (uint)(value >> 4))]) & _mask;
        return ((state << 4) ^ Table[(int)((state >> top) ^ (uint)(value & 15))]) & _mask;
    }

    /// <summary>The guard of some bytes; 0 for none of either.</summary>
    public uint Compute(ReadOnlySpan<byte> bytes)
    {
        uint state = Initial;
        foreach (byte b in bytes)
        {
            state = Add(state, b);
        }

        return state ^ Final;
    }

    private uint Entry(uint index, uint polynomial)
    {
        uint state = _isReflected ? index : index << (Bits - 4);
        for (int i = 0; i < 4; i++)
        {
            bool carries = _isReflected ? (state & 1) != 0 : (state & (1u << (Bits - 1))) != 0;
            state = _isReflected ? state >> 1 : state << 1;
            state = (carries ? state ^ polynomial : state) & _mask;
        }

        return state;
    }
}
