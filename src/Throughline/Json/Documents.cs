using System.Collections.Immutable;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Output;
using Throughline.Toolchains;

namespace Throughline.Json;

/// <summary>Results as the documents of docs/json.md.</summary>
internal static partial class Documents
{
    // −, µ and Ω as themselves: the output is UTF-8 and no web page.
    private static readonly JsonShapesContext Context = new(new JsonSerializerOptions(JsonShapesContext.Default.Options)
    {
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    });

    public static void Write<T>(Surroundings surroundings, T document)
    {
        surroundings.Output.Write(JsonSerializer.Serialize(document, typeof(T), Context));
        surroundings.Output.Write('\n');
    }

    public static ReviewDocument Review(IEnumerable<(string File, Parsed<Instrument> Parsed, Review? Review)> results) => new()
    {
        Files = [.. results.Select(result => new FileReview
        {
            File = result.File,
            Mistakes = Mistakes(result.Parsed),
            Instrument = InstrumentOf(result.Parsed),
            Counts = Counts(result.Review),
            Findings = result.Review is null ? [] : [.. result.Review.Findings.Select(finding => FindingOf(finding))],
            WorstCases = result.Review is null ? [] : [.. result.Review.WorstCases.Select(w => new WorstCaseShape(
                w.Stage, w.Name, Finite(w.Low), Finite(w.High), w.Unit, Finite(w.LimitLow), Finite(w.LimitHigh)))],
            Readings = result.Review is null ? null : ReadingsOf(result.Review.Readings),
        })],
    };

    public static ReadingsDocument Readings(string file, Parsed<Instrument> parsed, ReadingsTable? table) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Readings = table is null ? null : ReadingsOf(table),
    };

    public static BudgetDocument Budget(string file, Parsed<Instrument> parsed, ErrorBudgetReport? report) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Budget = report is null ? null : BudgetOf(report, parsed.Value!, parsed.Value!.Specification.Unit),
    };

    public static ResponseDocument Response(string file, Parsed<Instrument> parsed, ResponseReport? report) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Response = report is null ? null : ResponseOf(report, parsed.Value!.Specification),
    };

    public static FaultsDocument Faults(string file, Parsed<Instrument> parsed, FaultTable? table) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Faults = table is null ? null : FaultsOf(table, parsed.Value!.Specification.Unit),
    };

    public static PanelDocument Panel(string file, Parsed<Instrument> parsed, IEnumerable<PanelMoment> moments) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Moments =
        [
            .. moments.Select(m => new MomentShape(
                m.Line, m.Step, m.Seconds, m.Screen, m.Display, PanelWords.Loops[(int)m.Loop].Word, OfCurrent(parsed.Value!.Output, m.LoopValue), m.OutputCode, Finite(m.Measurand), m.Failures)
            {
                OutputVolts = OfVoltage(parsed.Value!.Output, m.LoopValue),
            }),
        ],
    };

    public static FirmwareDocument Firmware(string file, Parsed<Instrument> parsed, FirmwareCode? firmware, ImmutableArray<string> written, long? code, ImmutableArray<CompilerResult> built) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Firmware = firmware is null ? null : FirmwareOf(firmware, parsed.Value!, written, code, built),
    };

    public static ComparisonDocument Comparison(
        (string File, Parsed<Instrument> Parsed) old, (string File, Parsed<Instrument> Parsed) @new, Comparison? comparison, ImmutableArray<CodeChange> code) => new()
        {
            Old = new(old.File, Mistakes(old.Parsed), InstrumentOf(old.Parsed), Counts(comparison?.Old)),
            New = new(@new.File, Mistakes(@new.Parsed), InstrumentOf(@new.Parsed), Counts(comparison?.New)),
            Edits = comparison is null ? [] : [.. comparison.Edits.Select(e => new EditShape(e.Path, e.Old, e.New, PlaceOf(e.Place)))],
            Movements = comparison is null ? [] : [.. comparison.Movements.Select(m =>
                new MovementShape(m.Stage, m.Name, Finite(m.Old), Finite(m.New), m.Unit, m.Moved))],
            Code = [.. code.Select(c => new CodeChangeShape(c.Name, c.Remark, c.Old, c.New))],
            Turned = comparison is null ? [] : [.. comparison.Turned.Select(t => new TurnedShape(
                t.Old is null ? null : FindingOf(t.Old), t.New is null ? null : FindingOf(t.New), t.OutcomeChanged))],
            StagesMoved = comparison?.StagesMoved ?? [],
            StagesUnmoved = comparison?.StagesUnmoved ?? [],
        };

    public static BatchDocument Batch(string file, Parsed<Instrument> parsed, BatchReport? report) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Batch = report is null ? null : BatchOf(report),
    };

    public static UnitDocument Unit(string file, Parsed<Instrument> parsed, UnitReport? report) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Unit = report is null ? null : UnitOf(report),
    };

    private static ImmutableArray<MistakeShape> Mistakes(Parsed<Instrument> parsed) =>
        [.. parsed.Diagnostics.Select(d => new MistakeShape(d.Code, d.Message, d.Expected, d.Found, d.Mend, PlaceOf(d.Span)))];

    private static InstrumentShape? InstrumentOf(Parsed<Instrument> parsed) =>
        parsed.Diagnostics.IsEmpty && parsed.Value is Instrument instrument ? new(instrument.Name.Value, instrument.Revision?.Value, instrument.Loop is { Signal: { } signal } ? new(signal.Noun, signal.Unit) : null) : null;

    private static CountsShape? Counts(Review? review) => review is null ? null : new(review.NotMet, review.Marginal, review.Met);

    private static FindingShape FindingOf(Finding finding) => new(
        finding.Check,
        finding.Subject,
        finding.Stage,
        OutcomeWords.Word(finding.Outcome),
        finding.Statement,
        Finite(finding.Margin),
        [.. finding.Figures.Select(figure => new FigureShape(figure.Name, Finite(figure.Value), figure.Unit))],
        finding.Mend,
        PlaceOf(finding.Place));

    private static ReadingsShape ReadingsOf(ReadingsTable table) => new(
        new(
            Finite(table.Conditions.Ambient),
            Finite(table.Conditions.Process),
            Finite(table.Conditions.SupplyShift),
            Finite(table.Conditions.Load),
            Finite(table.Conditions.AgeSeconds)),
        [.. table.Columns.Select(c => new ColumnShape(c.Name, c.Unit, c.ShownUnit, Finite(c.Scale), c.Decimals))],
        [.. table.Rows.Select(r => new RowShape([.. r.Values.Select(Finite)], r.Remark))]);

    private static BudgetShape BudgetOf(ErrorBudgetReport report, Instrument instrument, string unit) => new(
        [.. report.Points.Select(Finite)],
        [.. report.Moments.Select(BudgetWords.Of)],
        [
            .. report.Tables.Select(t => new BudgetTableShape(
                BudgetWords.Of(t.Output, instrument),
                BudgetWords.Of(t.Moment),
                Finite(t.Measurand),
                t.Output == BudgetOutput.Loop ? instrument.Output.Unit : unit,
                Finite(t.Span),
                Finite(t.Allowed),
                Finite(t.NominalError),
                Finite(t.MeanError),
                Finite(t.StraightSum),
                Finite(t.RootSumOfSquares),
                Finite(t.StandardUncertainty),
                Finite(t.EffectiveDegreesOfFreedom),
                Finite(t.CoverageFactor),
                Finite(t.ExpandedUncertainty),
                Finite(t.WorstCase),
                Finite(t.LikelyCase),
                Finite(t.Expanded),
                Finite(t.FullLow),
                Finite(t.FullHigh),
                t.IsDoubtful,
                [
                    .. t.Lines.Select(l => new BudgetLineShape(
                        l.Name, l.Owner, l.Stage, l.Unit, Finite(l.Limit), Finite(l.Sensitivity), Finite(l.Effect), Finite(l.StandardUncertainty), Finite(l.Share), PlaceOf(l.Place))),
                ])),
        ],
        TrimOf(report.Trim));

    private static ResponseShape ResponseOf(ResponseReport report, Specification specification) => new(
        Finite(specification.Range.Middle),
        specification.Unit,
        new(Finite(report.ConverterT90), Finite(report.AveragingSeconds), Finite(report.DisplayT90), Finite(report.OutputT90), Finite(report.LoopT90)),
        Finite(report.CornerHertz),
        Finite(report.Rejection50),
        Finite(report.Rejection60),
        [.. report.Frequencies.Select(p => new FrequencyShape(Finite(p.Hertz), Finite(p.Decibel), Finite(p.Degrees), Finite(p.WithAveraging)))],
        [.. report.Step.Select(p => new StepShape(Finite(p.Seconds), Finite(p.Converter), Finite(p.Reading)))],
        new(Finite(report.NoiseRms), [.. report.Noise.Select(c => new NoiseCauseShape(c.Part, c.Kind, Finite(c.Rms), Finite(c.Share)))]),
        [.. report.Loops.Select(l => new LoopShape(l.Amplifier, l.Stage, Finite(l.CrossoverHertz), Finite(l.PhaseMarginDegrees), Finite(l.GainMargin)))],
        report.IsStable,
        Finite(report.GrowingRate));

    public static BillDocument Bill(string file, Parsed<Instrument> parsed, BillOfMaterials? bill, ClassReport? classes) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Bill = bill is null ? null : new(
            bill.Currency,
            [.. bill.Quantities.Select(q => new BillSumShape(q, bill.Total(q)))],
            [.. bill.Lines.Select(l => new BillLineShape(l.Count, l.Article, l.Class, l.Owners, [.. bill.Quantities.Select(q => Finite(l.Cost(q)))]))]),
        Classes = classes is null ? null : new(Finite(classes.Display), Finite(classes.Loop), Changes(classes.Better), Changes(classes.Cheaper), Changes(classes.Together)),
    };

    private static ImmutableArray<ClassChangeShape> Changes(ImmutableArray<ClassChange> changes) =>
        [.. changes.Select(c => new ClassChangeShape(c.Part, c.From.Text, c.To.Text, c.CostChange, Finite(c.Display), Finite(c.Loop)))];

    private static FaultsShape FaultsOf(FaultTable table, string unit)
    {
        int Count(FaultEffect effect) => table.Rows.Count(r => r.Effect == effect);
        return new(
            Finite(table.Measurand),
            unit,
            new(Count(FaultEffect.Hidden), Count(FaultEffect.Undefined), Count(FaultEffect.AtLimit), Count(FaultEffect.Signalled), Count(FaultEffect.Harmless)),
            [.. table.Rows.Select(r => new FaultShape(
                r.Fault, r.Stage, Finite(r.Display), Finite(r.LoopValue), Finite(r.RailVolts), EffectWords.Word(r.Effect), r.Remark, PlaceOf(r.Place)))]);
    }

    private static FirmwareShape FirmwareOf(FirmwareCode firmware, Instrument instrument, ImmutableArray<string> written, long? code, ImmutableArray<CompilerResult> built)
    {
        Dictionary<string, (Int128 Exact, Int128 InWord)> run = code is { } at && firmware.Proof is not null
            ? firmware.Trace(at).ToDictionary(t => t.Node.Name, t => (t.Exact, t.InWord)) : [];
        return new(
            firmware.Trouble,
            firmware.Proof is not { } proof ? [] : [.. proof.Design.Program.Nodes.Select(n => NumberOf(n, run.TryGetValue(n.Name, out (Int128 Exact, Int128 InWord) found) ? found : null))],
            firmware.Proof is null ? null : Finite(firmware.Proof.Design.Measurand.Error),
            firmware.Proof is null ? null : Finite(firmware.Proof.Design.Allowed),
            firmware.Proof is null ? null : Finite(Math.Abs(firmware.Proof.Worst.Error)),
            firmware.Proof is null ? null : firmware.Proof.Worst.Code,
            instrument.Specification.Unit,
            [.. OutputState.Of(instrument).Select(l => new OutputStateShape(l.Name, l.Code, OfCurrent(instrument.Output, l.Value), l.Because) { Volts = OfVoltage(instrument.Output, l.Value) })],
            [.. firmware.Files.Select(f => new CodeFileShape(f.Name, f.Purpose, Encoding.UTF8.GetByteCount(f.Text)))],
            written,
            [.. built.Select(BuiltOf)],
            firmware.Calibration is { } calibration ? CalibrationOf(calibration) : null,
            firmware.OutputTrim is { } trim ? TrimOf(trim) : null,
            SettingsLayout.Of(instrument) is { } settings ? SettingsOf(settings) : null);
    }

    private static SettingsShape SettingsOf(SettingsLayout layout)
    {
        SettingsProof proof = SettingsProof.Of(layout);
        return new(
            layout.Size,
            layout.End,
            [.. SettingsMap.Of(layout).Select(r => new RegionShape(r.Address, r.Bytes, r.Record, r.Copy, r.What, r.Word))],
            proof.Writes,
            proof.Cuts,
            proof.Spoilt,
            proof.BadCut is { } cut
                ? new PowerCutShape(
                    cut.Operation switch { SettingsOperation.FirstSave => "first save", var o => o.ToString().ToLowerInvariant() }, layout.Records[cut.Record].Name,
                    Convert.ToHexString(cut.Before.AsSpan()), cut.Write, cut.Address, cut.Torn, cut.Old, cut.New, cut.Found)
                : null,
            proof.Unnoticed is { } wrong
                ? new WrongByteShape(layout.Records[wrong.Record].Name, Convert.ToHexString(wrong.Before.AsSpan()), wrong.Address, wrong.Value, wrong.Saved, wrong.Found)
                : null,
            [.. proof.BlankAccepted.Select(b => b.Item.Name).Distinct()]);
    }

    private static NumberShape NumberOf(Node n, (Int128 Exact, Int128 InWord)? run) => new(
        n.Name,
        n.Remark,
        n.Word.CType,
        (double)n.Low,
        (double)n.High,
        n.BitsNeeded,
        n.Fits,
        Finite(n.Step),
        n.Unit,
        Finite(n.Error),
        (double?)run?.Exact,
        (double?)run?.InWord);

    private static CalibrationArithmeticShape CalibrationOf(CalibrationDesign design) => new(
        design.Trouble,
        design.Points,
        [.. design.Program.Nodes.Select(n => NumberOf(n, null))],
        design.Trouble is null ? Finite(design.Bound) : null,
        design.Trouble is null ? Finite(design.Allowed) : null,
        [.. design.Standards.Select(s => new CalibrationEntryShape(s.Stated, s.Low, s.High))],
        design.SteadyWithin,
        design.SteadyMilliseconds / 1000.0);

    private static TrimArithmeticShape TrimOf(OutputTrimDesign design) => new(
        [.. design.Program.Nodes.Select(n => NumberOf(n, null))],
        OutputTrimProof.Of(design).IsSound,
        Finite(design.Bound),
        OutputTrimDesign.Allowed,
        design.LowCode,
        design.HighCode);

    private static BuiltShape BuiltOf(CompilerResult r) => new(
        r.Compiler,
        r.Processor,
        r.Absent,
        r.Complaints,
        [.. r.Files.Select(f => new BuiltFileShape(f.Name, f.Flash, f.Ram))],
        r.Routines is { } own ? new BuiltFileShape(own.Name, own.Flash, own.Ram) : null,
        r.Absent is null ? r.Flash : null,
        r.Absent is null ? r.Ram : null,
        r.Cycles,
        r.Runs,
        r.Worst is { } w ? new WorstRunShape(w.Code, w.Temperature, w.Zero, w.Gain) : null,
        r.NoCycles);

    private static BatchShape BatchOf(BatchReport r) => new(
        r.Units,
        r.Options.Units,
        r.IsWhole,
        r.Options.Seed,
        r.Options.IsEven,
        [.. r.Yields.Select(y => new YieldShape(y.Name, y.Good, y.Of))],
        [.. r.Readings.Select(e => new BatchReadingShape(MomentWords.Word(e.Moment), e.Test, Finite(e.Point), BudgetWords.Of(e.Place, r.Instrument), Finite(e.Limit), SpreadOf(e.Errors)))],
        [.. r.Trimmers.Select(SpreadOf)],
        r.Rounds,
        [.. r.Calibrations.Select(SpreadOf)],
        [.. r.Causes.Select(c => new CausesShape(
            MomentWords.Word(c.Moment),
            Finite(c.Point),
            BudgetWords.Of(c.Place, r.Instrument),
            Finite(c.StandardDeviation),
            [.. c.Shares.Select(s => new ShareShape(s.Name, Finite(s.First), Finite(s.Total)))]))],
        [.. r.Worst.Select(w => new WorstUnitShape(w.Unit, Finite(w.OfLimit)))],
        new(Finite(r.Confidence.Yield), Finite(r.Confidence.YieldError), Finite(r.Confidence.IndependentYieldError), Finite(r.Confidence.MeanGain)),
        [.. r.Agreements.Select(a => new AgreementShape(
            BudgetWords.Of(a.Output, r.Instrument),
            Finite(a.Point),
            Finite(a.LinearUncertainty),
            Finite(a.BatchDeviation),
            Finite(a.LinearLow),
            Finite(a.LinearHigh),
            Finite(a.BatchLow),
            Finite(a.BatchHigh),
            Finite(a.Tolerance),
            a.Agrees,
            a.Why))]);


    private static SpreadShape SpreadOf(BatchSpread s) => new(
        s.Name,
        s.Unit,
        Finite(s.Mean),
        Finite(s.StandardDeviation),
        Finite(s.Least),
        s.LeastUnit,
        Finite(s.Q005),
        Finite(s.Q025),
        Finite(s.Median),
        Finite(s.Q975),
        Finite(s.Q995),
        Finite(s.Greatest),
        s.GreatestUnit,
        s.Missing,
        [.. s.Bins.Select(b => new BinShape(Finite(b.Low), Finite(b.High), b.Count))]);

    private static UnitShape UnitOf(UnitReport r) => new(
        r.Seed,
        r.Unit,
        [.. r.Draws.Select(d => new DrawShape(d.Name, d.Stage, d.Unit, Finite(d.Value), Finite(d.Centre), Finite(d.OfLimit)))],
        [.. r.Steps.Select(s => new UnitStepShape(s.Name, s.Trimmer, Finite(s.Position), s.Meter, s.Unit, Finite(s.Target), Finite(s.Tolerance), Finite(s.Reading), s.IsReached))],
        r.Rounds,
        r.Calibration is { } c ? new(MomentWords.Word(c.Verdict), Finite(c.Zero), c.ZeroUnit, Finite(c.Slope), [.. c.Signals.Select(Finite)]) : null,
        [.. r.Readings.Select(e => new UnitReadingShape(MomentWords.Word(e.Moment), e.Test, Finite(e.Point), Finite(e.DisplayError), Finite(e.LoopError)))]);

    private static PlaceShape? PlaceOf(SourceSpan span)
    {
        if (span.Source is not SourceText source)
        {
            return null;
        }

        (int line, int column) = source.Position(span.Start);
        (int endLine, int endColumn) = source.Position(span.End);
        return new(source.Name, line, column, endLine, endColumn);
    }

    private static double? Finite(double value) => double.IsFinite(value) ? value : null;
}
