using System.Collections.Immutable;

namespace Throughline.Json;

/// <summary>What <c>supplies --json</c> writes.</summary>
internal sealed record SuppliesDocument
{
    public string Format { get; } = "throughline.supplies";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required SupplyReportShape? Supplies { get; init; }
}

internal sealed record SupplyReportShape(
    SupplyPointShape? Typical, SupplyPointShape? Hardest, ImmutableArray<RailWorstShape> Worst, ImmutableArray<RippleShape> Ripple, ImmutableArray<StartPhaseShape> Start,
    ImmutableArray<BrownOutShape> BrownOuts, ImmutableArray<FaultShape> Missing, GroundShiftShape? Grounds);

internal sealed record SupplyPointShape(
    string Conditions, ImmutableArray<RailShape> Rails, double? Outside, double? Other, double? Circuit, double? Loop, double? Draws, double? Loss, double? Unaccounted);

internal sealed record RailShape(
    string Name, string Kind, string? From, double? InputVoltage, double? InputCurrent, double? Voltage, double? Circuit, double? Draws, double? Supplies, double? Current, double? Loss,
    double? Headroom, double? Junction, double? Efficiency);

internal sealed record RailWorstShape(
    string Name, double? Current, string CurrentAt, double? Headroom, string HeadroomAt, double? Loss, string LossAt, double? Junction, string JunctionAt);

internal sealed record RippleShape(string Supply, double? Frequency, ImmutableArray<RailRippleShape> Rails, double? Display, double? Loop, double? Averaging);

internal sealed record RailRippleShape(string Rail, double? Voltage);

internal sealed record StartPhaseShape(double? From, double? Until, ImmutableArray<string> Missing, string Output, double? Loop);

internal sealed record BrownOutShape(string Source, ImmutableArray<BrownOutStretchShape> Stretches, ImmutableArray<string> Unstated);

internal sealed record BrownOutStretchShape(
    double? High, double? Low, ImmutableArray<string> Gone, ImmutableArray<string> Sagging, string Processor, BrownOutLoopShape Falling, BrownOutLoopShape Rising);

internal sealed record BrownOutLoopShape(string Output, double? Least, double? Greatest, bool False);

internal sealed record GroundShiftShape(
    double? Difference, double? Frequency, double? Leakage, double? Isolated, double? Joined, double? LoopIsolated, double? LoopJoined);
