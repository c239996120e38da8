using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Display and keys as the file states them.</summary>
public sealed record PanelSection
{
    /// <summary>Characters in a row.</summary>
    public required int Columns { get; init; }

    public required int Rows { get; init; }

    /// <summary>Number of keys, spread evenly below the display.</summary>
    public required int Keys { get; init; }

    /// <summary>What the display can show.</summary>
    public CharacterSet Characters { get; init; } = CharacterSet.Japanese;

    /// <summary>The screen that shows the reading and that the panel begins with: named in the file, or the first; null without screens.</summary>
    public Located<string>? Measuring { get; init; }

    /// <summary>Which screen stands in for the measuring one while something has failed, the gravest first.</summary>
    public ImmutableArray<PanelFailure> Failures { get; init; } = [];

    /// <summary>How values are entered where the file says it.</summary>
    public ImmutableArray<PanelEntry> Entries { get; init; } = [];

    public ImmutableArray<PanelScreen> Screens { get; init; } = [];

    public SourceSpan Span { get; init; }

    /// <summary>Whether the file says what the screens do, and not only what they show.</summary>
    public bool IsDescribed => Screens.Any(s => s.IsDescribed);

    /// <summary>Languages beside the one that the screens are written in, in the order in which the file mentions them.</summary>
    public IEnumerable<string> OtherLanguages => Screens.SelectMany(s => s.Translations).Select(t => t.Language.Value).Distinct();
}

/// <summary>One screen.</summary>
public sealed record PanelScreen
{
    public required Located<string> Name { get; init; }

    /// <summary>As written, from the top; <c>#</c> stands for a digit, a group of them for a value.</summary>
    public required ImmutableArray<Located<string>> Lines { get; init; }

    /// <summary>Whether the file says what it does; false for a bare list of lines.</summary>
    public bool IsDescribed { get; init; }

    /// <summary>What each group of <c>#</c> shows, in the order of reading.</summary>
    public ImmutableArray<Located<PanelSource>> Shows { get; init; } = [];

    public ImmutableArray<PanelKey> Keys { get; init; } = [];

    /// <summary>Where the screen goes by itself when no key is pressed; null when it stays.</summary>
    public PanelTimeout? After { get; init; }

    /// <summary>What happens when the reading has become steady; null for nothing.</summary>
    public PanelAction? OnSteady { get; init; }

    /// <summary>The screen after a reading was taken and more are to come; null stays.</summary>
    public Located<string>? OnTaken { get; init; }

    /// <summary>The screen after the calibration was accepted; null is the measuring one.</summary>
    public Located<string>? OnAccepted { get; init; }

    /// <summary>The screen after it was refused; null is the measuring one.</summary>
    public Located<string>? OnRefused { get; init; }

    /// <summary>The standard, counted from 0, in which the user calibrates here; null when the screen is no step of the calibration.</summary>
    public Located<int>? Calibrates { get; init; }

    /// <summary>The value that the keys for up and down change here.</summary>
    public Located<PanelSource>? Enters { get; init; }

    /// <summary>The current of the output's trim, 0 for the lower one, that is given and entered here; null when the screen is no step of the trim.</summary>
    public int? Trims => Enters is { } enters ? PanelWords.TrimOf(enters.Value) : null;

    public PanelLoop Loop { get; init; }

    public ImmutableArray<PanelTranslation> Translations { get; init; } = [];

    public SourceSpan Span { get; init; }
}

/// <summary>What the loop does while a screen is shown.</summary>
public enum PanelLoop
{
    /// <summary>Follows the measurand.</summary>
    Follows,

    /// <summary>Keeps its last current.</summary>
    Held,

    /// <summary>Gives the current that the user enters.</summary>
    Test,

    /// <summary>Gives a current of the output's trim, untrimmed.</summary>
    Trim,
}

/// <summary>A screen in another language.</summary>
/// <param name="Lines">As many as the screen has.</param>
/// <param name="Labels">Labels of its keys in the order of the screen's own; empty when they are the same.</param>
/// <param name="Shows">What the groups of <c>#</c> show where the order is another; empty when it is the same.</param>
public sealed record PanelTranslation(
    Located<string> Language, ImmutableArray<Located<string>> Lines, ImmutableArray<Located<string>> Labels, ImmutableArray<Located<PanelSource>> Shows, SourceSpan Span);

/// <summary>A key on one screen.</summary>
/// <param name="Number">From 0 at the left; null where the place of its label says it.</param>
/// <param name="Label">Its label in the display's last row.</param>
public sealed record PanelKey(int? Number, Located<string> Label, PanelAction Action);

/// <summary>What a key or an event does.</summary>
public enum PanelActionKind
{
    /// <summary>Shows another screen.</summary>
    Go,

    /// <summary>Raises the value that the screen enters.</summary>
    Up,

    Down,

    /// <summary>Takes the reading of the standard, once it is steady, or what is entered for a current of the trim; with the last one the calibration or the trim is judged.</summary>
    Take,

    /// <summary>Puts the settings memory back to factory values.</summary>
    Restore,

    /// <summary>The next language.</summary>
    Language,
}

/// <summary>An action as written.</summary>
/// <param name="Text">The screen's name for <see cref="PanelActionKind.Go"/>, else the word.</param>
public sealed record PanelAction(PanelActionKind Kind, Located<string> Text);

/// <summary>A screen that leaves by itself.</summary>
/// <param name="Time">Since the last key or since the screen came, s.</param>
public sealed record PanelTimeout(Quantity Time, Located<string> Screen);

/// <summary>What may fail while the instrument runs.</summary>
public enum PanelFailureKind
{
    /// <summary>The reading is not plausible: outside of the plausible range, or at an end of the converter.</summary>
    SensorBroken,

    /// <summary>The settings and their copy are not what was written.</summary>
    MemoryCorrupt,

    /// <summary>The reading is plausible and outside of the measuring range.</summary>
    OutOfRange,
}

/// <summary>A failure and its screen.</summary>
public sealed record PanelFailure(PanelFailureKind Kind, Located<string> Screen);

/// <summary>How a value is entered.</summary>
/// <param name="Source">A standard, or the current of the output test.</param>
/// <param name="Range">In the specification's unit, or A.</param>
/// <param name="Step">One press of a key, in the same unit.</param>
public sealed record PanelEntry(Located<PanelSource> Source, QuantityRange Range, Quantity Step);

/// <summary>What a field of a screen shows.</summary>
public enum PanelSource
{
    /// <summary>The reading, in the specification's unit.</summary>
    Measurand,

    /// <summary>The process temperature that the arithmetic uses, °C.</summary>
    Temperature,

    /// <summary>mA.</summary>
    LoopCurrent,

    /// <summary>The sensor's signal as read, mV, Ω, mV/V or mA.</summary>
    Signal,

    /// <summary>Values of the standards as entered, in the specification's unit.</summary>
    FirstStandard,
    SecondStandard,
    ThirdStandard,
    FourthStandard,
    FifthStandard,

    /// <summary>The current of the output test as entered, mA.</summary>
    TestCurrent,

    /// <summary>Slope of the last calibration, %.</summary>
    Slope,

    /// <summary>Zero of the last calibration, mV or the specification's unit.</summary>
    Zero,

    /// <summary>Until the screen leaves by itself, s.</summary>
    SecondsLeft,

    /// <summary>Since the reading has been steady, s.</summary>
    SecondsSteady,

    /// <summary>What the meter in the loop shows at the lower current of the output's trim, as entered, mA.</summary>
    OutputTrimLow,

    /// <summary>The same at the higher one.</summary>
    OutputTrimHigh,
}

/// <summary>The characters of a display's memory of shapes.</summary>
public enum CharacterSet
{
    /// <summary>Space to tilde.</summary>
    Ascii,

    /// <summary>The usual one, with kana in its upper half.</summary>
    Japanese,

    /// <summary>Letters of western Europe in its upper half.</summary>
    European,
}
