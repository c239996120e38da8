using System.Collections.Immutable;

namespace Throughline.Circuits;

/// <summary>Which slots differ from lane to lane or from solve to solve. Every other slot keeps its nominal value; the fewer vary, the faster a solve is.</summary>
public sealed record BatchSlots
{
    /// <summary>Slots that are set once for a unit and a temperature, before <see cref="BatchRun.Prepare"/>.</summary>
    public ImmutableArray<int> Fixed { get; init; } = [];

    /// <summary>Slots that change from solve to solve, such as trimmers and loads.</summary>
    public ImmutableArray<int> Changing { get; init; } = [];

    /// <summary>Slots that change from solve to solve and only move sources, so that nothing is eliminated anew: <see cref="BatchRun.SolveSources"/>.</summary>
    public ImmutableArray<int> Sources { get; init; } = [];
}
