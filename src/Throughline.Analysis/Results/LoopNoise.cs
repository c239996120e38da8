using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>Noise and ripple of the loop's current.</summary>
public sealed record LoopNoise
{
    /// <summary>Band of the noise, Hz.</summary>
    public required double FromHertz { get; init; }

    public required double ToHertz { get; init; }

    /// <summary>Of the circuit behind the output converter, or of the whole circuit without one, A, root mean square.</summary>
    public required double CircuitRms { get; init; }

    /// <summary>The display's noise carried over by the arithmetic, A, root mean square; 0 without a converter.</summary>
    public required double ReadingRms { get; init; }

    /// <summary>One code of the output converter, A; 0 without one.</summary>
    public required double CodeStep { get; init; }

    /// <summary>Whether the noise of the reading makes the code change.</summary>
    public required bool CodeMoves { get; init; }

    /// <summary>What the loop supply's ripple makes of itself, A peak to peak; 0 when none is stated.</summary>
    public required double Ripple { get; init; }

    /// <summary>What a pulse-width output leaves of its pulses, A peak to peak; 0 without one.</summary>
    public required double PulseRipple { get; init; }

    /// <summary>Everything, A, root mean square.</summary>
    public required double Rms { get; init; }

    /// <summary>Everything, A: 6.6 standard deviations of what is noise, the step, the ripple and the pulses.</summary>
    public required double PeakToPeak { get; init; }

    /// <summary>Causes, greatest first; their <see cref="NoiseCause.Rms"/> in A.</summary>
    public required ImmutableArray<NoiseCause> Causes { get; init; }
}
