namespace Throughline.Analysis;

/// <summary>How a loop is connected other than as drawn.</summary>
/// <param name="IsReversed">Whether the two wires are exchanged.</param>
/// <param name="ForeignVolts">Voltage of a supply that the receiver brings along though the instrument feeds the loop, V; null without one.</param>
internal sealed record LoopWiring(bool IsReversed, double? ForeignVolts = null);
