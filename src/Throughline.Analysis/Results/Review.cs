using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Everything that follows from one instrument file.</summary>
/// <param name="Findings">Grouped by stage in the order of the chain, then by check.</param>
/// <param name="Readings">At the range's ends and quarters, under the reference conditions.</param>
public sealed record Review(Instrument Instrument, ImmutableArray<Finding> Findings, ReadingsTable Readings)
{
    /// <summary>Worst cases of test points and of the converter's input, in the order of the chain.</summary>
    public ImmutableArray<WorstCase> WorstCases { get; init; } = [];

    /// <summary>How fast, quiet and stable the nominal unit is; null when it has no operating point.</summary>
    public ResponseReport? Response { get; init; }

    /// <summary>The instrument compiled.</summary>
    internal Model Model
    {
        get => field is { } known && known.Instrument == Instrument ? known : Model.Compile(Instrument);
        init;
    }

    public int NotMet => Findings.Count(f => f.Outcome == Outcome.NotMet);

    public int Marginal => Findings.Count(f => f.Outcome == Outcome.Marginal);

    public int Met => Findings.Count(f => f.Outcome == Outcome.Met);
}
