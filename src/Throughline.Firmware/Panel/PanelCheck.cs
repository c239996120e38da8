using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A check of the panel: one finding with what is wrong first.</summary>
internal abstract class PanelCheck : FirmwareCheck
{
    protected const string Subject = "panel";

    /// <summary>Whether it needs to know what the screens do.</summary>
    protected virtual bool NeedsDescription => true;

    public sealed override IEnumerable<Finding> Run(Instrument instrument)
    {
        if (PanelReview.Of(instrument) is not { } review || (NeedsDescription && !review.Panel.IsDescribed))
        {
            return [];
        }

        if (NeedsDescription && !review.Space.IsWhole)
        {
            return
            [
                new Finding(
                    Description.Name, Subject, Subject, Outcome.NotMet, $"The panel has more than {Count(PanelSpace.MostStates)} states: not all of them were looked at.", -1, [],
                    "Fewer failures with screens of their own, fewer values that are entered while the user calibrates.", review.Panel.Span),
            ];
        }

        return Judge(review);
    }

    protected abstract IEnumerable<Finding> Judge(PanelReview review);

    /// <summary>The finding; met when there is no fault.</summary>
    /// <param name="margin">Of what is wrong, below 0; not read when nothing is.</param>
    protected Finding Result(PanelReview review, IReadOnlyList<PanelFault> faults, string met, ImmutableArray<Figure> figures, double margin = -1)
    {
        const int MostTold = 3;
        if (faults.Count == 0)
        {
            return new Finding(Description.Name, Subject, Subject, Outcome.Met, met, 1, figures, null, review.Panel.Measuring?.Span ?? review.Panel.Span);
        }

        string told = string.Join(" ", faults.Take(MostTold).Select(f => f.Statement)) + (faults.Count > MostTold ? $" And {Count(faults.Count - MostTold)} more." : "");
        return new Finding(
            Description.Name, Subject, Subject, Outcome.NotMet, told, margin, [new Figure("faults", faults.Count, ""), .. figures], faults[0].Mend, faults[0].Place);
    }

    protected static ImmutableArray<Figure> SpaceFigures(PanelReview review) =>
        [new Figure("states", review.Space.States.Count, ""), new Figure("transitions", review.Space.Transitions, "")];

    protected static string Count(int count) => Engineering.Number(count);

    protected static string Over(PanelReview review) => $"over {Count(review.Space.States.Count)} states and {Count(review.Space.Transitions)} transitions";
}

/// <summary>One thing that is wrong with a panel.</summary>
internal sealed record PanelFault(string Statement, string Mend, SourceSpan Place);
