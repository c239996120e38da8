namespace Throughline.Firmware;

/// <summary>A word of a processor. Words without a sign are used where nothing can be negative.</summary>
/// <param name="Bits">8, 16, 32 or 64.</param>
public readonly record struct Word(int Bits, bool IsSigned)
{
    public Int128 Least => IsSigned ? -(Int128.One << (Bits - 1)) : 0;

    public Int128 Greatest => (Int128.One << (IsSigned ? Bits - 1 : Bits)) - 1;

    /// <summary>The C99 type.</summary>
    public string CType => FormattableString.Invariant($"{(IsSigned ? "" : "u")}int{Bits}_t");

    public bool Holds(Int128 low, Int128 high) => low >= Least && high <= Greatest;

    /// <summary>What is left of a number in this word: its lowest bits.</summary>
    public Int128 Wrap(Int128 value)
    {
        Int128 rest = value & ((Int128.One << Bits) - 1);
        return IsSigned && rest > Greatest ? rest - (Int128.One << Bits) : rest;
    }

    /// <summary>Bits that a word takes to hold a range, the sign's among them.</summary>
    public static int BitsFor(Int128 low, Int128 high)
    {
        int bits = 1;
        while (!(low < 0 ? low >= -(Int128.One << (bits - 1)) && high < Int128.One << (bits - 1) : high < Int128.One << bits))
        {
            bits++;
        }

        return bits;
    }

    /// <summary>The narrowest word for a range, no wider than allowed: then the range does not fit.</summary>
    public static Word For(Int128 low, Int128 high, int most)
    {
        int bits = BitsFor(low, high);
        return new Word(Math.Min(most, bits <= 8 ? 8 : bits <= 16 ? 16 : bits <= 32 ? 32 : 64), low < 0);
    }
}
