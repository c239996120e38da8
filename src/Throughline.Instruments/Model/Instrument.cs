using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>A whole instrument as its file says it. Immutable; every value knows its place.</summary>
public sealed record Instrument
{
    public required Located<string> Name { get; init; }

    public Located<string>? Revision { get; init; }

    public required Specification Specification { get; init; }

    public required Sensor Sensor { get; init; }

    /// <summary>In the order of the file.</summary>
    public ImmutableArray<Supply> Supplies { get; init; } = [];

    /// <summary>What the isolation between domains has to be; null when nothing is said.</summary>
    public IsolationNeeds? Isolation { get; init; }

    /// <summary>Networks or reels of resistors that track.</summary>
    public ImmutableArray<ResistorNetwork> Networks { get; init; } = [];

    /// <summary>In the order of the file, which is the order of the signal.</summary>
    public ImmutableArray<Stage> Stages { get; init; } = [];

    /// <summary>The output and what it is connected to; null for an instrument that only shows.</summary>
    public Loop? Loop { get; init; }

    /// <summary>What it puts out; a current where it has no output.</summary>
    public OutputSignal Output => Loop?.Signal ?? OutputSignal.Current;

    /// <summary>The rail that the loop feeds, of an instrument on two wires; null for any other.</summary>
    public Supply? LoopRail => Supplies.FirstOrDefault(s => s.Kind == SupplyKind.Loop);

    public Calibration? Calibration { get; init; }

    /// <summary>In the order in which the bench performs them.</summary>
    public ImmutableArray<AdjustmentStep> Adjustment { get; init; } = [];

    /// <summary>What the bench adjusts with.</summary>
    public BenchSection Bench { get; init; } = BenchSection.None;

    /// <summary>How values lie between their limits.</summary>
    public SpreadSection Spread { get; init; } = SpreadSection.None;

    /// <summary>What it may cost; null when the file says nothing of it.</summary>
    public CostSection? Cost { get; init; }

    /// <summary>Prices of the parts files.</summary>
    public PriceTable Prices { get; init; } = PriceTable.Empty;

    public MemorySection? Memory { get; init; }

    public PanelSection? Panel { get; init; }

    public required SourceText Source { get; init; }

    /// <summary>The whole file.</summary>
    public SourceSpan Span { get; init; }

    /// <summary>Every number of it that may move, in the order of the signal; one that several parts share comes more than once.</summary>
    public IEnumerable<Parameter> Parameters => ParametersOf(Sensor, Supplies, Stages, Loop, Calibration, Bench, Adjustment);

    internal static IEnumerable<Parameter> ParametersOf(
        Sensor? sensor, ImmutableArray<Supply> supplies, ImmutableArray<Stage> stages, Loop? loop, Calibration? calibration,
        BenchSection bench, ImmutableArray<AdjustmentStep> adjustment)
    {
        IEnumerable<Parameter?> all =
        [
            .. sensor?.Parameters ?? [],
            .. supplies.Select(s => s.Voltage),
            .. stages.OfType<CircuitStage>().SelectMany(s => s.Parts).SelectMany(p => p.Parameters),
            .. stages.SelectMany(OwnOf),
            loop?.Supply,
            loop?.Clamps?.Leakage,
            loop?.SeriesResistance,
            .. calibration?.Standards.Select(s => s.Value) ?? [],
            .. adjustment.IsEmpty && loop?.Trim is null ? [] : OfBench(),
        ];
        return all.OfType<Parameter>();

        // What the bench is wrong by, and where the hand leaves the trimmers that it turns.
        IEnumerable<Parameter?> OfBench()
        {
            HashSet<string> turned = [.. adjustment.Select(s => s.Turn.Value)];
            return
            [
                bench.Meter.Error, bench.Meter.Fixed, bench.Ammeter.Error, bench.Ammeter.Fixed, bench.Source.Error, bench.Source.Fixed,
                .. adjustment.Select(s => s.MeterCounts),
                loop?.Trim?.LowCounts, loop?.Trim?.HighCounts,
                .. stages.OfType<CircuitStage>().SelectMany(s => s.Parts).Where(p => turned.Contains(p.Name.Value)).OfType<ITrimmer>().Select(t => t.Setting),
            ];
        }

        static Parameter?[] OwnOf(Stage stage) => stage switch
        {
            ConverterStage c => [c.Reference, c.ReferenceAgeing, c.Nonlinearity, c.Offset, c.GainError, c.InputCurrent, c.InputResistance],
            ArithmeticStage a => [a.TemperatureError],
            OutputConverterStage d => [d.Reference, d.ReferenceAgeing, d.Nonlinearity, d.Offset, d.GainError, d.OutputResistance],
            _ => [],
        };
    }
}

/// <summary>What the instrument has to meet.</summary>
public sealed record Specification
{
    /// <summary>What is measured, such as <c>pH</c>, <c>temperature</c>, <c>mass</c>.</summary>
    public required Located<string> Measurand { get; init; }

    /// <summary>The unit of the measurand as shown to people; numbers are kept in <see cref="Dimension"/>'s unit times <see cref="UnitFactor"/>.</summary>
    public required string Unit { get; init; }

    /// <summary>The kind of quantity of the measurand.</summary>
    public required Dimension Dimension { get; init; }

    /// <summary>How many of the dimension's own unit one <see cref="Unit"/> is: 0.001 for mV, 1 for pH, °C and kg. Every measurand in the model and
    /// in results is a count of <see cref="Unit"/>.</summary>
    public double UnitFactor { get; init; } = 1;

    /// <summary>Measuring range, in <see cref="Unit"/>.</summary>
    public required QuantityRange Range { get; init; }

    /// <summary>Step of the display, in <see cref="Unit"/>; null without a display.</summary>
    public Quantity? DisplayStep { get; init; }

    /// <summary>Greatest allowed error at the display, in <see cref="Unit"/>.</summary>
    public ErrorLimit? DisplayError { get; init; }

    /// <summary>Greatest allowed error at the loop.</summary>
    public ErrorLimit? LoopError { get; init; }

    /// <summary>Ambient temperature, °C; 25 °C alone when nothing is said.</summary>
    public required QuantityRange Ambient { get; init; }

    /// <summary>Temperature of what is measured, °C; 25 °C alone when nothing is said.</summary>
    public required QuantityRange Process { get; init; }

    /// <summary>T90, s.</summary>
    public Quantity? Response { get; init; }

    /// <summary>Time between calibrations, s.</summary>
    public Quantity? CalibrationInterval { get; init; }

    /// <summary>Faults that the loop has to signal, such as <c>sensor open</c> or <c>A5 missing</c>; names as in the table of faults.</summary>
    public ImmutableArray<Located<string>> Signals { get; init; } = [];

    public SourceSpan Span { get; init; }
}

/// <summary>A limit of error: either absolute, in the unit of what it limits, or a fraction of span.</summary>
public sealed record ErrorLimit(Quantity Quantity, bool OfSpan)
{
    /// <summary>The limit in the unit of what it limits.</summary>
    /// <param name="span">The span it refers to, in the same unit.</param>
    public double Absolute(double span) => OfSpan ? Quantity.Tolerance * span : Quantity.Tolerance;
}

/// <summary>The output as the receiver sees it: a current loop with the receiver in it, or a voltage with the receiver across it.</summary>
public sealed record Loop
{
    /// <summary>What a stage that drives a current goes to, and what a meter in the loop stands at.</summary>
    public const string Word = "loop";

    /// <summary>The owner of the parameters of a voltage output.</summary>
    internal const string VoltageOwner = "output";

    /// <summary>What flows or stands there; values of the output are in its unit.</summary>
    public OutputSignal Signal { get; init; } = OutputSignal.Current;

    /// <summary>The instrument's terminals; of a current the second is where it returns to the instrument when it sources, leaves it when it sinks; a voltage is that of the first against the second.</summary>
    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    /// <summary>Measurand (in the specification's unit) against the output (A or V), two or more points in the order of the file.</summary>
    public required ImmutableArray<ScalePoint> Scale { get; init; }

    /// <summary>Least and greatest output while measuring, A or V.</summary>
    public Quantity? Under { get; init; }

    public Quantity? Over { get; init; }

    /// <summary>Output that signals a failure, A or V.</summary>
    public Quantity? Failure { get; init; }

    /// <summary>What the output test sets, A or V.</summary>
    public QuantityRange? Test { get; init; }

    /// <summary>Resistance of the receiver and of whatever else the file counts with it, Ω.</summary>
    public required QuantityRange Receiver { get; init; }

    /// <summary>The cable to the receiver; null when none is stated.</summary>
    public LoopCable? Cable { get; init; }

    /// <summary>Resistance of a barrier in the loop, Ω; null without one.</summary>
    public QuantityRange? Barrier { get; init; }

    /// <summary>Surge clamps across the terminals; null without any.</summary>
    public LoopClamps? Clamps { get; init; }

    /// <summary>Digital communication on the loop; null when none is asked for.</summary>
    public LoopCommunication? Communication { get; init; }

    /// <summary>The trim of the output; null when the instrument has none.</summary>
    public LoopTrim? Trim { get; init; }

    /// <summary>All resistance that the output works into, Ω. In a current loop receiver and barrier, and at the most the whole cable where it is hottest: a cable may always be
    /// shorter than stated, so the least is without it. Of a voltage the receiver alone: see <see cref="SeriesResistance"/>.</summary>
    public QuantityRange Load => Signal.IsVoltage ? Receiver : Receiver with
    {
        Low = Receiver.Low + (Barrier?.Low ?? 0),
        High = Receiver.High + (Barrier?.High ?? 0) + (Cable?.GreatestResistance ?? 0),
    };

    /// <summary>The load as what it asks of the output: of a current its resistance, Ω; of a voltage its conductance, S. Nothing is asked at 0, and an error grows in proportion to it.</summary>
    public QuantityRange Burden => Signal.IsVoltage ? Load with { Low = BurdenOf(Load.High), High = BurdenOf(Load.Low) } : Load;

    /// <summary>The load that asks most of the output, Ω.</summary>
    public double HardLoad => Signal.IsVoltage ? Load.Low : Load.High;

    /// <summary>The load that asks least of it, Ω.</summary>
    public double EasyLoad => Signal.IsVoltage ? Load.High : Load.Low;

    /// <summary>What a resistance asks, see <see cref="Burden"/>.</summary>
    public double BurdenOf(double ohms) => Signal.IsVoltage ? 1 / ohms : ohms;

    /// <summary>The resistance that asks so much, Ω.</summary>
    public double OhmsOf(double burden) => Signal.IsVoltage ? 1 / burden : burden;

    /// <summary>Resistance of both cores of the cable between a voltage and its receiver, Ω, from none to all of it; null for a current, or without a cable.</summary>
    public Parameter? SeriesResistance { get; init; }

    /// <summary>What the cable puts across a voltage, F; null when none is stated.</summary>
    public Quantity? CableCapacitance { get; init; }

    /// <summary>Voltage in series with the load when the loop is fed from outside, V; null when the instrument feeds it.</summary>
    public Parameter? Supply { get; init; }

    /// <summary>Ripple of <see cref="Supply"/>, V peak to peak, at twice the frequency of the mains; null when none is stated.</summary>
    public Quantity? SupplyRipple { get; init; }

    /// <summary>Noise and ripple of the output that the receiver takes, A or V peak to peak; null when not said.</summary>
    public Quantity? NoiseLimit { get; init; }

    public SourceSpan Span { get; init; }
}

/// <summary>One pair of values of a scale, an intent or a constant in the code.</summary>
/// <param name="From">The value that goes in.</param>
/// <param name="To">The value that comes out, with its tolerance where one is said.</param>
public sealed record ScalePoint(Quantity From, Quantity To, SourceSpan Span);

/// <summary>One step at the bench: set the sources, turn a trimmer until a meter reads.</summary>
public sealed record AdjustmentStep
{
    public required Located<string> Name { get; init; }

    /// <summary>What replaces the sensor or a node during the step: the name is the sensor's first node, another node, or <c>output code</c>.</summary>
    public ImmutableArray<SetSource> With { get; init; } = [];

    /// <summary>Jumpers that are in another position during the step, and links that are taken out (<see cref="Opened"/>).</summary>
    public ImmutableArray<MovedJumper> Jumpers { get; init; } = [];

    /// <summary>The word for a jumper or link that is taken out.</summary>
    public const string Opened = "out";

    /// <summary>The trimmer to turn.</summary>
    public required Located<string> Turn { get; init; }

    /// <summary>Test point or node that the meter is on; <c>loop</c> for the loop's current.</summary>
    public required Located<string> Meter { get; init; }

    /// <summary>Whether the meter reads the loop's current.</summary>
    public bool IsAtLoop => Meter.Value == Loop.Word;

    /// <summary>Unit of what the meter reads: A or V.</summary>
    public string MeterUnit => QuantityText.UnitOf(IsAtLoop ? Dimension.Current : Dimension.Voltage);

    /// <summary>What it shall read, with the tolerance.</summary>
    public required Quantity Target { get; init; }

    /// <summary>Digits of the meter, such as 4.5; null when not said.</summary>
    public double? MeterDigits { get; init; }

    /// <summary>One step of the meter's last digit, V or A; 0 when its digits are not said.</summary>
    public double MeterCount { get; init; }

    /// <summary>What the meter's digits may be wrong by in this step, V or A, about 0; null when they are not said.</summary>
    public Parameter? MeterCounts { get; init; }

    public SourceSpan Span { get; init; }
}

/// <summary>A jumper or link as it is during a step.</summary>
/// <param name="Position">One of the jumper's, or <see cref="AdjustmentStep.Opened"/>.</param>
public sealed record MovedJumper(Located<string> Part, Located<string> Position);

/// <summary>A source that the bench sets.</summary>
public sealed record SetSource(Located<string> Node, Quantity Value);
