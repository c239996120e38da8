using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>How a check came out.</summary>
public enum Outcome
{
    /// <summary>It holds, with room.</summary>
    Met,

    /// <summary>It holds, with less than a tenth of the allowed room left (a margin below 0.1).</summary>
    Marginal,

    NotMet,
}

/// <summary>One figure of a finding: what it is, its value and its unit as shown.</summary>
/// <param name="Name">In the trade's words.</param>
/// <param name="Value">In SI units, or in the measurand's unit where <paramref name="Unit"/> is that.</param>
/// <param name="Unit">SI unit without prefix (<c>V</c>, <c>A</c>, <c>Ω</c>), the measurand's unit, <c>%</c> never: ratios have the empty unit.</param>
public sealed record Figure(string Name, double Value, string Unit);

/// <summary>The outcome of one check.</summary>
/// <param name="Check">The check's stable name, such as <c>headroom at amplifier output</c>.</param>
/// <param name="Subject">What was checked: a stage, part or node, such as <c>U1</c>; together with the check it is unique in a review.</param>
/// <param name="Stage">The stage, or <c>sensor</c>, <c>loop</c>, <c>supplies</c>, <c>instrument</c>, under which it is listed.</param>
/// <param name="Statement">A sentence with the figures that says how it stands.</param>
/// <param name="Margin">From −1 to 1: 0 is just met, 1 is all of the allowed room left.</param>
/// <param name="Mend">What would mend it; null when met.</param>
/// <param name="Place">The place in the file that it is about.</param>
public sealed record Finding(
    string Check,
    string Subject,
    string Stage,
    Outcome Outcome,
    string Statement,
    double Margin,
    ImmutableArray<Figure> Figures,
    string? Mend,
    SourceSpan Place)
{
    /// <summary>A finding with less than this part of the allowed room left is marginal.</summary>
    public const double MarginalBelow = 0.1;

    /// <summary>A finding whose outcome follows from its margin; with nothing to mend when it is met.</summary>
    /// <param name="margin">Brought into −1 to 1. NaN means that the figures could not be had: that is not met.</param>
    public static Finding Judged(string check, string subject, string stage, double margin, string statement, ImmutableArray<Figure> figures, string? mend, SourceSpan place)
    {
        double bounded = double.IsNaN(margin) ? -1 : Math.Clamp(margin, -1, 1);
        Outcome outcome = bounded < 0 ? Outcome.NotMet : bounded < MarginalBelow ? Outcome.Marginal : Outcome.Met;
        return new Finding(check, subject, stage, outcome, statement, bounded, figures, outcome == Outcome.Met ? null : mend, place);
    }
}
