using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>When a unit is tested.</summary>
public enum Moment
{
    /// <summary>Trimmers where the file says, never calibrated, at reference conditions.</summary>
    AsBuilt,

    /// <summary>After the adjustment at the bench, at reference conditions.</summary>
    Adjusted,

    /// <summary>After the user's calibration, at reference conditions.</summary>
    Calibrated,

    /// <summary>At the end of the time between calibrations, at an end of the rated conditions.</summary>
    Rated,

    /// <summary>At any time until the next calibration, under any rated conditions: drawn for each unit.</summary>
    InUse,
}

/// <summary>Conditions under which every point is tested.</summary>
/// <param name="Name">In the trade's words; unique.</param>
/// <param name="Ambient">°C; NaN when drawn.</param>
/// <param name="Process">°C; NaN when drawn.</param>
/// <param name="AgeSeconds">s; NaN when drawn.</param>
internal sealed record TestConditions(Moment Moment, string Name, double Ambient, double Process, double AgeSeconds);

/// <summary>What is done to every unit of a batch: how it is drawn, adjusted, calibrated and where it is tested. Immutable; shared by threads.</summary>
internal sealed class LifePlan
{
    private readonly Evaluator _evaluator;

    private LifePlan(Evaluator evaluator, ImmutableArray<double> points, bool onlyFull)
    {
        _evaluator = evaluator;
        Model model = evaluator.Model;
        Model = model;
        Points = points;
        Contributions = Analysis.Contributions.Of(model);
        Tests = CreateTests(model.Instrument.Specification);
        NoiseCodes = NoiseOf(evaluator);
        Input = CreateInput(evaluator, onlyFull);
        Output = CreateOutput(evaluator, onlyFull);
        Bench = [.. model.Instrument.Adjustment.Select(step => CreateBench(evaluator, step, onlyFull))];
        (LeastCode, SignalOfCode) = TabulateCodes(evaluator);
        DisplayLimit = model.Instrument.Specification.DisplayError?.Absolute(model.Instrument.Specification.Range.Width) ?? double.NaN;
        LoopSpan = evaluator.LoopScale is { } scale ? Math.Abs(scale.To[^1] - scale.To[0]) : double.NaN;
        LoopLimit = model.Instrument.Specification.LoopError?.Absolute(LoopSpan) ?? double.NaN;
        LoopCentres = [.. points.Select(x => evaluator.LoopScale?.Forward(x) ?? double.NaN)];
        NoiseNames = CreateNoiseNames();
        Calibrator calibrator = new(model.Instrument);
        HasCalibration = calibrator.Points > 0 && HasDisplay;
        ZeroUnit = calibrator.ZeroUnit;
        ZeroScale = double.IsFinite(calibrator.AcceptZero) && calibrator.AcceptZero > 0 ? calibrator.AcceptZero : calibrator.ZeroUnit == "V" ? 1e-3 : model.Instrument.Specification.Range.Width / 100;
        StandardCelsius = model.Instrument.Calibration?.Temperature.Middle ?? UnitState.ReferenceCelsius;
    }

    public Model Model { get; }

    /// <summary>Values of the measurand at which every unit is tested.</summary>
    public ImmutableArray<double> Points { get; }

    public ImmutableArray<Contribution> Contributions { get; }

    public ImmutableArray<TestConditions> Tests { get; }

    /// <summary>The network in use up to the converter: its meters are the converter's input and, where it is taken from nodes, its reference. Null without a converter.</summary>
    public StationPlan? Input { get; }

    /// <summary>The network in use with the loop's current as meter; null without a loop.</summary>
    public StationPlan? Output { get; }

    /// <summary>Step by step of the adjustment.</summary>
    public ImmutableArray<BenchPlan> Bench { get; }

    /// <summary>The first code of <see cref="SignalOfCode"/>.</summary>
    public double LeastCode { get; }

    /// <summary>The signal that the code takes each code for; empty where there are too many to list.</summary>
    public ImmutableArray<double> SignalOfCode { get; }

    /// <summary>Standard deviation of the noise of one reading, in codes of the converter.</summary>
    public double NoiseCodes { get; }

    /// <summary>Names of the random streams of noise: of each test and point, then of each standard. Empty without noise.</summary>
    public ImmutableArray<string> NoiseNames { get; }

    /// <summary>In the measurand's unit; NaN when nothing is asked.</summary>
    public double DisplayLimit { get; }

    /// <summary>A; NaN when nothing is asked.</summary>
    public double LoopLimit { get; }

    /// <summary>A.</summary>
    public double LoopSpan { get; }

    /// <summary>What the loop should carry at each point, A.</summary>
    public ImmutableArray<double> LoopCentres { get; }

    /// <summary>Whether anything is displayed.</summary>
    public bool HasDisplay => Model.Converter is not null;

    public bool HasLoop => Model.Instrument.Loop is not null;

    /// <summary>Whether the user calibrates it.</summary>
    public bool HasCalibration { get; }

    /// <summary>V, or the measurand's unit.</summary>
    public string ZeroUnit { get; }

    /// <summary>About how far zeros spread, in <see cref="ZeroUnit"/>.</summary>
    public double ZeroScale { get; }

    /// <summary>Temperature of the standards where it is not drawn, °C.</summary>
    public double StandardCelsius { get; }

    /// <summary>The contribution with a target that only one can have; −1 without one.</summary>
    public int IndexOf(ContributionTarget target)
    {
        for (int i = 0; i < Contributions.Length; i++)
        {
            if (Contributions[i].Target == target)
            {
                return i;
            }
        }

        return -1;
    }

    /// <summary>The random streams: contributions first, then noise.</summary>
    public IEnumerable<string> StreamNames => Contributions.Select(c => c.Name).Concat(NoiseNames);

    /// <param name="points">Null takes the range's ends and quarters.</param>
    /// <param name="onlyFull">Whether every unit goes to the full solver, which is slow and what the programs for many units are measured by.</param>
    public static LifePlan Create(Model model, IReadOnlyList<double>? points = null, bool onlyFull = false) =>
        Create(new Evaluator(model), points, onlyFull);

    /// <summary>The same with an evaluator that is there already; it is the plan's from then on.</summary>
    public static LifePlan Create(Evaluator evaluator, IReadOnlyList<double>? points = null, bool onlyFull = false) =>
        new(evaluator, points is null ? ReadingsBuilder.DefaultPoints(evaluator.Instrument.Specification) : [.. points], onlyFull);

    /// <summary>An evaluator of the instrument with buffers of its own.</summary>
    public Evaluator CreateEvaluator()
    {
        lock (_evaluator)
        {
            return _evaluator.Again();
        }
    }

    private static StationPlan? CreateInput(Evaluator evaluator, bool onlyFull)
    {
        BoundNetwork field = evaluator.Model.Field;
        if (evaluator.ConverterProbe(field) is not { } converter)
        {
            return null;
        }

        ImmutableArray<Reading> meters = evaluator.Model.Converter!.ReferenceNodes is { } nodes
            && Evaluator.VoltageProbe(field, nodes.Plus.Value, nodes.Minus?.Value) is { } reference
                ? [new Reading(converter), new Reading(reference)]
                : [new Reading(converter)];
        return StationPlan.Create(evaluator, null, MiddleOf(evaluator), meters, [UnitState.Of.Measurand], trimmer: -1, limited: true, onlyFull);
    }

    private static StationPlan? CreateOutput(Evaluator evaluator, bool onlyFull)
    {
        if (evaluator.Model.Instrument.Loop is null)
        {
            return null;
        }

        // Without a converter in between the measurand itself drives the loop.
        UnitState.Of[] moving = evaluator.Model.OutputConverter is null ? [UnitState.Of.Measurand] : [UnitState.Of.Drive];
        ImmutableArray<Reading> meters = [new Reading(evaluator.Model.Field.Output!.Value)];
        return StationPlan.Create(evaluator, null, MiddleOf(evaluator), meters, moving, trimmer: -1, limited: true, onlyFull);
    }

    private static BenchPlan CreateBench(Evaluator evaluator, AdjustmentStep step, bool onlyFull)
    {
        UnitState point = evaluator.NewState();
        evaluator.SetSources(point, step, evaluator.Nominal.DriveVolts);
        int trimmer = evaluator.Model.TrimmerIndex(step.Turn.Value);
        StationPlan? Of(bool limited) => evaluator.MeterProbe(step) is { } meter
            ? StationPlan.Create(evaluator, step, point, [meter], [], trimmer, limited, onlyFull)
            : null;
        return new BenchPlan(Of(limited: false), Of(limited: true), point.DriveVolts, point.SimulatedSignal);
    }

    /// <summary>A nominal unit in the middle of its range, output and all.</summary>
    private static UnitState MiddleOf(Evaluator evaluator)
    {
        UnitState state = evaluator.NewState();
        state.Measurand = evaluator.Instrument.Specification.Range.Middle;
        evaluator.Chain(state);
        return state;
    }

    private static (double Least, ImmutableArray<double> Signals) TabulateCodes(Evaluator evaluator)
    {
        const int MostCodes = 1 << 16;
        (double low, double high) = evaluator.CodeRange;
        return !(high - low < MostCodes) ? (0, []) : (low, [.. Enumerable.Range(0, (int)(high - low) + 1).Select(i => evaluator.SignalOfCode(low + i))]);
    }

    private ImmutableArray<string> CreateNoiseNames() =>
        NoiseCodes > 0
            ?
            [
                .. Tests.SelectMany(t => Points.Select((_, p) => FormattableString.Invariant($"noise, {t.Name}, point {p + 1}"))),
                .. Enumerable.Range(0, Model.Instrument.Calibration?.Standards.Length ?? 0).Select(s => FormattableString.Invariant($"noise, standard {s + 1}")),
            ]
            : [];

    private static ImmutableArray<TestConditions> CreateTests(Specification s)
    {
        double process = Math.Clamp(UnitState.ReferenceCelsius, s.Process.Low, s.Process.High);
        double age = s.CalibrationInterval?.Value ?? 0;
        List<TestConditions> tests =
        [
            new(Moment.AsBuilt, "as built", UnitState.ReferenceCelsius, process, 0),
            new(Moment.Adjusted, "after adjustment", UnitState.ReferenceCelsius, process, 0),
            new(Moment.Calibrated, "after calibration", UnitState.ReferenceCelsius, process, 0),
        ];
        foreach (double ambient in Ends(s.Ambient))
        {
            foreach (double temperature in Ends(s.Process))
            {
                string name = (s.Ambient.Width > 0, s.Process.Width > 0) switch
                {
                    (true, true) => $"ambient {Celsius(ambient)}, process {Celsius(temperature)}",
                    (true, false) => $"ambient {Celsius(ambient)}",
                    (false, true) => $"process {Celsius(temperature)}",
                    _ => "end of the interval",
                };
                tests.Add(new TestConditions(Moment.Rated, name, ambient, temperature, age));
            }
        }

        tests.Add(new TestConditions(Moment.InUse, "in use", double.NaN, double.NaN, double.NaN));
        return [.. tests];

        static string Celsius(double celsius) => Engineering.WithUnit(Engineering.Number(celsius), "°C");

        static double[] Ends(QuantityRange range) => range.Width > 0 ? [range.Low, range.High] : [range.Low];
    }

    /// <summary>The noise of the parts as the converter counts it; the rounding to whole codes is done on every reading and is not in it.</summary>
    private static double NoiseOf(Evaluator evaluator)
    {
        if (evaluator.Model.Converter is null || ResponseBuilder.Build(evaluator) is not { } report)
        {
            return 0;
        }

        double squares = report.Noise.Where(n => n.Part != ResponseBuilder.Quantisation).Sum(n => n.Rms * n.Rms);
        UnitState state = evaluator.NewState();
        Specification s = evaluator.Instrument.Specification;
        double step = s.Range.Width * 1e-3;
        state.Measurand = s.Range.Middle + step;
        double up = evaluator.Chain(state).ExactCode;
        state.Measurand = s.Range.Middle - step;
        double codes = Math.Sqrt(squares) * Math.Abs(up - evaluator.Chain(state).ExactCode) / (2 * step);
        return double.IsFinite(codes) ? codes : 0;
    }
}

/// <summary>One step of the adjustment as blocks of units perform it.</summary>
/// <param name="Free">With amplifiers that know no limit, for the search; null when there is no such meter.</param>
/// <param name="Limited">With amplifiers as they are.</param>
/// <param name="DriveVolts">What the output converter is told to give, V.</param>
/// <param name="SimulatedSignal">What is set in the sensor's place, in the unit of its signal.</param>
internal sealed record BenchPlan(StationPlan? Free, StationPlan? Limited, double DriveVolts, double SimulatedSignal);
