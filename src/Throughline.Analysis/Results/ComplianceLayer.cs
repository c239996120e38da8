using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>A compliance map of one unit at one temperature.</summary>
/// <param name="Name">Such as <c>stated parts, 25 °C</c>.</param>
/// <param name="IsWorst">Whether the parts are those that pass least.</param>
/// <param name="Values">Greatest controlled current, A, supply by supply, in each of them load by load; at the most the map's <see cref="ComplianceMap.Top"/>.
/// NaN where not even the least current is controlled.</param>
/// <param name="HardestLoads">For each supply the greatest load, Ω, through which the needed current is still controlled; 0 when not even a short is.</param>
/// <param name="HardestLoadsOfScale">The same for the end of the scale.</param>
public sealed record ComplianceLayer(
    string Name, double Celsius, bool IsWorst, ImmutableArray<double> Values, ImmutableArray<double> HardestLoads, ImmutableArray<double> HardestLoadsOfScale);
