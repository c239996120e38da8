using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>The words of the file for what a panel shows and does, and the characters that displays have.</summary>
public static class PanelWords
{
    public static ImmutableArray<(string Word, PanelSource Source)> Sources { get; } =
    [
        ("measurand", PanelSource.Measurand), ("temperature", PanelSource.Temperature), (OutputSignal.Current.ShownWord, PanelSource.LoopCurrent), ("signal", PanelSource.Signal),
        ("first standard", PanelSource.FirstStandard), ("second standard", PanelSource.SecondStandard), ("third standard", PanelSource.ThirdStandard),
        ("fourth standard", PanelSource.FourthStandard), ("fifth standard", PanelSource.FifthStandard), (OutputSignal.Current.TestWord, PanelSource.TestCurrent),
        ("slope", PanelSource.Slope), ("zero", PanelSource.Zero), ("seconds left", PanelSource.SecondsLeft), ("seconds steady", PanelSource.SecondsSteady),
        ("output trim low", PanelSource.OutputTrimLow), ("output trim high", PanelSource.OutputTrimHigh),
    ];

    /// <summary>Words for what is put out, and for what the output test puts out, that name a source besides those of <see cref="Sources"/>: those of a voltage.</summary>
    public static ImmutableArray<(string Word, PanelSource Source)> VoltageSources { get; } =
        [(OutputSignal.Voltage.ShownWord, PanelSource.LoopCurrent), (OutputSignal.Voltage.TestWord, PanelSource.TestCurrent)];

    public static ImmutableArray<(string Word, PanelFailureKind Kind)> Failures { get; } =
    [
        ("sensor broken", PanelFailureKind.SensorBroken), ("memory corrupt", PanelFailureKind.MemoryCorrupt), ("out of range", PanelFailureKind.OutOfRange),
    ];

    public static ImmutableArray<(string Word, PanelActionKind Kind)> Actions { get; } =
    [
        ("up", PanelActionKind.Up), ("down", PanelActionKind.Down), ("take", PanelActionKind.Take), ("restore", PanelActionKind.Restore),
        ("next language", PanelActionKind.Language),
    ];

    public static ImmutableArray<(string Word, PanelLoop Loop)> Loops { get; } = [("follows", PanelLoop.Follows), ("held", PanelLoop.Held), ("test", PanelLoop.Test), ("trim", PanelLoop.Trim)];

    public static ImmutableArray<(string Word, CharacterSet Set)> CharacterSets { get; } =
        [("ascii", CharacterSet.Ascii), ("japanese", CharacterSet.Japanese), ("european", CharacterSet.European)];

    /// <summary>The word of a source, such as <c>loop current</c>.</summary>
    public static string WordOf(PanelSource source) => Sources[(int)source].Word;

    /// <summary>The word of a source in an instrument with such an output; that of one with a current where there is none.</summary>
    public static string WordOf(PanelSource source, OutputSignal? signal) =>
        signal is { IsVoltage: true } && VoltageSources.FirstOrDefault(s => s.Source == source) is { Word: { } word } ? word : WordOf(source);

    public static string WordOf(PanelFailureKind kind) => Failures[(int)kind].Word;

    public static string WordOf(CharacterSet set) => CharacterSets[(int)set].Word;

    /// <summary>The standard that a source is, counted from 0; null when it is none.</summary>
    public static int? StandardOf(PanelSource source) =>
        source is >= PanelSource.FirstStandard and <= PanelSource.FifthStandard ? source - PanelSource.FirstStandard : null;

    /// <summary>Whether a value of it can be entered.</summary>
    public static bool IsEntered(PanelSource source) => IsCurrent(source) || StandardOf(source) is not null;

    /// <summary>Whether it is a current that is entered.</summary>
    public static bool IsCurrent(PanelSource source) => source == PanelSource.TestCurrent || TrimOf(source) is not null;

    /// <summary>The current of the output's trim that a source is, 0 for the lower one; null when it is none.</summary>
    public static int? TrimOf(PanelSource source) => source switch { PanelSource.OutputTrimLow => 0, PanelSource.OutputTrimHigh => 1, _ => null };

    /// <summary>Whether a display with the set shows the character.</summary>
    /// <remarks>The two usual character memories of dot-matrix displays, from memory of their tables: the Japanese one has yen and arrows in the places of backslash and
    /// tilde, and of our letters only those named here; the European one has the letters of ISO/IEC 8859-1.</remarks>
    public static bool Has(this CharacterSet set, char c) => set switch
    {
        CharacterSet.Ascii => c is >= ' ' and <= '~',
        CharacterSet.Japanese => c is (>= ' ' and <= '}') and not '\\' || JapaneseExtras.Contains(c),
        _ => c is >= ' ' and <= '~' || c is >= 'À' and <= 'ÿ' || EuropeanExtras.Contains(c),
    };

    private const string JapaneseExtras = "°äöüßñµμεσρθπΣΩΩ∞√÷×¥→←¢£";

    private const string EuropeanExtras = "°µμ±²³¹¼½¾¡¿£¥§©ª«»®¶·º";
}
