using System.Collections.Immutable;

namespace Throughline.Json;

/// <summary>What <c>loop --json</c> writes.</summary>
internal sealed record LoopDocument
{
    public string Format { get; } = "throughline.loop";

    public int Version { get; } = 1;

    public required string File { get; init; }

    public required ImmutableArray<MistakeShape> Mistakes { get; init; }

    public required InstrumentShape? Instrument { get; init; }

    public required LoopReportShape? Loop { get; init; }
}

internal sealed record LoopReportShape(
    LoopLoadShape Load,
    ImmutableArray<LoopRowShape> Scale,
    ImmutableArray<LoopRowShape> Asked,
    ComplianceShape? Compliance,
    ComplianceMapShape? Map,
    ImmutableArray<LoopConditionShape> Conditions,
    LoopNoiseShape? Noise,
    OutputTrimShape? Trim);

internal sealed record LoopLoadShape(double Least, double Greatest, double ReceiverLeast, double ReceiverGreatest, double CableGreatest);

internal sealed record LoopRowShape(
    string Name, double? Share, double? Measurand, string Unit, double? Current, string Meaning, double? Code, double? Drive, double? ReceiverVoltage)
{
    /// <summary>In place of the current where the output is a voltage.</summary>
    public double? Voltage { get; init; }
}

internal sealed record ComplianceShape(
    double? Needed, double? Worst, double? Nominal, double? GreatestLoadWorst, double? GreatestLoadNominal, string? Supply, double? SupplyNeeded, bool Met)
{
    /// <summary>In place of the greatest loads where the output is a voltage: the least across which it still is controlled.</summary>
    public double? LeastLoadWorst { get; init; }

    public double? LeastLoadNominal { get; init; }
}

internal sealed record ComplianceMapShape(
    string? Supply, ImmutableArray<double?> Supplies, ImmutableArray<double> Loads, double Needed, double EndOfScale, double Top, ImmutableArray<MapLayerShape> Layers);

internal sealed record MapLayerShape(string Name, double Ambient, bool WorstParts, ImmutableArray<ImmutableArray<double?>> Currents, ImmutableArray<double?> GreatestLoads)
{
    /// <summary>In place of the currents where the output is a voltage.</summary>
    public ImmutableArray<ImmutableArray<double?>> Voltages { get; init; } = [];

    public ImmutableArray<double?> LeastLoads { get; init; } = [];
}

internal sealed record LoopConditionShape(
    string Kind, string Name, double? Current, double? Shift, string? Part, double? PartCurrent, double? Heat, double? AllowedHeat, double? Junction, string Harm, string? Remark);

internal sealed record LoopNoiseShape(
    double? PeakToPeak, double? Rms, double? CircuitRms, double? ReadingRms, double? CodeStep, bool CodeMoves, double? Ripple, double? PulseRipple, double From, double To, ImmutableArray<LoopNoiseCauseShape> Causes);

internal sealed record LoopNoiseCauseShape(string Part, string Kind, double? Rms, double? Share);
