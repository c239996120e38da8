namespace Throughline.Analysis;

/// <summary>Between which ends a voltage or current moves over all adjusted units and rated conditions, and what it may do.</summary>
/// <param name="Stage">The stage it belongs to.</param>
/// <param name="Name">Such as <c>TP1</c> or <c>U1 output</c>.</param>
/// <param name="LimitLow">What the part or converter can do at the least; −∞ when nothing is stated.</param>
/// <param name="LimitHigh">What it can do at the most; +∞ when nothing is stated.</param>
public sealed record WorstCase(string Stage, string Name, double Low, double High, string Unit, double LimitLow, double LimitHigh);
