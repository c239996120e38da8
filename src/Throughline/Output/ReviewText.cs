using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>A review for a person: findings by stage, those that need a hand first, each with its figures.</summary>
internal static class ReviewText
{
    private const int Indent = 2;
    private const string Between = ", ";

    /// <param name="page">Where to.</param>
    /// <param name="review">What.</param>
    /// <param name="isFull">Whether what is met gets its sentence and place too.</param>
    public static void Write(Page page, Review review, bool isFull)
    {
        Title(page, review.Instrument);
        page.Line(review.Instrument.Source.Name, Ink.Quiet);
        page.Line();

        // Check and subject share a column: long names of checks have short subjects, and the bars stand one below the other.
        int nameWidth = Widest(review.Findings.Select(f => NameOf(f, isUnderItsStage: true)), 60);
        foreach (IGrouping<string, Finding> stage in review.Findings.GroupBy(f => f.Stage))
        {
            page.Line(stage.Key, Ink.Strong);
            foreach (Finding finding in stage.OrderByDescending(f => f.Outcome))
            {
                Row(page, finding, nameWidth, isFull);
            }

            page.Line();
        }

        if (isFull && !review.WorstCases.IsEmpty)
        {
            WorstCases(page, review);
        }

        Counts(page, review.NotMet, review.Marginal, review.Met);
        page.End();
    }

    /// <summary>Name and revision.</summary>
    public static void Title(Page page, Instrument instrument)
    {
        page.Write(instrument.Name.Value, Ink.Strong);
        if (instrument.Revision is Located<string> revision)
        {
            page.Write(", revision " + revision.Value);
        }

        page.End();
    }

    /// <summary><c>2 not met · 1 marginal · 24 met</c>, without an end of line.</summary>
    public static void Counts(Page page, int notMet, int marginal, int met)
    {
        page.Write(Engineering.Fixed(notMet, 0) + " not met", notMet > 0 ? Ink.NotMet : Ink.Plain).Write(" · ");
        page.Write(Engineering.Fixed(marginal, 0) + " marginal", marginal > 0 ? Ink.Marginal : Ink.Plain).Write(" · ");
        page.Write(Engineering.Fixed(met, 0) + " met");
    }

    /// <summary>What was checked on what; returns the columns that it takes. Under its stage's heading a subject of that name is not said again.</summary>
    public static int Name(Page page, Finding finding, Ink ink, bool isUnderItsStage)
    {
        string name = Cells.Clean(NameOf(finding, isUnderItsStage));
        page.Write(name[..finding.Check.Length], ink).Write(name[finding.Check.Length..]);
        return Cells.Width(name);
    }

    /// <summary>What stands under a finding that needs a hand: how it stands, what mends it, where.</summary>
    public static void Details(Page page, Finding finding, int indent)
    {
        page.Paragraph(indent, "", finding.Statement);
        if (finding.Mend is string mend)
        {
            page.Paragraph(indent, "Mend  ", mend);
        }

        if (!finding.Place.IsNowhere)
        {
            page.Write(new string(' ', indent)).Line(finding.Place.ToString(), Ink.Quiet);
        }
    }

    public static int Widest(IEnumerable<string> texts, int limit) => Math.Min(limit, texts.Select(t => Cells.Width(Cells.Clean(t))).DefaultIfEmpty().Max());

    private static string NameOf(Finding finding, bool isUnderItsStage) =>
        isUnderItsStage && finding.Subject == finding.Stage ? finding.Check : finding.Check + Between + finding.Subject;

    private static void WorstCases(Page page, Review review)
    {
        page.Line("over all adjusted units and rated conditions", Ink.Strong);
        Table table = new(
        [
            new("stage", IsNumeric: false), new("", IsNumeric: false), new("least"), new("greatest"), new("may go down to"), new("may go up to"),
        ]);
        foreach (WorstCase worst in review.WorstCases)
        {
            string Limit(double value) => double.IsFinite(value) ? Engineering.Format(value, worst.Unit) : "";
            table.Add([
                worst.Stage, worst.Name, Engineering.Format(worst.Low, worst.Unit), Engineering.Format(worst.High, worst.Unit),
                Limit(worst.LimitLow), Limit(worst.LimitHigh),
            ]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static void Row(Page page, Finding finding, int nameWidth, bool isFull)
    {
        bool needsHand = finding.Outcome != Outcome.Met;
        page.Write(new string(' ', Indent));
        page.Write(Cells.PadRight(OutcomeWords.Mark(finding.Outcome), OutcomeWords.MarkWidth), OutcomeWords.Ink(finding.Outcome)).Write("  ");
        int shown = Name(page, finding, needsHand ? Ink.Strong : Ink.Plain, isUnderItsStage: true);
        page.Write(new string(' ', Math.Max(0, nameWidth - shown) + 2));
        int used = Indent + OutcomeWords.MarkWidth + 2 + Math.Max(nameWidth, shown) + 2;
        if (page.Width is null || page.Width >= used + MarginBar.Width + 7)
        {
            page.Write(MarginBar.Of(finding.Margin), needsHand ? OutcomeWords.Ink(finding.Outcome) : Ink.Quiet).Write("  ");
            used += MarginBar.Width + 2;
        }

        page.Write(Cells.PadLeft(Engineering.Fixed(finding.Margin, 2), 5), needsHand ? Ink.Strong : Ink.Quiet);
        used += 5;

        bool hasDetails = needsHand || isFull;
        if (!hasDetails)
        {
            page.Write("  ").Write(Figures(finding, page.Width is int width ? width - used - 2 : int.MaxValue), Ink.Quiet);
        }

        page.End();
        if (hasDetails)
        {
            Details(page, finding, Indent + OutcomeWords.MarkWidth + 2);
        }
    }

    /// <summary>As many whole figures as there is room for: half a figure would be a wrong one.</summary>
    private static string Figures(Finding finding, int room)
    {
        string shown = "";
        foreach (Figure figure in finding.Figures)
        {
            string next = Cells.Clean((shown.Length == 0 ? "" : shown + " · ") + figure.Name + " " + Engineering.Format(figure.Value, figure.Unit));
            if (Cells.Width(next) > room)
            {
                break;
            }

            shown = next;
        }

        return shown;
    }
}
