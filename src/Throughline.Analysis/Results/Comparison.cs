using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>One fact that differs between two revisions of a file.</summary>
/// <param name="Path">Where in the file, such as <c>stages / input / R1 / resistor</c>.</param>
/// <param name="Old">As written; null when added.</param>
/// <param name="New">As written; null when removed.</param>
public sealed record Edit(string Path, string? Old, string? New, SourceSpan Place);

/// <summary>One reading or range at both revisions.</summary>
/// <param name="Stage">The stage it belongs to.</param>
/// <param name="Name">Such as <c>TP1 at 3.00 pH</c> or <c>TP2, greatest over all conditions</c>.</param>
/// <param name="Moved">Whether it differs by more than a hundred-thousandth of its size or of its column's largest value.</param>
public sealed record Movement(string Stage, string Name, double Old, double New, string Unit, bool Moved);

/// <summary>A finding whose outcome or figures differ.</summary>
/// <param name="Old">Null when the check is new.</param>
/// <param name="New">Null when it is gone.</param>
public sealed record Turned(Finding? Old, Finding? New)
{
    /// <summary>Whether the outcome itself changed, not only figures.</summary>
    public bool OutcomeChanged => Old?.Outcome != New?.Outcome;
}

/// <summary>What a change moved, stage by stage in the order of the chain, and what it left alone.</summary>
public sealed record Comparison(
    Review Old,
    Review New,
    ImmutableArray<Edit> Edits,
    ImmutableArray<Movement> Movements,
    ImmutableArray<Turned> Turned,
    ImmutableArray<string> StagesMoved,
    ImmutableArray<string> StagesUnmoved);
