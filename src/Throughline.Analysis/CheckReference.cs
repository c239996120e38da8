using System.Text;

namespace Throughline.Analysis;

/// <summary>The list of checks for people, made from the checks themselves so that it can't go stale.</summary>
public static class CheckReference
{
    /// <summary>Every check in the order of a review.</summary>
    public static IEnumerable<CheckDescription> Of(IEnumerable<IFurtherChecks> further) =>
        CheckList.All.Select(c => new CheckDescription(c.Name, c.MustHold, c.Formula, c.Source)).Concat(further.SelectMany(f => f.Descriptions));

    /// <summary>The page docs/checks.md.</summary>
    public static string CreateMarkdown(IEnumerable<IFurtherChecks> further)
    {
        StringBuilder text = new();
        text.Append("# Checks\n\n");
        text.Append("Every check that `throughline check` runs, in the order of a review. Made from the code by a test; do not edit by hand.\n\n");
        text.Append("A finding is **met**, **marginal** (met with less than a tenth of the allowed room left) or **not met**. Its margin runs from −1 to 1: ");
        text.Append("0 is just met, 1 leaves all of the allowed room. Worst cases are those of adjusted units: part tolerances and drifts at the corner that the ");
        text.Append("signs of the exact sensitivities choose, the adjustment performed on that very unit, rated ambient, process temperature, supplies and load, ");
        text.Append("confirmed there by a full solve.\n");
        foreach (CheckDescription check in Of(further))
        {
            text.Append("\n## ").Append(check.Name).Append("\n\n");
            text.Append(check.MustHold).Append("\n\n");
            text.Append("- Figures: ").Append(check.Formula).Append('\n');
            text.Append("- Source: ").Append(check.Source).Append('\n');
        }

        return text.ToString();
    }
}
