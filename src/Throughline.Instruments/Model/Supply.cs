using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What a supply is.</summary>
public enum SupplyKind
{
    /// <summary>Comes from outside.</summary>
    Dc,
    LinearRegulator,
    SwitchingConverter,
    IsolatedConverter,
    ChargePump,
    Battery,

    /// <summary>A reference whose output feeds a rail.</summary>
    Reference,

    /// <summary>A diode in series, against reversed connection.</summary>
    ProtectionDiode,

    Fuse,

    /// <summary>Takes away the current that its rail does not need of one that a resistor or a source of current feeds it.</summary>
    ShuntRegulator,

    /// <summary>What the loop feeds of an instrument on two wires: the loop's own current, behind the terminals.</summary>
    Loop,
}

/// <summary>A rail: a voltage between its node and its return.</summary>
public sealed record Supply
{
    /// <summary>Also the name of its node.</summary>
    public required Located<string> Name { get; init; }

    public required SupplyKind Kind { get; init; }

    /// <summary>The word of its kind, such as <c>linear regulator</c>.</summary>
    public string KindWord { get; init; } = "";

    /// <summary>The supply that feeds it; null for one from outside.</summary>
    public Located<string>? From { get; init; }

    /// <summary>Voltage above its return, V; negative for a negative rail. That of what feeds it for a part in series (<see cref="IsInSeries"/>).</summary>
    public required Parameter Voltage { get; init; }

    /// <summary>The node of its return: its own, or that of the supply that feeds it.</summary>
    public required Located<string> Return { get; init; }

    /// <summary>Greatest current, A; a fuse's rating.</summary>
    public Quantity? Limit { get; init; }

    /// <summary>Least voltage between input and output, V.</summary>
    public Quantity? Dropout { get; init; }

    /// <summary>Junction to ambient, K/W.</summary>
    public Quantity? Junction { get; init; }

    /// <summary>Highest temperature of the junction, °C; null when not said.</summary>
    public Quantity? JunctionLimit { get; init; }

    /// <summary>Output power over input power, what it takes without load left out.</summary>
    public Quantity? Efficiency { get; init; }

    /// <summary>Isolation voltage, V.</summary>
    public Quantity? Withstands { get; init; }

    /// <summary>What it takes from its input without load, A.</summary>
    public Quantity? Quiescent { get; init; }

    /// <summary>Resistance in series with its output, Ω; by how much the voltage of a shunt regulator rises with what it takes away.</summary>
    public Quantity? OutputResistance { get; init; }

    /// <summary>Forward voltage of a protection diode, V.</summary>
    public Quantity? Drop { get; init; }

    /// <summary>Input voltages that it works with, V; null when not said.</summary>
    public QuantityRange? Input { get; init; }

    /// <summary>Ripple at its output, V from peak to peak; null when it makes none.</summary>
    public Quantity? Ripple { get; init; }

    /// <summary>Frequency of its ripple, Hz.</summary>
    public Quantity? RippleFrequency { get; init; }

    /// <summary>Frequency (Hz) against the ratio of ripple at its input to that at its output, by frequency; empty when not said.</summary>
    public ImmutableArray<ScalePoint> RippleRejection { get; init; } = [];

    /// <summary>Time from its input to its output being there, s.</summary>
    public Quantity? StartsIn { get; init; }

    /// <summary>What feeds a shunt regulator: a resistance, Ω, or a current, A.</summary>
    public Quantity? Feed { get; init; }

    /// <summary>Least current with which a shunt regulator holds its voltage, A; null for none.</summary>
    public Quantity? LeastShunt { get; init; }

    /// <summary>Greatest current that a shunt regulator takes away, A; null when not said.</summary>
    public Quantity? GreatestShunt { get; init; }

    /// <summary>Charge of a battery, C.</summary>
    public Quantity? Capacity { get; init; }

    /// <summary>How long a battery has to last, s.</summary>
    public Quantity? Lasts { get; init; }

    /// <summary>What it takes its output from besides the drawn circuit and further supplies.</summary>
    public ImmutableArray<Draw> Draws { get; init; } = [];

    /// <summary>How it isolates, see <see cref="Withstands"/>.</summary>
    public Insulation? Insulation { get; init; }

    public SourceSpan Span { get; init; }

    /// <summary>Whether the current of its output flows through it from its input, whose return it shares, with nothing that regulates.</summary>
    public bool IsInSeries => Kind is SupplyKind.ProtectionDiode or SupplyKind.Fuse;

    /// <summary>Whether its current reaches it from its input through a resistor or a source, and it takes away what is too much.</summary>
    public bool IsShunt => Kind == SupplyKind.ShuntRegulator;

    /// <summary>Whether what flows into its input is in the network by itself.</summary>
    public bool IsFedInNetwork => IsInSeries || IsShunt || IsLoopFed;

    /// <summary>Whether it lives on the loop's current, itself the <see cref="SupplyKind.Loop"/> or fed by it through others: then every ampere of it flows in the
    /// network, because it is loop current.</summary>
    public bool IsLoopFed { get; init; }

    /// <summary>Whether what it feeds is part of the network: its output falls with the current, or its current is the loop's.</summary>
    public bool Sags => IsFedInNetwork || OutputResistance is not null;
}

/// <summary>A consumer that is not drawn as a circuit.</summary>
/// <param name="Name">A stage, <c>panel</c>, <c>link</c>, or a name of the user's own.</param>
/// <param name="Current">A, out of a positive rail and into a negative one.</param>
public sealed record Draw(Located<string> Name, Quantity Current)
{
    /// <summary>The greatest current, A: the stated one where no maximum is.</summary>
    public double Greatest => double.IsFinite(Current.High) ? Current.High : Current.Value;
}
