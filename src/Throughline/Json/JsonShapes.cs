using System.Collections.Immutable;

namespace Throughline.Json;

// The shapes that docs/json.md promises. A new property may be added within a version; nothing is renamed, removed or given another meaning
// without a new one. Numbers that do not exist (NaN, infinite) are null.

/// <summary>What <c>check --json</c> writes.</summary>
internal sealed record ReviewDocument
{
    public string Format { get; } = "throughline.review";

    public int Version { get; } = 1;

    public required ImmutableArray<FileReview> Files { get; init; }
}

internal sealed record FileReview
{
    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required CountsShape? Counts { get; init; }

    public required ImmutableArray<FindingShape> Findings { get; init; }

    public required ImmutableArray<WorstCaseShape> WorstCases { get; init; }

    public required ReadingsShape? Readings { get; init; }
}

/// <summary>What <c>readings --json</c> writes.</summary>
internal sealed record ReadingsDocument
{
    public string Format { get; } = "throughline.readings";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required ReadingsShape? Readings { get; init; }
}

/// <summary>What <c>budget --json</c> writes.</summary>
internal sealed record BudgetDocument
{
    public string Format { get; } = "throughline.budget";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required BudgetShape? Budget { get; init; }
}

/// <summary>What <c>response --json</c> writes.</summary>
internal sealed record ResponseDocument
{
    public string Format { get; } = "throughline.response";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required ResponseShape? Response { get; init; }
}

/// <summary>What <c>faults --json</c> writes.</summary>
internal sealed record FaultsDocument
{
    public string Format { get; } = "throughline.faults";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required FaultsShape? Faults { get; init; }
}

/// <summary>What <c>bom --json</c> writes.</summary>
internal sealed record BillDocument
{
    public string Format { get; } = "throughline.bom";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required BillShape? Bill { get; init; }

    public required ClassesShape? Classes { get; init; }
}

/// <summary>What <c>compare --json</c> writes.</summary>
internal sealed record ComparisonDocument
{
    public string Format { get; } = "throughline.comparison";

    public int Version { get; } = 1;

    public required RevisionShape Old { get; init; }

    public required RevisionShape New { get; init; }

    public required ImmutableArray<EditShape> Edits { get; init; }

    public required ImmutableArray<MovementShape> Movements { get; init; }

    public required ImmutableArray<CodeChangeShape> Code { get; init; }

    public required ImmutableArray<TurnedShape> Turned { get; init; }

    public required ImmutableArray<string> StagesMoved { get; init; }

    public required ImmutableArray<string> StagesUnmoved { get; init; }
}

/// <summary>What <c>batch --json</c> and <c>merge --json</c> write.</summary>
internal sealed record BatchDocument
{
    public string Format { get; } = "throughline.batch";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required BatchShape? Batch { get; init; }
}

/// <summary>What <c>batch --unit K --json</c> writes.</summary>
internal sealed record UnitDocument
{
    public string Format { get; } = "throughline.unit";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required UnitShape? Unit { get; init; }
}

/// <summary>What <c>new --json</c> writes.</summary>
internal sealed record FilesDocument
{
    public string Format { get; } = "throughline.files";

    public int Version { get; } = 1;

    public required string Folder { get; init; }

    public required ImmutableArray<string> Files { get; init; }
}

/// <summary>What <c>firmware --json</c> writes.</summary>
internal sealed record FirmwareDocument
{
    public string Format { get; } = "throughline.firmware";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required FirmwareShape? Firmware { get; init; }
}

/// <summary>What <c>panel --json</c> writes.</summary>
internal sealed record PanelDocument
{
    public string Format { get; } = "throughline.panel";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required ImmutableArray<MomentShape> Moments { get; init; }
}

/// <summary>What <c>completions --json</c> writes.</summary>
internal sealed record CompletionsDocument
{
    public string Format { get; } = "throughline.completions";

    public int Version { get; } = 1;

    public required string Shell { get; init; }

    public required string Script { get; init; }
}

internal sealed record MistakeShape(string Code, string Message, string Expected, string Found, string? Mend, PlaceShape? Place);

internal sealed record PlaceShape(string File, int Line, int Column, int EndLine, int EndColumn);

internal sealed record InstrumentShape(string Name, string? Revision, OutputShape? Output);

/// <summary>What the instrument puts out, and the unit of every figure of it.</summary>
internal sealed record OutputShape(string Kind, string Unit);

internal sealed record CountsShape(int NotMet, int Marginal, int Met);

internal sealed record FindingShape(
    string Check,
    string Subject,
    string Stage,
    string Outcome,
    string Statement,
    double? Margin,
    ImmutableArray<FigureShape> Figures,
    string? Mend,
    PlaceShape? Place);

internal sealed record FigureShape(string Name, double? Value, string Unit);

internal sealed record WorstCaseShape(
    string Stage, string Name, double? Low, double? High, string Unit, double? LimitLow, double? LimitHigh);

internal sealed record ReadingsShape(ConditionsShape Conditions, ImmutableArray<ColumnShape> Columns, ImmutableArray<RowShape> Rows);

internal sealed record ConditionsShape(double? Ambient, double? Process, double? SupplyShift, double? Load, double? Age);

internal sealed record ColumnShape(string Name, string Unit, string ShownUnit, double? Scale, int Decimals);

internal sealed record RowShape(ImmutableArray<double?> Values, string? Remark);

internal sealed record BudgetShape(ImmutableArray<double?> Points, ImmutableArray<string> Moments, ImmutableArray<BudgetTableShape> Tables, OutputTrimShape? Trim);

/// <summary>What the trim of the output takes away, A.</summary>
internal sealed record OutputTrimShape(double? ErrorWithout, double? ErrorWith, double? Measurand, double? OfMeter);

internal sealed record BudgetTableShape(
    string Output,
    string Moment,
    double? Measurand,
    string Unit,
    double? Span,
    double? Allowed,
    double? NominalError,
    double? MeanError,
    double? StraightSum,
    double? RootSumOfSquares,
    double? StandardUncertainty,
    double? DegreesOfFreedom,
    double? CoverageFactor,
    double? ExpandedUncertainty,
    double? WorstCase,
    double? LikelyCase,
    double? Expanded,
    double? FullLow,
    double? FullHigh,
    bool IsDoubtful,
    ImmutableArray<BudgetLineShape> Lines);

internal sealed record BudgetLineShape(
    string Name,
    string Owner,
    string Stage,
    string Unit,
    double? Limit,
    double? Sensitivity,
    double? Effect,
    double? StandardUncertainty,
    double? Share,
    PlaceShape? Place);

internal sealed record ResponseShape(
    double? Measurand,
    string Unit,
    ResponseTimesShape T90,
    double? Corner,
    double? Attenuation50,
    double? Attenuation60,
    ImmutableArray<FrequencyShape> Frequencies,
    ImmutableArray<StepShape> Step,
    NoiseShape Noise,
    ImmutableArray<LoopShape> Loops,
    bool IsStable,
    double? GrowingRate);

internal sealed record ResponseTimesShape(double? Converter, double? Averaging, double? Display, double? Output, double? Loop);

internal sealed record FrequencyShape(double? Frequency, double? Gain, double? Phase, double? WithAveraging);

internal sealed record StepShape(double? Time, double? Converter, double? Reading);

internal sealed record NoiseShape(double? Rms, ImmutableArray<NoiseCauseShape> Causes);

internal sealed record NoiseCauseShape(string Part, string Kind, double? Rms, double? Share);

internal sealed record LoopShape(string Amplifier, string Stage, double? Crossover, double? PhaseMargin, double? GainMargin);

internal sealed record BillShape(string Currency, ImmutableArray<BillSumShape> Sums, ImmutableArray<BillLineShape> Lines);

internal sealed record BillSumShape(int Quantity, double? Cost);

internal sealed record BillLineShape(int Count, string Article, string Class, ImmutableArray<string> For, ImmutableArray<double?> Costs);

internal sealed record ClassesShape(
    double? Display, double? Loop, ImmutableArray<ClassChangeShape> Better, ImmutableArray<ClassChangeShape> Cheaper, ImmutableArray<ClassChangeShape> Together);

internal sealed record ClassChangeShape(string Part, string From, string To, double? Cost, double? Display, double? Loop);

internal sealed record FaultsShape(double? Measurand, string Unit, FaultCountsShape Counts, ImmutableArray<FaultShape> Rows);

internal sealed record FaultCountsShape(int Hidden, int LeftOpen, int AtAnEnd, int Signalled, int Harmless);

internal sealed record FaultShape(string Fault, string Stage, double? Display, double? Loop, double? Rail, string Effect, string? Remark, PlaceShape? Place);

internal sealed record FirmwareShape(
    string? Trouble,
    ImmutableArray<NumberShape> Numbers,
    double? Rounding,
    double? Allowed,
    double? RoundingOverCodes,
    double? AtCode,
    string Unit,
    ImmutableArray<OutputStateShape> OutputStates,
    ImmutableArray<CodeFileShape> Code,
    ImmutableArray<string> Written,
    ImmutableArray<BuiltShape> Built,
    CalibrationArithmeticShape? Calibration,
    TrimArithmeticShape? OutputTrim,
    SettingsShape? Settings);

internal sealed record SettingsShape(
    long Size,
    int End,
    ImmutableArray<RegionShape> Map,
    long WritesTried,
    long StatesTried,
    long WrongBytesTried,
    PowerCutShape? PowerCut,
    WrongByteShape? WrongByte,
    ImmutableArray<string> BlankAccepted);

internal sealed record RegionShape(int Address, int Bytes, string Record, int Copy, string What, string Word);

internal sealed record PowerCutShape(string Operation, string Record, string Before, int Write, int Address, int ByteLeft, ImmutableArray<long> Old, ImmutableArray<long> New, ImmutableArray<long> Found);

internal sealed record WrongByteShape(string Record, string Before, int Address, int Value, ImmutableArray<long> Saved, ImmutableArray<long> Found);

internal sealed record OutputStateShape(string Name, long? Code, double? Amperes, string Because)
{
    /// <summary>In place of amperes where the output is a voltage.</summary>
    public double? Volts { get; init; }
}

internal sealed record CodeChangeShape(string Name, string Remark, string? Old, string? New);

internal sealed record CalibrationArithmeticShape(
    string? Trouble,
    int Standards,
    ImmutableArray<NumberShape> Numbers,
    double? Rounding,
    double? Allowed,
    ImmutableArray<CalibrationEntryShape> Entries,
    double SteadyWithin,
    double SteadyFor);

internal sealed record TrimArithmeticShape(ImmutableArray<NumberShape> Numbers, bool Proved, double? Rounding, double Allowed, long LowCode, long HighCode);

internal sealed record CalibrationEntryShape(double Stated, double Least, double Greatest);

internal sealed record BuiltShape(
    string Compiler,
    string Processor,
    string? Absent,
    ImmutableArray<string> Complaints,
    ImmutableArray<BuiltFileShape> Files,
    BuiltFileShape? Routines,
    double? Flash,
    double? Ram,
    double? Cycles,
    int Runs,
    WorstRunShape? Worst,
    string? NoCycles);

internal sealed record BuiltFileShape(string Name, double Flash, double Ram);

internal sealed record WorstRunShape(double Code, double Temperature, double Zero, double Gain);

internal sealed record NumberShape(
    string Name, string Remark, string Word, double? Least, double? Greatest, int BitsNeeded, bool Fits, double? Step, string Unit, double? Rounding, double? Exact, double? InWord);

internal sealed record MomentShape(
    int Line, string Step, double Seconds, string Screen, ImmutableArray<string> Display, string Loop, double? LoopAmperes, long OutputCode, double? Measurand, ImmutableArray<string> Failures)
{
    /// <summary>In place of amperes where the output is a voltage.</summary>
    public double? OutputVolts { get; init; }
}

internal sealed record CodeFileShape(string Name, string Purpose, int Bytes);

internal sealed record RevisionShape(string File, ImmutableArray<MistakeShape> Mistakes, InstrumentShape? Instrument, CountsShape? Counts);

internal sealed record EditShape(string Path, string? Old, string? New, PlaceShape? Place);

internal sealed record MovementShape(string Stage, string Name, double? Old, double? New, string Unit, bool Moved);

internal sealed record TurnedShape(FindingShape? Old, FindingShape? New, bool OutcomeChanged);

internal sealed record BatchShape(
    long Units,
    long UnitsAsked,
    bool IsWhole,
    ulong Seed,
    bool IsEven,
    ImmutableArray<YieldShape> Yields,
    ImmutableArray<BatchReadingShape> Readings,
    ImmutableArray<SpreadShape> Trimmers,
    ImmutableArray<long> Rounds,
    ImmutableArray<SpreadShape> Calibrations,
    ImmutableArray<CausesShape> Causes,
    ImmutableArray<WorstUnitShape> WorstUnits,
    ConfidenceShape Confidence,
    ImmutableArray<AgreementShape> Agreements);

internal sealed record YieldShape(string Name, long Good, long Of);

internal sealed record BatchReadingShape(string Moment, string Test, double? Point, string Place, double? Limit, SpreadShape Errors);

internal sealed record SpreadShape(
    string Name,
    string Unit,
    double? Mean,
    double? StandardDeviation,
    double? Least,
    long LeastUnit,
    double? Quantile005,
    double? Quantile025,
    double? Median,
    double? Quantile975,
    double? Quantile995,
    double? Greatest,
    long GreatestUnit,
    long Missing,
    ImmutableArray<BinShape> Bins);

internal sealed record BinShape(double? Low, double? High, long Count);

internal sealed record CausesShape(string Moment, double? Point, string Place, double? StandardDeviation, ImmutableArray<ShareShape> Shares);

internal sealed record ShareShape(string Name, double? First, double? Total);

internal sealed record WorstUnitShape(long Unit, double? OfLimit);

internal sealed record ConfidenceShape(double? Yield, double? StandardError, double? StandardErrorIndependent, double? GainOfMeans);

internal sealed record AgreementShape(
    string Place,
    double? Point,
    double? LinearUncertainty,
    double? StandardDeviation,
    double? LinearLow,
    double? LinearHigh,
    double? BatchLow,
    double? BatchHigh,
    double? Tolerance,
    bool Agrees,
    string? Why);

internal sealed record UnitShape(
    ulong Seed,
    long Unit,
    ImmutableArray<DrawShape> Draws,
    ImmutableArray<UnitStepShape> Steps,
    int Rounds,
    UnitCalibrationShape? Calibration,
    ImmutableArray<UnitReadingShape> Readings);

internal sealed record DrawShape(string Name, string Stage, string Unit, double? Value, double? Centre, double? OfLimit);

internal sealed record UnitStepShape(
    string Name, string Trimmer, double? Position, string Meter, string Unit, double? Target, double? Tolerance, double? Reading, bool IsReached);

internal sealed record UnitCalibrationShape(string Verdict, double? Zero, string ZeroUnit, double? Slope, ImmutableArray<double?> Signals);

internal sealed record UnitReadingShape(string Moment, string Test, double? Point, double? DisplayError, double? LoopError);
