using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Every line and every value has room.</summary>
internal sealed class PanelTextCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "panel text fits",
        "Every screen in every language has no more lines and no longer lines than the display, and every field has room for the widest value that it may have to show.",
        "Columns of each line; the ends of each field's range with its decimals: plausible readings, rated temperatures, currents or voltages of the output, signals at the converter's ends, "
        + "accepted zero and slope, values that can be entered, times. Dashes stand where there is no value.",
        "Common practice, no source.");

    protected override bool NeedsDescription => false;

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        PanelSection panel = review.Panel;
        List<PanelFault> faults = [];
        int lines = 0;
        int fields = 0;
        int widest = 0;
        double worst = 0;
        foreach (PanelPage page in review.Pages())
        {
            if (page.Lines.Length > panel.Rows)
            {
                worst = Math.Max(worst, (double)(page.Lines.Length - panel.Rows) / panel.Rows);
                faults.Add(new PanelFault(
                    $"{page.Name} has {Count(page.Lines.Length)} lines and the display {Count(panel.Rows)}.", "Fewer lines.", page.Lines[panel.Rows].Span));
            }

            foreach (Located<string> line in page.Lines)
            {
                lines++;
                widest = Math.Max(widest, line.Value.Length);
                int over = line.Value.Length - panel.Columns;
                if (over > 0)
                {
                    worst = Math.Max(worst, (double)over / panel.Columns);
                    faults.Add(new PanelFault(
                        $"{page.Name}: `{line.Value}` has {Count(line.Value.Length)} characters and the display {Count(panel.Columns)} columns.",
                        $"A text that is {Count(over)} {(over == 1 ? "character" : "characters")} shorter.",
                        line.Span));
                }
            }

            foreach ((Located<string> line, PanelField field, PanelSource source) in page.Fields())
            {
                fields++;
                if (PanelValues.Range(review.Instrument, page.Screen, source) is not var (low, high))
                {
                    continue;
                }

                string least = PanelValues.Unbounded(field, low);
                string greatest = PanelValues.Unbounded(field, high);
                string wide = least.Length > greatest.Length ? least : greatest;
                int missing = wide.Length - field.Width;
                if (missing > 0)
                {
                    worst = Math.Max(worst, (double)missing / field.Width);
                    faults.Add(new PanelFault(
                        $"{page.Name}: {PanelWords.WordOf(source, review.Instrument.Loop?.Signal)} may be {wide}, {Count(wide.Length)} characters, in a field of {Count(field.Width)}.",
                        $"A field of {Count(wide.Length)} characters, or fewer decimals.",
                        line.Span));
                }
            }
        }

        yield return Result(
            review,
            faults,
            $"{Count(lines)} lines of at most {Count(widest)} of {Count(panel.Columns)} columns, {Count(fields)} fields with their widest values.",
            [new Figure("lines", lines, ""), new Figure("fields", fields, ""), new Figure("longest line", widest, ""), new Figure("columns", panel.Columns, "")],
            -Math.Min(1, worst));
    }
}
