using System.Collections.Frozen;

namespace Throughline.Instruments;

/// <summary>At which depth a mistake is found. Only the first three can be told from the text alone.</summary>
public enum DiagnosticClass
{
    /// <summary>The file can't be read.</summary>
    File,

    /// <summary>It is not YAML, or YAML that an instrument file has no use for.</summary>
    Syntax,

    /// <summary>It is not built as an instrument file: what the JSON Schema refuses too.</summary>
    Shape,

    /// <summary>What it says can't be: names that nothing has, numbers against physics or against each other. No schema can say it.</summary>
    Meaning,
}

/// <summary>The table of diagnostic codes. A code is never renamed or reused.</summary>
public static class Codes
{
    internal const string FileMissing = "file missing";
    internal const string FileIsFolder = "file is a folder";
    internal const string FileRefused = "file refused";
    internal const string FileTooLarge = "file too large";
    internal const string NotUtf8 = "not UTF-8";

    internal const string Yaml = "yaml syntax";
    internal const string Tab = "tab";
    internal const string ControlCharacter = "control character";
    internal const string DuplicateKey = "duplicate key";
    internal const string KeyNotText = "key not text";
    internal const string SeveralDocuments = "several documents";
    internal const string Alias = "alias";
    internal const string Tag = "tag";
    internal const string TooDeep = "too deep";
    internal const string TooMuch = "too much";
    internal const string NotFinite = "not finite";
    internal const string Empty = "empty file";

    internal const string WrongType = "wrong type";
    internal const string UnknownKey = "unknown key";
    internal const string MissingKey = "missing key";
    internal const string KeysTogether = "keys exclude each other";
    internal const string UnknownWord = "unknown word";
    internal const string NotAName = "not a name";
    internal const string NotAQuantity = "not a quantity";
    internal const string WrongUnit = "wrong unit";
    internal const string NotAnInteger = "not a whole number";
    internal const string WrongLength = "wrong length";

    internal const string OutOfRange = "out of range";
    internal const string ToleranceOutOfRange = "tolerance out of range";
    internal const string SaidTwice = "said twice";
    internal const string WrongKind = "wrong kind of quantity";
    internal const string UnknownNode = "unknown node";
    internal const string UnknownGrade = "unknown grade";
    internal const string UnknownSupply = "unknown supply";
    internal const string UnknownPart = "unknown part";
    internal const string UnknownStage = "unknown stage";
    internal const string UnknownBlock = "unknown block";
    internal const string UnknownNetwork = "unknown network";
    internal const string UnknownValue = "unknown value";
    internal const string UnknownPosition = "unknown position";
    internal const string UnknownUnit = "unknown unit";
    internal const string UnknownScreen = "unknown screen";
    internal const string NotATrimmer = "not a trimmer";
    internal const string DuplicateName = "duplicate name";
    internal const string Recursion = "recursion";
    internal const string Contradiction = "contradiction";
    internal const string Missing = "missing";
    internal const string NotUsed = "not used";

    private static readonly FrozenDictionary<string, DiagnosticClass> Classes = new Dictionary<string, DiagnosticClass>
    {
        [FileMissing] = DiagnosticClass.File,
        [FileIsFolder] = DiagnosticClass.File,
        [FileRefused] = DiagnosticClass.File,
        [FileTooLarge] = DiagnosticClass.File,
        [NotUtf8] = DiagnosticClass.File,
        [Yaml] = DiagnosticClass.Syntax,
        [Tab] = DiagnosticClass.Syntax,
        [ControlCharacter] = DiagnosticClass.Syntax,
        [DuplicateKey] = DiagnosticClass.Syntax,
        [KeyNotText] = DiagnosticClass.Syntax,
        [SeveralDocuments] = DiagnosticClass.Syntax,
        [Alias] = DiagnosticClass.Syntax,
        [Tag] = DiagnosticClass.Syntax,
        [TooDeep] = DiagnosticClass.Syntax,
        [TooMuch] = DiagnosticClass.Syntax,
        [NotFinite] = DiagnosticClass.Syntax,
        [Empty] = DiagnosticClass.Syntax,
        [WrongType] = DiagnosticClass.Shape,
        [UnknownKey] = DiagnosticClass.Shape,
        [MissingKey] = DiagnosticClass.Shape,
        [KeysTogether] = DiagnosticClass.Shape,
        [UnknownWord] = DiagnosticClass.Shape,
        [NotAName] = DiagnosticClass.Shape,
        [NotAQuantity] = DiagnosticClass.Shape,
        [WrongUnit] = DiagnosticClass.Shape,
        [NotAnInteger] = DiagnosticClass.Shape,
        [WrongLength] = DiagnosticClass.Shape,
        [OutOfRange] = DiagnosticClass.Meaning,
        [ToleranceOutOfRange] = DiagnosticClass.Meaning,
        [SaidTwice] = DiagnosticClass.Meaning,
        [WrongKind] = DiagnosticClass.Meaning,
        [UnknownNode] = DiagnosticClass.Meaning,
        [UnknownGrade] = DiagnosticClass.Meaning,
        [UnknownSupply] = DiagnosticClass.Meaning,
        [UnknownPart] = DiagnosticClass.Meaning,
        [UnknownStage] = DiagnosticClass.Meaning,
        [UnknownBlock] = DiagnosticClass.Meaning,
        [UnknownNetwork] = DiagnosticClass.Meaning,
        [UnknownValue] = DiagnosticClass.Meaning,
        [UnknownPosition] = DiagnosticClass.Meaning,
        [UnknownUnit] = DiagnosticClass.Meaning,
        [UnknownScreen] = DiagnosticClass.Meaning,
        [NotATrimmer] = DiagnosticClass.Meaning,
        [DuplicateName] = DiagnosticClass.Meaning,
        [Recursion] = DiagnosticClass.Meaning,
        [Contradiction] = DiagnosticClass.Meaning,
        [Missing] = DiagnosticClass.Meaning,
        [NotUsed] = DiagnosticClass.Meaning,
    }.ToFrozenDictionary();

    /// <summary>Every code with its class.</summary>
    public static IReadOnlyDictionary<string, DiagnosticClass> All => Classes;

    /// <summary>The class of a code; what is not about the file, its YAML or its shape is about its meaning.</summary>
    public static DiagnosticClass ClassOf(string code) => Classes.GetValueOrDefault(code, DiagnosticClass.Meaning);
}
