using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Toolchains;

namespace Throughline;

/// <summary>What the commands call: the reader and the reviewer, as one value so that a test can stand in for them.</summary>
internal sealed record Engine
{
    private static readonly IReadOnlyList<IFurtherChecks> Further = FirmwareChecks.ByField;

    public static Engine Default { get; } = new();

    public Func<string, Parsed<Instrument>> Read { get; init; } = InstrumentReader.ReadFile;

    /// <summary>Reads the whole of a script.</summary>
    public Func<string, string> ReadScript { get; init; } = File.ReadAllText;

    /// <summary>Checks beside those of the chain.</summary>
    public static IReadOnlyList<IFurtherChecks> FurtherChecks => Further;

    public Func<Instrument, Review> Review { get; init; } = instrument => Reviewer.Review(instrument, Further);

    public Func<Instrument, IReadOnlyList<double>?, Conditions?, ReadingsTable> Readings { get; init; } = Reviewer.Readings;

    public Func<Instrument, Conditions> ReferenceConditions { get; init; } = Reviewer.ReferenceConditions;

    public Func<Instrument, IReadOnlyList<double>?, ErrorBudgetReport> Budget { get; init; } = Reviewer.Budget;

    public Func<Instrument, ResponseReport?> Response { get; init; } = Reviewer.Response;

    public Func<Instrument, FaultTable> Faults { get; init; } = Reviewer.Faults;

    public Func<Instrument, BillOfMaterials> Bill { get; init; } = Reviewer.Bill;

    public Func<Instrument, CancellationToken, ClassReport> Classes { get; init; } = (instrument, cancel) => Reviewer.Classes(instrument, Further, cancel);

    public Func<Instrument, SupplyReport?> Supplies { get; init; } = Reviewer.Supplies;

    public Func<Instrument, IReadOnlyList<double>, LoopReport?> Loop { get; init; } = Reviewer.Loop;

    public Func<Instrument, FirmwareCode> Firmware { get; init; } = FirmwareCode.Of;

    public Func<FirmwareCode, ImmutableArray<CompilerResult>> Build { get; init; } = ProgramBuild.Of;

    public Func<Instrument, BatchOptions, BatchProgress?, CancellationToken, Batch> Batch { get; init; } = Analysis.Batch.Run;

    public Func<Instrument, BatchOptions, long, UnitReport> BatchUnit { get; init; } = Analysis.Batch.RunUnit;

    public Func<Instrument, Instrument, Comparison> Compare { get; init; } = (old, @new) => Reviewer.Compare(old, @new, Further);

    public Func<Instrument, Instrument, ImmutableArray<CodeChange>> CompareCode { get; init; } = CodeChange.Of;

    public Func<string> Schema { get; init; } = InstrumentSchema.Create;

    public Func<string> PartsSchema { get; init; } = InstrumentSchema.CreateParts;
}
