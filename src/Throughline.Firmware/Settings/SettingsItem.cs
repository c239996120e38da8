using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>One item of the settings as the code has it: a whole number of steps, or the bits of a number of IEEE 754.</summary>
public sealed record SettingsItem
{
    public required MemoryItem Source { get; init; }

    /// <summary>Its name in C.</summary>
    public required string CodeName { get; init; }

    public required Word Word { get; init; }

    public bool IsFloat { get; init; }

    public bool IsFlag { get; init; }

    /// <summary>Place in a copy, counted from the copy's first byte.</summary>
    public int Offset { get; init; }

    /// <summary>As stored.</summary>
    public required long Factory { get; init; }

    /// <summary>Least and greatest accepted value as stored; for a float as <see cref="Rank"/> orders them.</summary>
    public required long Low { get; init; }

    public required long High { get; init; }

    /// <summary>What one count is worth, in <see cref="Unit"/>.</summary>
    public double Step { get; init; } = 1;

    public string Unit { get; init; } = "";

    /// <summary>What it is, for the reader of the code.</summary>
    public string Remark { get; init; } = "";

    /// <summary>Why the instrument cannot keep it so; null when it can.</summary>
    public string? Trouble { get; init; }

    public string Name => Source.Name.Value;

    public int Bytes => Word.Bits / 8;

    /// <summary>Whether a value is let through by the item's test.</summary>
    public bool Accepts(long value)
    {
        if (!IsFloat)
        {
            return value >= Low && value <= High;
        }

        long rank = Rank((uint)value);
        return (rank >= Low && rank <= High) || (Source.Test == AcceptanceTest.RefusedOutside && IsNotANumber(value));
    }

    public static bool IsNotANumber(long bits) => ((uint)bits & 0x7FFFFFFF) > 0x7F800000;

    /// <summary>Puts the bits of numbers into the numbers' order; what is not a number comes below or above all others.</summary>
    public static long Rank(uint bits) => (bits & 0x80000000) != 0 ? ~bits : bits | 0x80000000;

    /// <summary>A stored value as a person reads it.</summary>
    public double ValueOf(long stored) => (IsFloat ? BitConverter.UInt32BitsToSingle((uint)stored) : stored) * Step;
}
