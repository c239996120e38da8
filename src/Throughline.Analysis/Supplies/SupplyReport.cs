using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The supplies of an instrument: the tree at typical and worst conditions, ripple, start-up, isolation.</summary>
public sealed record SupplyReport
{
    /// <summary>Middle of the measuring range and of the load, 25 °C, stated voltages, typical draws; null when the network has no operating point.</summary>
    public required SupplyPoint? Typical { get; init; }

    /// <summary>The conditions under which most stays in the instrument as heat; null as above.</summary>
    public required SupplyPoint? Hardest { get; init; }

    /// <summary>Each rail at its worst over all conditions, in the order of the file.</summary>
    public required ImmutableArray<RailWorst> Worst { get; init; }

    /// <summary>Where ripple gets to, one for each supply that makes any.</summary>
    public ImmutableArray<RippleEffect> Ripple { get; init; } = [];

    /// <summary>From power on to the first code; empty where nothing of it is stated.</summary>
    public ImmutableArray<StartPhase> Start { get; init; } = [];

    /// <summary>Each source from outside as it falls and rises; empty where nothing of starting and reset is stated.</summary>
    public ImmutableArray<BrownOut> BrownOuts { get; init; } = [];

    /// <summary>What display and loop say with each supply missing.</summary>
    public ImmutableArray<FaultRow> Missing { get; init; } = [];

    /// <summary>Every part and supply between two domains.</summary>
    public ImmutableArray<Crossing> Crossings { get; init; } = [];

    /// <summary>What the grounds do to the reading; null where none are stated.</summary>
    public GroundShift? Grounds { get; init; }
}

/// <summary>What the ripple of one supply does.</summary>
/// <param name="Rails">Rails that it reaches with its size there from peak to peak, V.</param>
/// <param name="Hertz">Its frequency.</param>
/// <param name="Display">Peak to peak at the display after averaging, in the specification's unit; NaN without a converter.</param>
/// <param name="LoopValue">Peak to peak in the loop, A; NaN without a loop.</param>
/// <param name="AveragingGain">What the mean of the readings leaves of it; 1 where its frequency is not fixed well enough to tell.</param>
public sealed record RippleEffect(
    Supply Supply, double Hertz, ImmutableArray<(string Rail, double Volts)> Rails, double Display, double LoopValue, double AveragingGain);

/// <summary>A stretch of time after power on during which nothing changes.</summary>
/// <param name="FromSeconds">Its beginning after power on, s.</param>
/// <param name="UntilSeconds">Its end, s; infinite for a processor that never starts.</param>
/// <param name="Missing">Supplies that are not there yet.</param>
/// <param name="Output">What the output converter gives, in words.</param>
/// <param name="LoopValue">Current in the loop, A; NaN where the network has no operating point.</param>
public sealed record StartPhase(double FromSeconds, double UntilSeconds, ImmutableArray<string> Missing, string Output, double LoopValue);

/// <summary>A part or supply between two domains, and what it states.</summary>
public sealed record Crossing(string Name, Quantity? Withstands, Insulation Insulation, SourceSpan Place);

/// <summary>What a voltage between two grounds does to the reading.</summary>
/// <param name="LeakageAmperes">Through the isolation, A; amplitude where the difference alternates.</param>
/// <param name="Isolated">Shift of the reading with the isolation as stated, in the specification's unit.</param>
/// <param name="Joined">The same if both sides were one; NaN where the network then has no operating point.</param>
/// <param name="LoopIsolated">Shift of the loop's current that does not come from the reading, with the isolation, A; NaN without a loop.</param>
/// <param name="LoopJoined">The same if both sides were one.</param>
public sealed record GroundShift(
    double Volts, double Hertz, double LeakageAmperes, double Isolated, double Joined, double LoopIsolated, double LoopJoined);
