namespace Throughline.Firmware;

/// <summary>Numbers to try things with: the same ones every time. A linear congruential generator with D. E. Knuth's constants for MMIX, from memory; its upper bits are the random ones.</summary>
/// <param name="seed">Another one, another sequence.</param>
internal sealed class RepeatedNumbers(ulong seed)
{
    /// <summary>The last 64 bits again.</summary>
    public ulong Last { get; private set; } = seed;

    /// <summary>The next 64 bits.</summary>
    public ulong Next() => Last = (Last * 6364136223846793005UL) + 1442695040888963407UL;

    /// <summary>A number of a range, its ends among them, by the upper 32 bits.</summary>
    public long Between(Int128 low, Int128 high) => (long)(low + (Int128)((UInt128)(Next() >> 32) * (UInt128)(high - low + 1) >> 32));
}
