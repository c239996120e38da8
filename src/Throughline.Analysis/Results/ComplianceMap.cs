using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an output can pass over load and supply.</summary>
public sealed record ComplianceMap
{
    /// <summary>Resistance between the terminals, Ω, rising from 0.</summary>
    public required ImmutableArray<double> Loads { get; init; }

    /// <summary>The supply that feeds the loop from outside, else the one that decides, such as <c>loop supply</c> or <c>L18</c>; null when no supply moves what the output can pass.</summary>
    public required string? SupplyName { get; init; }

    /// <summary>Its voltage, V, rising; one NaN without a deciding supply.</summary>
    public required ImmutableArray<double> Supplies { get; init; }

    /// <summary>Rated load, Ω.</summary>
    public required (double Low, double High) RatedLoad { get; init; }

    /// <summary>Rated voltage of the deciding supply, V; NaN without one.</summary>
    public required (double Low, double High) RatedSupply { get; init; }

    /// <summary>Greatest current that the loop must carry, A.</summary>
    public required double Needed { get; init; }

    /// <summary>Greatest current of the scale, A.</summary>
    public required double ScaleEnd { get; init; }

    /// <summary>Currents above this are not told apart, A.</summary>
    public required double Top { get; init; }

    public required ImmutableArray<ComplianceLayer> Layers { get; init; }

    /// <summary>The current of a layer at a supply and a load, by their numbers.</summary>
    /// <summary>What the output gives: of a current less load is easier, of a voltage more.</summary>
    public required OutputSignal Signal { get; init; }

    public double At(ComplianceLayer layer, int supply, int load) => layer.Values[(supply * Loads.Length) + load];
}
