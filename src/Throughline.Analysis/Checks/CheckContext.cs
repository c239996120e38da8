using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What every check works on: the evaluator, the worst cases that several checks share, and the words for figures.</summary>
internal sealed partial class CheckContext
{
    /// <summary>A finding with less than this part of the allowed room left is marginal.</summary>
    public const double MarginalBelow = Analysis.Finding.MarginalBelow;

    private readonly Lazy<ImmutableArray<AmplifierExtremes>> _amplifiers;
    private readonly Lazy<Extreme?> _converter;
    private readonly Lazy<ResponseReport?> _response;
    private readonly Lazy<CalibrationReport?> _calibration;
    private readonly Lazy<ImmutableArray<BudgetTable>> _rated;
    private readonly Lazy<Compliance?> _compliance;
    private readonly Lazy<ImmutableArray<LoopCondition>> _loopConditions;
    private readonly Lazy<LoopNoise?> _loopNoise;
    private readonly Lazy<OutputTrimEffect?> _trimEffect;
    private readonly Lazy<OutputStates> _states;

    /// <param name="response">The response, found with an evaluator of its own, where others need it too; null to find it with this one.</param>
    public CheckContext(Evaluator evaluator, Lazy<ResponseReport?>? response = null)
    {
        Evaluator = evaluator;
        Extremes = new Extremes(evaluator);
        _amplifiers = new Lazy<ImmutableArray<AmplifierExtremes>>(FindAmplifiers);
        _converter = new Lazy<Extreme?>(FindConverter);
        _response = response ?? new Lazy<ResponseReport?>(() => ResponseBuilder.Build(evaluator));
        _calibration = new Lazy<CalibrationReport?>(() => CalibrationSurvey.Build(evaluator, AllowedError));
        _compliance = new Lazy<Compliance?>(() => Analysis.Compliance.Of(this));
        _loopConditions = new Lazy<ImmutableArray<LoopCondition>>(() => new LoopConditionsBuilder(this).Build());
        _loopNoise = new Lazy<LoopNoise?>(() => LoopNoiseBuilder.Build(this));
        _trimEffect = new Lazy<OutputTrimEffect?>(() => OutputTrimEffectBuilder.Build(this));
        _states = new Lazy<OutputStates>(() => new OutputStates(Instrument.Loop!));
        _rated = new Lazy<ImmutableArray<BudgetTable>>(() => new BudgetBuilder(this).Rated());
    }

    public Evaluator Evaluator { get; }

    public Extremes Extremes { get; }

    public Model Model => Evaluator.Model;

    public Instrument Instrument => Evaluator.Instrument;

    public Specification Specification => Instrument.Specification;

    /// <summary>What the instrument puts out; a current where it has no output.</summary>
    public OutputSignal Signal => Instrument.Output;

    /// <summary>What values of the output mean to a receiver; there has to be an output.</summary>
    public OutputStates States => _states.Value;

    /// <summary>Every amplifier's room at its output and inputs, worst cases; see <see cref="AmplifierExtremes"/>.</summary>
    public ImmutableArray<AmplifierExtremes> Amplifiers => _amplifiers.Value;

    /// <summary>The converter's input voltage, worst cases over the measuring range, without amplifier limits; null without a converter.</summary>
    public Extreme? ConverterInput => _converter.Value;

    /// <summary>Response, noise and stability of the nominal unit; null when it has no operating point.</summary>
    public ResponseReport? Response => _response.Value;

    /// <summary>What the user's calibration lets through and leaves; null when the user does not calibrate.</summary>
    public CalibrationReport? Calibration => _calibration.Value;

    /// <summary>What the output passes at its rated load; null when nothing drives it.</summary>
    public Compliance? Compliance => _compliance.Value;

    /// <summary>What happens in the ways in which the loop may be loaded or connected; none without a loop.</summary>
    public ImmutableArray<LoopCondition> LoopConditions => _loopConditions.Value;

    /// <summary>Noise and ripple of the loop's current; null without a loop or an operating point.</summary>
    public LoopNoise? LoopNoise => _loopNoise.Value;

    /// <summary>What the trim of the output takes away; null without one.</summary>
    public OutputTrimEffect? TrimEffect => _trimEffect.Value;

    /// <summary>Error budgets of display and loop over rated conditions, at the ends and quarters of the range; empty without an operating point.</summary>
    public ImmutableArray<BudgetTable> RatedBudgets => _rated.Value;

    /// <summary>The error allowed at the display, in the specification's unit: as stated, else the loop's referred to the measurand, else 1 % of the range.</summary>
    public double AllowedError =>
        Specification.DisplayError is { } display ? display.Absolute(Specification.Range.Width)
        : Specification.LoopError is { OfSpan: true } loop ? loop.Quantity.Tolerance * Specification.Range.Width
        : Specification.LoopError is { } absolute && Evaluator.LoopScale is { } scale ? absolute.Quantity.Tolerance / Math.Abs(scale.Slope)
        : 0.01 * Specification.Range.Width;

    /// <summary>The error allowed at the loop or the voltage output, in its unit: as stated, else that of the display referred to the loop.</summary>
    public double AllowedLoopError
    {
        get
        {
            double span = LoopSpan;
            return Specification.LoopError is { } loop ? loop.Absolute(span)
                : AllowedError / Specification.Range.Width * span;
        }
    }

    /// <summary>What lies between the ends of the output's scale, A or V.</summary>
    public double LoopSpan => Evaluator.LoopScale is { } s ? Math.Abs(s.To[^1] - s.To[0]) : double.NaN;

    /// <summary>Seven points over the measuring range, ends included.</summary>
    public IEnumerable<double> RangePoints
    {
        get
        {
            for (int i = 0; i <= 6; i++)
            {
                yield return Specification.Range.Low + (Specification.Range.Width * i / 6);
            }
        }
    }

    /// <summary>Two scenarios: the measurand at either end of its range.</summary>
    public ImmutableArray<Scenario> RangeEnds =>
    [
        new Scenario(At(Specification.Range.Low), s => s.Measurand = Specification.Range.Low),
        new Scenario(At(Specification.Range.High), s => s.Measurand = Specification.Range.High),
    ];

    /// <summary>Makes a finding; the outcome follows from the margin. A figure without an end is one that does not exist: NaN.</summary>
    public static Finding Finding(
        Check check, string subject, string stage, double margin, string statement, ImmutableArray<Figure> figures, string? mend, SourceSpan place)
    {
        ImmutableArray<Figure> finite = figures.Any(f => double.IsInfinity(f.Value))
            ? [.. figures.Select(f => double.IsInfinity(f.Value) ? f with { Value = double.NaN } : f)]
            : figures;
        return Analysis.Finding.Judged(check.Name, subject, stage, margin, statement, finite, mend, place);
    }

    /// <summary>The size of an error by which the worst is chosen: one that could not be had is the worst of all.</summary>
    public static double SizeOf(double error) => double.IsNaN(error) ? double.PositiveInfinity : Math.Abs(error);

    /// <summary>How many bits more a step takes that is so many times too large, in words; where no number does, the limit itself is at fault.</summary>
    public static string MoreBits(double times)
    {
        if (!double.IsFinite(times))
        {
            return "A limit that a converter can meet";
        }

        int bits = Math.Max(1, (int)Math.Ceiling(Math.Log2(times)));
        return bits == 1 ? "One more bit" : FormattableString.Invariant($"{bits} more bits");
    }

    /// <summary>Room left as a margin: 1 with no error at all, 0 at the limit, −1 at twice the limit and beyond.</summary>
    public static double MarginOf(double error, double allowed) =>
        double.IsNaN(error) || double.IsNaN(allowed) ? double.NaN : allowed > 0 ? 1 - (Math.Abs(error) / allowed) : error == 0 ? 1 : -1;

    /// <summary>A value of the measurand in words.</summary>
    public string At(double measurand) =>
        Specification.Unit == "pH" ? "pH " + Engineering.Number(measurand, 3) : Engineering.WithUnit(Engineering.Number(measurand, 4), Specification.Unit);

    /// <summary>A difference of the measurand in words.</summary>
    public string Difference(double difference, bool signed = false, int digits = 2) =>
        Engineering.WithUnit(Engineering.Number(difference, digits, signed), Specification.Unit);

    /// <summary>The stage that holds a part, by the part's name; the part's name itself when none does.</summary>
    public string StageOf(string part)
    {
        foreach (CircuitStage stage in Model.CircuitStages)
        {
            if (stage.Parts.Any(p => p.Name.Value == part))
            {
                return stage.Name.Value;
            }
        }

        return part;
    }

    public SourceSpan PlaceOf(string part)
    {
        foreach (Part p in Model.Parts)
        {
            if (p.Name.Value == part)
            {
                return p.Span;
            }
        }

        return Instrument.Span;
    }

    /// <summary>Says so where a step sets, in the sensor's place, what is far from anything that the sensor gives; null where it does not.</summary>
    public string? FarFromSensor(AdjustmentStep step)
    {
        foreach (SetSource source in step.With)
        {
            bool isSensor = Instrument.Sensor.Terminals.Any(t => t.Node.Value == source.Node.Value);
            if (isSensor && IsFarFromSensor(source.Value.Value, out string gives))
            {
                return $"Step {step.Name.Value} sets {Engineering.Format(source.Value.Value, SignalUnit)}, but the sensor gives {gives}: set a value of that size.";
            }
        }

        return null;
    }

    /// <summary>Says so where the intent of the first stage begins with what is far from anything that the sensor gives; null where it does not.</summary>
    public string? FarFromSensor(CircuitStage stage, string unit)
    {
        foreach (ScalePoint point in stage.Intent)
        {
            if (unit == SignalUnit && Model.InputStages.FirstOrDefault() == stage && IsFarFromSensor(point.From.Value, out string gives))
            {
                return $"The intent has {Engineering.Format(point.From.Value, unit)}, but the sensor gives {gives}: state the intent for values of that size.";
            }
        }

        return null;
    }

    /// <summary>Whether a signal is more than ten times greater than any in the measuring range; and what the sensor gives there.</summary>
    private bool IsFarFromSensor(double signal, out string gives)
    {
        double low = Instrument.Sensor.NominalSignal(Specification.Range.Low, UnitState.ReferenceCelsius);
        double high = Instrument.Sensor.NominalSignal(Specification.Range.High, UnitState.ReferenceCelsius);
        gives = $"{Engineering.Range(Math.Min(low, high), Math.Max(low, high), SignalUnit, 3)} over the range";
        return Instrument.Sensor.SignalKind is SignalKind.Voltage or SignalKind.Resistance && Math.Abs(signal) > 10 * Math.Max(Math.Abs(low), Math.Abs(high));
    }

    /// <summary>The unit of the sensor's signal.</summary>
    public string SignalUnit => Instrument.Sensor.SignalKind switch
    {
        SignalKind.Voltage => "V",
        SignalKind.Resistance => "Ω",
        SignalKind.Current => "A",
        _ => "V/V",
    };

    /// <summary>The voltage that the reading is made of, or the loop's current where nothing else is; null when there is neither.</summary>
    public Probe? Observed => Evaluator.ObservedProbe(Model.Field);

    /// <summary>Solves with the sensor and reads <see cref="Observed"/>, without amplifier limits; NaN when it can't.</summary>
    public double Observe(UnitState state) =>
        Observed is { } probe && Evaluator.Field.Solve(state, limited: false).Status == SolveStatus.Solved
            ? Evaluator.Field.Read(new Reading(probe), state)
            : double.NaN;

    /// <summary>Change of the measurand per change of what is observed, at a value of the measurand, on the nominal unit.</summary>
    /// <param name="process">Temperature of the process, °C; null for that of the reference conditions.</param>
    public double MeasurandPerVolt(double measurand, double? process = null)
    {
        double step = Specification.Range.Width * 1e-3;
        UnitState state = Evaluator.NewState();
        state.ProcessCelsius = process ?? state.ProcessCelsius;
        state.Measurand = measurand - step;
        double low = Observe(state);
        state.Measurand = measurand + step;
        double high = Observe(state);
        return 2 * step / (high - low);
    }

    /// <summary>Voltage at the converter on the nominal unit, without limits.</summary>
    public double ConverterVolts(double measurand)
    {
        UnitState state = Evaluator.NewState();
        state.Measurand = measurand;
        return Evaluator.Chain(state, limited: false).ConverterVolts;
    }

    /// <summary>What the output must be able to give, least and greatest, A or V, the output test's least apart.</summary>
    public (double Low, double High) LoopValues
    {
        get
        {
            Loop loop = Instrument.Loop!;
            List<double> all = [.. loop.Scale.Select(p => p.To.Value)];
            if (loop.Under is { } under)
            {
                all.Add(under.Value);
            }

            if (loop.Over is { } over)
            {
                all.Add(over.Value);
            }

            if (loop.Failure is { } failure)
            {
                all.Add(failure.Value);
            }

            double least = all.Min();
            if (loop.Test is { } test)
            {
                all.Add(test.High);
            }

            return (least, all.Max());
        }
    }

    /// <summary>Sets a state's drive so that, by the intended transfer, the output has a value.</summary>
    public void Drive(UnitState state, double value)
    {
        if (Model.OutputConverter is not null)
        {
            state.DriveVolts = Evaluator.NearestOutputCode(state.OutputTrim.Of(Evaluator.OutputCodeOf(value))) * Evaluator.VoltsPerOutputCode;
        }
        else if (Evaluator.OutputTransfer is { } transfer)
        {
            state.SimulatedSignal = transfer.Inverse(value);
        }
    }

    private Extreme? FindConverter() =>
        Evaluator.ConverterProbe(Model.Field) is { } probe ? Extremes.Find(new Reading(probe), RangeEnds, limited: false) : null;

    private ImmutableArray<AmplifierExtremes> FindAmplifiers()
    {
        BoundNetwork network = Model.Field;
        List<(AmplifierPins Pins, int First, int Count)> index = [];
        List<Reading> readings = [];
        foreach (AmplifierPins pins in network.Amplifiers)
        {
            int first = readings.Count;
            // The output's two limits are one group, the inputs' limits another.
            int group = 2 * index.Count;
            readings.AddRange(AmplifierExtremes.ReadingsOf(pins, network).Select((r, i) => r with { Group = group + (i < 2 ? 1 : 2) }));
            index.Add((pins, first, readings.Count - first));
        }

        if (readings.Count == 0)
        {
            return [];
        }

        Extreme[] extremes = Extremes.Find(readings, AmplifierScenarios(), limited: false);
        return [.. index.Select(i => AmplifierExtremes.Create(i.Pins, extremes.AsSpan(i.First, i.Count), network))];
    }

    /// <summary>The measuring side follows the measurand, the output side the drive; neither moves the other, so both are moved at once.</summary>
    private ImmutableArray<Scenario> AmplifierScenarios()
    {
        if (Instrument.Loop is not { } loop)
        {
            return RangeEnds;
        }

        (double least, double greatest) = LoopValues;
        Scenario Make(double x, double value, double load) =>
            new(
                At(x),
                s =>
                {
                    s.Measurand = x;
                    s.Burden = load;
                    if (Model.OutputConverter is not null)
                    {
                        Drive(s, value);
                    }
                });
        (double low, double high) = (Specification.Range.Low, Specification.Range.High);
        return
        [
            Make(low, least, loop.Burden.Low),
            Make(high, greatest, loop.Burden.High),
            Make(low, least, loop.Burden.High),
            Make(high, greatest, loop.Burden.Low),
        ];
    }
}

/// <summary>Worst-case room of one amplifier, V; negative is what is missing. NaN where the part states no limit.</summary>
internal sealed record AmplifierExtremes(AmplifierPins Pins)
{
    /// <summary>Output below its upper limit.</summary>
    public double OutputBelow { get; init; } = double.NaN;

    /// <summary>Output above its lower limit.</summary>
    public double OutputAbove { get; init; } = double.NaN;

    /// <summary>The higher input below the end of the guaranteed range.</summary>
    public double InputBelow { get; init; } = double.NaN;

    /// <summary>The lower input above the start of the guaranteed range.</summary>
    public double InputAbove { get; init; } = double.NaN;

    /// <summary>Where the least room at the upper and the lower output limit is, and at the inputs.</summary>
    public UnitState? AtOutputBelow { get; init; }

    public UnitState? AtOutputAbove { get; init; }

    public UnitState? AtInputBelow { get; init; }

    public UnitState? AtInputAbove { get; init; }

    /// <summary>Readings in a fixed order: output below, output above, then for both inputs below and above.</summary>
    public static IEnumerable<Reading> ReadingsOf(AmplifierPins pins, BoundNetwork network)
    {
        NodeId Node(string name) => network.Find(name) ?? throw new InvalidOperationException($"No node {name}.");
        NodeId output = Node(pins.Output);
        if (pins.IsIsolation)
        {
            // The positive pin's room is limit − voltage, read as −(voltage) less −(limit).
            if (pins.OutputHigh is { } high && pins.OutputLow is { } low)
            {
                yield return new Reading(Probe.Voltage(Node(pins.Negative), output), s => -high(s), Sides: Sides.Low);
                yield return new Reading(Probe.Voltage(output, Node(pins.Negative)), low, Sides: Sides.Low);
            }

            if (pins.InputHigh is { } inHigh && pins.InputLow is { } inLow)
            {
                yield return new Reading(Probe.Voltage(Node(pins.Minus), Node(pins.Plus)), s => -inHigh(s), Sides: Sides.Low);
                yield return new Reading(Probe.Voltage(Node(pins.Plus), Node(pins.Minus)), inLow, Sides: Sides.Low);
            }

            yield break;
        }

        yield return new Reading(Probe.Voltage(Node(pins.Positive), output), pins.Limits.SwingBelowPositive, Sides: Sides.Low);
        yield return new Reading(Probe.Voltage(output, Node(pins.Negative)), pins.Limits.SwingAboveNegative, Sides: Sides.Low);
        if (pins.Limits.InputBelowPositive is { } below)
        {
            yield return new Reading(Probe.Voltage(Node(pins.Positive), Node(pins.Plus)), below, Sides: Sides.Low);
            yield return new Reading(Probe.Voltage(Node(pins.Positive), Node(pins.Minus)), below, Sides: Sides.Low);
        }

        if (pins.Limits.InputAboveNegative is { } above)
        {
            yield return new Reading(Probe.Voltage(Node(pins.Plus), Node(pins.Negative)), above, Sides: Sides.Low);
            yield return new Reading(Probe.Voltage(Node(pins.Minus), Node(pins.Negative)), above, Sides: Sides.Low);
        }
    }

    public static AmplifierExtremes Create(AmplifierPins pins, ReadOnlySpan<Extreme> extremes, BoundNetwork network)
    {
        _ = network;
        AmplifierExtremes result = new(pins);
        if (pins.IsIsolation)
        {
            int k = 0;
            if (pins.OutputHigh is not null && pins.OutputLow is not null)
            {
                result = result with
                {
                    OutputBelow = extremes[0].Low,
                    AtOutputBelow = extremes[0].AtLow,
                    OutputAbove = extremes[1].Low,
                    AtOutputAbove = extremes[1].AtLow,
                };
                k = 2;
            }

            return extremes.Length == k
                ? result
                : result with
                {
                    InputBelow = extremes[k].Low,
                    AtInputBelow = extremes[k].AtLow,
                    InputAbove = extremes[k + 1].Low,
                    AtInputAbove = extremes[k + 1].AtLow,
                };
        }

        result = result with
        {
            OutputBelow = extremes[0].Low,
            AtOutputBelow = extremes[0].AtLow,
            OutputAbove = extremes[1].Low,
            AtOutputAbove = extremes[1].AtLow,
        };
        int next = 2;
        if (pins.Limits.InputBelowPositive is not null)
        {
            Extreme tighter = extremes[next].Low <= extremes[next + 1].Low ? extremes[next] : extremes[next + 1];
            result = result with { InputBelow = tighter.Low, AtInputBelow = tighter.AtLow };
            next += 2;
        }

        if (pins.Limits.InputAboveNegative is not null)
        {
            Extreme tighter = extremes[next].Low <= extremes[next + 1].Low ? extremes[next] : extremes[next + 1];
            result = result with { InputAbove = tighter.Low, AtInputAbove = tighter.AtLow };
        }

        return result;
    }
}
