using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>One step of the signal chain.</summary>
public abstract record Stage
{
    public required Located<string> Name { get; init; }

    public SourceSpan Span { get; init; }
}

/// <summary>A circuit: parts between nodes.</summary>
public sealed record CircuitStage : Stage
{
    public ImmutableArray<Part> Parts { get; init; } = [];

    /// <summary>The node or pair of nodes where the signal comes in; the second is null when it is the return.</summary>
    public Located<string>? From { get; init; }

    public Located<string>? FromReturn { get; init; }

    /// <summary>The node or pair where it goes out; the word <c>loop</c> when it is the loop's current.</summary>
    public Located<string>? To { get; init; }

    public Located<string>? ToReturn { get; init; }

    /// <summary>What the stage is meant to do: two or more points, in the order of the file; empty when nothing is said.
    /// The first value is a voltage between the incoming nodes, a resistance of the sensor or, for a ratiometric sensor, a ratio.</summary>
    public ImmutableArray<ScalePoint> Intent { get; init; } = [];

    public ImmutableArray<TestPoint> TestPoints { get; init; } = [];
}

/// <summary>A named place for a meter.</summary>
/// <param name="Node">The node, or the first of a pair.</param>
/// <param name="Return">The node the meter's other lead is on; null is the return of the node's own island.</param>
public sealed record TestPoint(Located<string> Name, Located<string> Node, Located<string>? Return);

/// <summary>Voltage to code.</summary>
public sealed record ConverterStage : Stage
{
    public required Located<string> Input { get; init; }

    /// <summary>The other input; null is the return of the input's island.</summary>
    public Located<string>? InputReturn { get; init; }

    public required int Bits { get; init; }

    /// <summary>Whether codes run from −2^(bits−1) to 2^(bits−1) − 1 instead of from 0 to 2^bits − 1.</summary>
    public bool Bipolar { get; init; }

    /// <summary>Gain before the converter, V/V.</summary>
    public double Gain { get; init; } = 1;

    /// <summary>The converter's own reference, V; null when it is taken from the network.</summary>
    public Parameter? Reference { get; init; }

    /// <summary>Drift of its own reference with time, 1/s; null when it does not age.</summary>
    public Parameter? ReferenceAgeing { get; init; }

    /// <summary>Its own reference in a unit, aged, V; NaN when it is taken from the network.</summary>
    public double ReferenceVolts(IUnitState state) => Reference is null ? double.NaN : Laws.Aged(state.Value(Reference), ReferenceAgeing, state);

    /// <summary>Nodes whose difference is the reference; null with a reference of its own.</summary>
    public (Located<string> Plus, Located<string>? Minus)? ReferenceNodes { get; init; }

    /// <summary>Integral nonlinearity, LSB.</summary>
    public Parameter? Nonlinearity { get; init; }

    /// <summary>Offset error, V at the input.</summary>
    public Parameter? Offset { get; init; }

    /// <summary>Gain error as a ratio, about 0.</summary>
    public Parameter? GainError { get; init; }

    /// <summary>Current into the input, A.</summary>
    public Parameter? InputCurrent { get; init; }

    /// <summary>Resistance from the input to its return, Ω.</summary>
    public Parameter? InputResistance { get; init; }

    /// <summary>Voltage over which it is linear, V; null is the whole range.</summary>
    public QuantityRange? Linear { get; init; }

    /// <summary>Voltages that its pins survive, V; null when not said.</summary>
    public QuantityRange? Absolute { get; init; }

    /// <summary>Noise of one reading, LSB, root mean square; null when not said.</summary>
    public Quantity? Noise { get; init; }

    /// <summary>Readings averaged into one.</summary>
    public int Average { get; init; } = 1;

    /// <summary>Time between readings, s.</summary>
    public Quantity? Every { get; init; }
}

/// <summary>How the sensor's temperature effect is taken out.</summary>
public enum Compensation
{
    /// <summary>The process temperature is measured and used.</summary>
    Measured,

    /// <summary>A fixed temperature is assumed.</summary>
    Fixed,
}

/// <summary>Codes to measurand and measurand to output code.</summary>
public sealed record ArithmeticStage : Stage
{
    /// <summary>The converter stage whose codes it reads; null is the one before it.</summary>
    public Located<string>? From { get; init; }

    /// <summary>Constants that the code holds: converter code (or voltage at the converter) against the sensor's signal. Empty when they follow
    /// from the stages' intents.</summary>
    public ImmutableArray<ScalePoint> Scaling { get; init; } = [];

    /// <summary>Constants that the code holds for the output: loop current against output code (or voltage). Empty when they follow from the intents.</summary>
    public ImmutableArray<ScalePoint> OutputScaling { get; init; } = [];

    /// <summary><c>one-point</c>, <c>two-point</c>, … as written; null when the user does not calibrate.</summary>
    public Located<string>? Calibration { get; init; }

    public Compensation Compensation { get; init; } = Compensation.Measured;

    /// <summary>The temperature assumed by <see cref="Compensation.Fixed"/>, °C.</summary>
    public Quantity? AssumedTemperature { get; init; }

    /// <summary>Error of the process temperature that <see cref="Compensation.Measured"/> takes, K, about 0; null when not said.</summary>
    public Parameter? TemperatureError { get; init; }

    /// <summary>Indicated values outside of which the code signals a failure, in the specification's unit; null when it signals none.</summary>
    public QuantityRange? Plausible { get; init; }

    /// <summary>Time from leaving reset to the first code written, s; null is at once.</summary>
    public Quantity? StartsIn { get; init; }

    /// <summary>Supply voltage below which the processor is in reset, V; null when not said.</summary>
    public Quantity? ResetsBelow { get; init; }

    /// <summary>Bits of the widest word that the code computes with.</summary>
    public int WordBits { get; init; } = 32;

    /// <summary>What the designer fixed of the integer arithmetic; the rest is chosen.</summary>
    public ArithmeticChoices Choices { get; init; } = ArithmeticChoices.None;
}

/// <summary>What the designer fixed of the integer arithmetic.</summary>
public sealed record ArithmeticChoices
{
    public static ArithmeticChoices None { get; } = new();

    /// <summary>The word that the readings are summed in; null leaves the choice.</summary>
    public Located<int>? SumBits { get; init; }

    /// <summary>The word of every product; null leaves the choice.</summary>
    public Located<int>? ProductBits { get; init; }

    /// <summary>Whether divisions and shifts cut off towards zero instead of going to the nearest.</summary>
    public Located<bool>? Truncates { get; init; }

    /// <summary>What rounding may add to a reading, in the specification's unit; null is a tenth of the display's step.</summary>
    public Quantity? RoundingLimit { get; init; }

    /// <summary>One step of the measurand inside the code, in the specification's unit; null leaves the choice.</summary>
    public Quantity? Resolution { get; init; }

    /// <summary>The fraction that takes the code to the signal; null leaves the choice.</summary>
    public CodeFraction? Fraction { get; init; }
}

/// <summary>Code × multiplier / divisor = steps of the sensor's signal.</summary>
/// <param name="Step">One step, in the unit of the sensor's signal.</param>
/// <param name="DividesFirst">Whether the quotient of the two constants is taken first, which leaves a whole number of it.</param>
public sealed record CodeFraction(int Multiply, int Divide, Quantity Step, bool DividesFirst, SourceSpan Span);

/// <summary>How the codes get to a converter on the other side.</summary>
public sealed record DigitalLink(Located<string> Kind, Quantity? Withstands, SourceSpan Span)
{
    /// <summary>How it isolates, its withstand voltage apart.</summary>
    public Insulation Insulation { get; init; } = new();
}

/// <summary>What an output converter gives before its first code.</summary>
public enum ResetOutput
{
    /// <summary>Code 0.</summary>
    Zero,

    /// <summary>The middle code.</summary>
    Middle,

    /// <summary>Its output is open.</summary>
    Open,
}

/// <summary>Code to voltage: by a converter, or by the width of pulses (<see cref="Clock"/>).</summary>
public sealed record OutputConverterStage : Stage
{
    public required Located<string> Output { get; init; }

    public Located<string>? OutputReturn { get; init; }

    public required int Bits { get; init; }

    /// <summary>Of a pulse-width output, the clock that the width is counted in, Hz; null for a converter.</summary>
    public Quantity? Clock { get; init; }

    /// <summary>Frequency of the pulses, Hz: 2^bits counts of the clock are one period; null for a converter.</summary>
    public double? PulseHertz => Clock is { } clock ? Math.ScaleB(clock.Value, -Bits) : null;

    /// <summary>Gain behind the converter, V/V.</summary>
    public double Gain { get; init; } = 1;

    public Parameter? Reference { get; init; }

    /// <summary>As for <see cref="ConverterStage.ReferenceAgeing"/>.</summary>
    public Parameter? ReferenceAgeing { get; init; }

    public (Located<string> Plus, Located<string>? Minus)? ReferenceNodes { get; init; }

    public Parameter? Nonlinearity { get; init; }

    public Parameter? Offset { get; init; }

    public Parameter? GainError { get; init; }

    public Parameter? OutputResistance { get; init; }

    /// <summary>Its own reference in a unit, aged, V; NaN when it is taken from the network.</summary>
    public double ReferenceVolts(IUnitState state) => Reference is null ? double.NaN : Laws.Aged(state.Value(Reference), ReferenceAgeing, state);

    /// <summary>The digital isolator in front of it; null when the codes come over plain wires.</summary>
    public DigitalLink? Link { get; init; }

    /// <summary>What it gives before the first code.</summary>
    public ResetOutput AtReset { get; init; }

    /// <summary>Whether it goes to its reset state whenever the processor is in reset or without supply, as the pulses of the processor's own timer do; else it
    /// then keeps its last code.</summary>
    public bool ResetsWithProcessor { get; init; }
}
