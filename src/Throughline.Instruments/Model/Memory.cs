using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Settings memory as the file states it.</summary>
public sealed record MemorySection
{
    /// <summary>Bytes.</summary>
    public required Quantity Size { get; init; }

    /// <summary>Writes that each byte endures.</summary>
    public Quantity? Endurance { get; init; }

    /// <summary>Years of use, s.</summary>
    public Quantity? Life { get; init; }

    public bool IsBigEndian { get; init; }

    /// <summary>How many times a record is kept; a record may say otherwise.</summary>
    public int Copies { get; init; } = 2;

    /// <summary>What follows the bytes of a copy so that a wrong one is noticed.</summary>
    public Located<MemoryGuard>? Guard { get; init; }

    /// <summary>Whether the first byte of a copy says that it is being written.</summary>
    public bool IsMarked { get; init; } = true;

    public CopyOrder Order { get; init; }

    /// <summary>Where the file says <see cref="Order"/>, <see cref="IsMarked"/> and <see cref="Copies"/>; null when it does not.</summary>
    public SourceSpan? OrderPlace { get; init; }

    public SourceSpan? MarkPlace { get; init; }

    public SourceSpan? CopiesPlace { get; init; }

    /// <summary>In the order of the file.</summary>
    public ImmutableArray<MemoryRecord> Records { get; init; } = [];

    public SourceSpan Span { get; init; }

    public MemoryGuard GuardKind => Guard?.Value ?? MemoryGuard.Crc16;
}

/// <summary>Items that are stored together: a power cut leaves all of them old or all of them new.</summary>
public sealed record MemoryRecord
{
    public required Located<string> Name { get; init; }

    public ImmutableArray<MemoryItem> Items { get; init; } = [];

    public required WritingUse Written { get; init; }

    /// <summary>1 to 254: neither 0 nor 255 is a version, for never-written memory holds those; null when the file says none.</summary>
    public Located<int>? Version { get; init; }

    /// <summary>Null for as many as the memory says.</summary>
    public int? Copies { get; init; }

    /// <summary>Addresses of its copies; empty where they are to be placed.</summary>
    public ImmutableArray<Located<int>> Addresses { get; init; } = [];

    public ImmutableArray<OlderLayout> Older { get; init; } = [];

    public SourceSpan Span { get; init; }
}

/// <summary>How an earlier revision of the firmware kept a record.</summary>
public sealed record OlderLayout
{
    public required Located<int> Version { get; init; }

    public ImmutableArray<MemoryItem> Items { get; init; } = [];

    /// <summary>Null for the memory's.</summary>
    public MemoryGuard? Guard { get; init; }

    /// <summary>Addresses of its copies; empty where they begin with those of the record.</summary>
    public ImmutableArray<Located<int>> Addresses { get; init; } = [];

    public SourceSpan Span { get; init; }
}

/// <summary>One item of the settings memory.</summary>
public sealed record MemoryItem
{
    /// <summary>Its name, or the words of what it keeps.</summary>
    public required Located<string> Name { get; init; }

    /// <summary>What of the instrument it keeps; null for one that the file describes itself.</summary>
    public MemoryKeeps? Keeps { get; init; }

    /// <summary>The word it is stored as; null where what it keeps decides.</summary>
    public Located<MemoryKind>? Kind { get; init; }

    /// <summary>In the unit of <see cref="Step"/>; null where what it keeps decides, or 0.</summary>
    public Located<double>? Factory { get; init; }

    /// <summary>Accepted values in the unit of <see cref="Step"/>; null where what it keeps decides, or every value of the word.</summary>
    public QuantityRange? Accepted { get; init; }

    /// <summary>How the code asks whether a value is accepted.</summary>
    public AcceptanceTest Test { get; init; }

    public SourceSpan? TestPlace { get; init; }

    /// <summary>What one count is worth, in V, in the measurand's unit or as a share; null where what it keeps decides, or 1.</summary>
    public Quantity? Step { get; init; }

    public SourceSpan Span { get; init; }
}

/// <summary>The word an item is stored as.</summary>
public enum MemoryKind
{
    U8,
    I8,
    U16,
    I16,
    U32,
    I32,

    /// <summary>A number of IEEE 754 in 32 bits.</summary>
    F32,

    /// <summary>One byte; every value but 0 reads true.</summary>
    Bool,
}

/// <summary>What of the instrument an item keeps.</summary>
public enum MemoryKeeps
{
    /// <summary>The offset of the calibration.</summary>
    Zero,

    /// <summary>The gain of the calibration.</summary>
    Gain,

    FirstStandard,
    SecondStandard,
    ThirdStandard,
    FourthStandard,
    FifthStandard,

    /// <summary>Number of the panel's language, 0 for that of its screens.</summary>
    Language,

    /// <summary>Correction of the output's trim at the middle of its two currents.</summary>
    OutputTrimOffset,

    /// <summary>Gain of the output's trim.</summary>
    OutputTrimGain,
}

/// <summary>How a wrong copy is noticed.</summary>
public enum MemoryGuard
{
    None,

    /// <summary>The sum of all bytes, its lowest eight bits.</summary>
    Sum8,

    Crc8,
    Crc16,
    Crc32,
}

/// <summary>The order in which the copies of a record are written.</summary>
public enum CopyOrder
{
    /// <summary>A copy is whole before the next one is begun.</summary>
    OneAfterTheOther,

    /// <summary>Every byte goes into all copies before the next byte.</summary>
    SideBySide,
}

/// <summary>How the code asks whether a value is accepted. The two differ for what is not a number.</summary>
public enum AcceptanceTest
{
    /// <summary>Accepted when it lies inside of the range: what is not a number lies nowhere.</summary>
    AcceptedInside,

    /// <summary>Refused when it is below or above: what is not a number is neither.</summary>
    RefusedOutside,
}

/// <summary>What makes a record be written.</summary>
public enum WritingOccasion
{
    AtTheFactory,
    AtCalibration,
    AtEveryReading,
    Interval,
}

/// <summary>How often a record is written.</summary>
/// <param name="Seconds">Between two writes; 0 where the occasion decides.</param>
/// <param name="Text">As a person would say it.</param>
public sealed record WritingUse(WritingOccasion Occasion, double Seconds, string Text, SourceSpan Span);

/// <summary>The words of the file for the settings memory.</summary>
public static class MemoryWords
{
    public static ImmutableArray<(string Word, MemoryKeeps Keeps)> Keeps { get; } =
    [
        ("zero", MemoryKeeps.Zero), ("gain", MemoryKeeps.Gain), ("first standard", MemoryKeeps.FirstStandard), ("second standard", MemoryKeeps.SecondStandard),
        ("third standard", MemoryKeeps.ThirdStandard), ("fourth standard", MemoryKeeps.FourthStandard), ("fifth standard", MemoryKeeps.FifthStandard),
        ("language", MemoryKeeps.Language), ("output trim offset", MemoryKeeps.OutputTrimOffset), ("output trim gain", MemoryKeeps.OutputTrimGain),
    ];

    public static ImmutableArray<(string Word, MemoryKind Kind)> Kinds { get; } =
    [
        ("u8", MemoryKind.U8), ("i8", MemoryKind.I8), ("u16", MemoryKind.U16), ("i16", MemoryKind.I16), ("u32", MemoryKind.U32), ("i32", MemoryKind.I32),
        ("f32", MemoryKind.F32), ("bool", MemoryKind.Bool),
    ];

    public static ImmutableArray<(string Word, MemoryGuard Guard)> Guards { get; } =
        [("none", MemoryGuard.None), ("sum-8", MemoryGuard.Sum8), ("crc-8", MemoryGuard.Crc8), ("crc-16", MemoryGuard.Crc16), ("crc-32", MemoryGuard.Crc32)];

    public static ImmutableArray<(string Word, CopyOrder Order)> Orders { get; } =
        [("one after the other", CopyOrder.OneAfterTheOther), ("side by side", CopyOrder.SideBySide)];

    public static ImmutableArray<(string Word, AcceptanceTest Test)> Tests { get; } =
        [("accepted inside", AcceptanceTest.AcceptedInside), ("refused outside", AcceptanceTest.RefusedOutside)];

    public static ImmutableArray<(string Word, WritingOccasion Occasion)> Occasions { get; } =
        [("at the factory", WritingOccasion.AtTheFactory), ("at calibration", WritingOccasion.AtCalibration), ("at every reading", WritingOccasion.AtEveryReading)];

    public static string WordOf(MemoryGuard guard) => Guards[(int)guard].Word;

    public static string WordOf(MemoryKind kind) => Kinds[(int)kind].Word;

    public static string WordOf(MemoryKeeps keeps) => Keeps[(int)keeps].Word;

    /// <summary>The standard that it keeps, counted from 0; null when it keeps none.</summary>
    public static int? StandardOf(MemoryKeeps keeps) => keeps is >= MemoryKeeps.FirstStandard and <= MemoryKeeps.FifthStandard ? keeps - MemoryKeeps.FirstStandard : null;

    /// <summary>Whether it belongs to what a calibration leaves, or a trim of the output, which is as seldom.</summary>
    public static bool IsCalibration(MemoryKeeps keeps) => keeps != MemoryKeeps.Language;
}
