using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What a fault does to the reading.</summary>
public enum FaultEffect
{
    /// <summary>Display and loop stay inside their error limits.</summary>
    Harmless,

    /// <summary>The loop signals a failure, or the display can show nothing.</summary>
    Signalled,

    /// <summary>The loop stands at an end of what measuring may use: a person sees it, a receiver need not.</summary>
    AtLimit,

    /// <summary>A wrong value that looks like a right one.</summary>
    Hidden,

    /// <summary>The equations leave the reading open: a node floats or two sources fight.</summary>
    Undefined,
}

/// <summary>One fault and what the instrument then says.</summary>
/// <param name="Fault">Such as <c>R1 open</c>.</param>
/// <param name="Display">In the middle of the range, specification's unit; NaN when it shows nothing.</param>
/// <param name="LoopValue">In the middle of the range, A; NaN without a loop or when undefined.</param>
/// <param name="Effect">The worst of the range's ends and middle.</param>
/// <param name="Remark">Why it is undefined, which amplifier stands at a limit, or what has no supply.</param>
public sealed record FaultRow(string Fault, string Stage, double Display, double LoopValue, FaultEffect Effect, string? Remark, SourceSpan Place)
{
    /// <summary>Voltage of the supply that is missing above its return in the middle of the range, V: what hangs on its node decides it. NaN for any other fault.</summary>
    public double RailVolts { get; init; } = double.NaN;
}

/// <summary>The failure-effects table of an instrument on its nominal unit.</summary>
public sealed record FaultTable(double Measurand, ImmutableArray<FaultRow> Rows);
