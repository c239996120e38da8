using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>The far end of the chain: what the loop says, passes and survives.</summary>
public sealed record LoopReport
{
    /// <summary>Values of the output and their meaning, rising.</summary>
    public required ImmutableArray<LoopScaleRow> Scale { get; init; }

    /// <summary>Values asked for by hand, read back.</summary>
    public ImmutableArray<LoopScaleRow> Asked { get; init; } = [];

    /// <summary>Whether NAMUR NE 43 says what they mean to a receiver; else the instrument's own limits do.</summary>
    public required bool IsByRecommendation { get; init; }

    /// <summary>What the output can pass; null when nothing drives it.</summary>
    public required Compliance? Compliance { get; init; }

    /// <summary>The same over load and supply; null when nothing drives the output.</summary>
    public required ComplianceMap? Map { get; init; }

    public required ImmutableArray<LoopCondition> Conditions { get; init; }

    /// <summary>Null when the nominal unit has no operating point.</summary>
    public required LoopNoise? Noise { get; init; }

    /// <summary>What the trim of the output takes away; null without one.</summary>
    public OutputTrimEffect? Trim { get; init; }
}
