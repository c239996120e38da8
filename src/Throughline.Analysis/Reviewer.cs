using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Evaluates an instrument: the one way in for the command line and every page. Safe on any thread.</summary>
public static class Reviewer
{
    /// <summary>Runs every check that applies to the instrument.</summary>
    public static Review Review(Instrument instrument) => Review(instrument, []);

    /// <summary>The same with checks of other fields.</summary>
    /// <exception cref="OperationCanceledException"><paramref name="cancel"/> was cancelled; asked between checks.</exception>
    public static Review Review(Instrument instrument, IReadOnlyList<IFurtherChecks> further, CancellationToken cancel = default) => Review(new Evaluator(Model.Compile(instrument)), further, cancel);

    /// <summary>The same of an instrument whose chain is there already.</summary>
    public static Review Review(LiveChain chain, IReadOnlyList<IFurtherChecks> further, CancellationToken cancel = default) => Review(chain.AnotherEvaluator(), further, cancel);

    /// <summary>The readings at chosen values of the measurand and conditions; null takes the range's ends and quarters, and the reference conditions.</summary>
    public static ReadingsTable Readings(Instrument instrument, IReadOnlyList<double>? measurands = null, Conditions? conditions = null) =>
        ReadingsBuilder.Build(new Evaluator(Model.Compile(instrument)), measurands, conditions);

    /// <summary>The conditions of the readings when none are given.</summary>
    public static Conditions ReferenceConditions(Instrument instrument) => ReadingsBuilder.Reference(new Evaluator(Model.Compile(instrument)));

    /// <summary>Frequency response, noise, step response and stability; null when the nominal unit has no operating point.</summary>
    public static ResponseReport? Response(Instrument instrument) => ResponseBuilder.Build(new Evaluator(Model.Compile(instrument)));

    /// <summary>The same close enough to be drawn: with <see cref="ResponseReport.Curve"/>, and a step response of as many points.</summary>
    public static ResponseReport? ResponseToDraw(Instrument instrument) => ResponseBuilder.Build(new Evaluator(Model.Compile(instrument)), isDrawn: true);

    /// <summary>Scale, compliance, conditions and noise of the loop; null for an instrument without one.</summary>
    /// <param name="values">Currents or voltages of the output to read back as values of the measurand; null for none.</param>
    public static LoopReport? Loop(Instrument instrument, IReadOnlyList<double>? values = null) =>
        LoopReportBuilder.Build(new CheckContext(new Evaluator(Model.Compile(instrument))), values ?? []);

    /// <summary>What the user's calibration accepts, which mistakes slip through and how long it lasts; null when the user does not calibrate.</summary>
    public static CalibrationReport? Calibration(Instrument instrument) => new CheckContext(new Evaluator(Model.Compile(instrument))).Calibration;

    /// <summary>What display and loop say under every single fault.</summary>
    public static FaultTable Faults(Instrument instrument) => FaultsBuilder.Build(new CheckContext(new Evaluator(Model.Compile(instrument))));

    /// <summary>The supplies at typical and worst conditions; null when there are none.</summary>
    public static SupplyReport? Supplies(Instrument instrument)
    {
        CheckContext context = new(new Evaluator(Model.Compile(instrument)));
        return context.Supplies is { } report
            ? report with { Missing = [.. Fault.All(instrument).Where(f => !f.MissingSupplies.IsEmpty).Select(f => FaultsBuilder.Judge(context, f))] }
            : null;
    }

    /// <summary>The error budgets of display and loop at every moment; null takes the range's ends and quarters.</summary>
    public static ErrorBudgetReport Budget(Instrument instrument, IReadOnlyList<double>? measurands = null) =>
        new BudgetBuilder(new CheckContext(new Evaluator(Model.Compile(instrument)))).Build(measurands);

    /// <summary>Everything that is bought for one instrument.</summary>
    public static BillOfMaterials Bill(Instrument instrument) => BillBuilder.Build(instrument);

    /// <summary>What other classes of tolerance would do to cost and accuracy. Some seconds.</summary>
    /// <param name="further">Checks beside those of the chain.</param>
    /// <exception cref="OperationCanceledException"><paramref name="cancel"/> was cancelled.</exception>
    public static ClassReport Classes(Instrument instrument, IReadOnlyList<IFurtherChecks> further, CancellationToken cancel = default) => ClassSurvey.Run(instrument, further, cancel);

    /// <summary>What moved between two revisions.</summary>
    public static Comparison Compare(Instrument old, Instrument @new) => Compare(old, @new, []);

    /// <summary>The same with checks of other fields.</summary>
    public static Comparison Compare(Instrument old, Instrument @new, IReadOnlyList<IFurtherChecks> further) => Compare(Review(old, further), Review(@new, further));

    /// <summary>The same of reviews that are there already.</summary>
    public static Comparison Compare(Review old, Review @new) => Comparer.Compare(old, @new);

    internal static Review Review(Evaluator evaluator, IReadOnlyList<IFurtherChecks>? further = null, CancellationToken cancel = default)
    {
        Evaluator moving = evaluator.Again();
        Lazy<ResponseReport?> response = new(() => ResponseBuilder.Build(moving));
        CheckContext context = new(evaluator, response);
        Evaluator[] others = [.. CheckList.Lanes.Skip(1).Select(_ => evaluator.Again())];
        Finding[][] found = new Finding[CheckList.All.Length][];
        IReadOnlyList<IFurtherChecks> fields = further ?? [];
        List<Finding>[] ofOtherFields = [.. fields.Select(_ => new List<Finding>())];
        if (fields.Count > 0)
        {
            ChainLaw.Hold(evaluator.Again());
        }

        // Solvers have buffers: each lane has an evaluator of its own. Whoever is ready first takes the next.
        Parallel.Invoke(
            [
                () => RunLane(context, CheckList.Lanes[0], found, cancel),
                .. others.Select<Evaluator, Action>((other, i) => () => RunLane(new CheckContext(other, response), CheckList.Lanes[i + 1], found, cancel)),
                .. fields.Select<IFurtherChecks, Action>((field, i) => () => RunFurther(field, ofOtherFields[i])),
            ]);
        cancel.ThrowIfCancellationRequested();
        List<Finding> findings = [.. found.SelectMany(f => f)];
        findings.AddRange(ofOtherFields.SelectMany(f => f));
        Dictionary<string, int> order = StageOrder(evaluator.Instrument);
        ImmutableArray<Finding> sorted =
        [
            .. findings.Select((f, i) => (f, i)).OrderBy(p => order.GetValueOrDefault(p.f.Stage, order.Count)).ThenBy(p => p.i).Select(p => p.f),
        ];
        return new Review(evaluator.Instrument, sorted, ReadingsBuilder.Build(evaluator, null, null))
        {
            Model = evaluator.Model,
            WorstCases = WorstCasesOf(context),
            Response = response.Value,
        };

        void RunFurther(IFurtherChecks field, List<Finding> into)
        {
            foreach (Finding finding in field.Run(evaluator.Instrument))
            {
                into.Add(finding);
                if (cancel.IsCancellationRequested)
                {
                    return;
                }
            }
        }
    }

    /// <summary>Stage names in the order of the chain, the places without a stage around them.</summary>
    public static IEnumerable<string> StagesInOrder(Instrument instrument) => StageOrder(instrument).OrderBy(p => p.Value).Select(p => p.Key);

    /// <summary>The same with their numbers.</summary>
    internal static Dictionary<string, int> StageOrder(Instrument instrument)
    {
        Dictionary<string, int> order = [];
        void Add(string name) => order.TryAdd(name, order.Count);
        Add("instrument");
        Add("sensor");
        foreach (Stage stage in instrument.Stages)
        {
            Add(stage.Name.Value);
        }

        Add(instrument.Output.Place);
        Add("supplies");
        return order;
    }

    private static void RunLane(CheckContext context, ImmutableArray<int> checks, Finding[][] found, CancellationToken cancel)
    {
        foreach (int i in checks)
        {
            if (cancel.IsCancellationRequested)
            {
                return;
            }

            found[i] = [.. CheckList.All[i].Run(context)];
        }
    }

    private static ImmutableArray<WorstCase> WorstCasesOf(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        List<(string Stage, string Name, Probe Probe)> places = [];
        foreach ((CircuitStage stage, TestPoint point) in evaluator.Model.TestPoints)
        {
            // Points behind the output converter follow the drive, which the worst cases of the range do not set.
            if (context.Model.InputStages.Contains(stage)
                && Evaluator.VoltageProbe(context.Model.Field, point.Node.Value, point.Return?.Value) is { } probe)
            {
                places.Add((stage.Name.Value, point.Name.Value, probe));
            }
        }

        List<WorstCase> result = [];
        if (places.Count > 0)
        {
            Extreme[] extremes = context.Extremes.Find([.. places.Select(p => new Reading(p.Probe))], context.RangeEnds, limited: false);
            for (int i = 0; i < places.Count; i++)
            {
                result.Add(new WorstCase(
                    places[i].Stage, places[i].Name, extremes[i].Low, extremes[i].High, "V", double.NegativeInfinity, double.PositiveInfinity));
            }
        }

        if (context.Model.Converter is { } adc && context.ConverterInput is { } input)
        {
            double full = evaluator.ConverterFullScale;
            result.Add(new WorstCase(adc.Name.Value, "converter input", input.Low, input.High, "V", adc.Bipolar ? -full : 0, full));
        }

        return [.. result];
    }
}
