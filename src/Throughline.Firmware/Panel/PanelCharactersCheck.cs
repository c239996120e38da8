using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The display has every character that is asked of it.</summary>
internal sealed class PanelCharactersCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "panel characters",
        "Every character of every text is in the display's set of characters.",
        "The characters of all lines in all languages against the set that the file names.",
        "Character memories of usual dot-matrix displays, from memory of their tables.");

    protected override bool NeedsDescription => false;

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        CharacterSet set = review.Panel.Characters;
        List<PanelFault> faults = [];
        HashSet<char> used = [];
        HashSet<char> missing = [];
        foreach (PanelPage page in review.Pages())
        {
            foreach (Located<string> line in page.Lines)
            {
                foreach (char c in line.Value)
                {
                    used.Add(c);
                    if (!set.Has(c) && missing.Add(c))
                    {
                        string other = PanelWords.CharacterSets.Where(s => s.Set.Has(c)).Select(s => s.Word).FirstOrDefault() is { } has ? $"A display with the {has} set, or another text." : "Another text.";
                        faults.Add(new PanelFault(
                            $"{page.Name} shows `{c}` (U+{((int)c).ToString("X4", CultureInfo.InvariantCulture)}), which the {PanelWords.WordOf(set)} set has not.",
                            c == '−' ? "A hyphen for the minus sign." : other,
                            line.Span));
                    }
                }
            }
        }

        yield return Result(
            review, faults, $"{Count(used.Count)} different characters, all in the {PanelWords.WordOf(set)} set.",
            [new Figure("characters used", used.Count, ""), new Figure("characters missing", missing.Count, "")],
            used.Count == 0 ? -1 : -(double)missing.Count / used.Count);
    }
}
