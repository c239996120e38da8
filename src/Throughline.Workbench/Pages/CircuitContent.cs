using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Papers;

namespace Throughline.Workbench.Pages;

/// <summary>What the page of the circuits shows.</summary>
/// <param name="Facts">What the file says of each part: by stage and part, the key and its place.</param>
/// <param name="Response">Null when the nominal unit has no operating point.</param>
public sealed record CircuitContent(ImmutableDictionary<(string Stage, string Part), ImmutableArray<Fact>> Facts, ResponseReport? Response, FaultTable Faults)
{
    /// <summary>Each stage's drawing laid out by the voltages in the middle of the range, so that nothing jumps while the hand moves.</summary>
    public ImmutableDictionary<string, CircuitLayout> Layouts { get; init; } = ImmutableDictionary<string, CircuitLayout>.Empty;
}
