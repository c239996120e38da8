using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>Words hold what is kept in them.</summary>
internal sealed class SettingsPlausibleCheck : SettingsCheck
{
    public override CheckDescription Description { get; } = new(
        "settings plausible",
        "Every item keeps what the instrument has, its word holds every accepted value, and its factory value is accepted.",
        "Range of what is kept, in steps of the arithmetic or of the entry, against the word; the factory value against the range.",
        "Ranges of the fixed-width words: ISO/IEC 9899:1999, 7.18.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        SettingsItem[] wrong = [.. layout.Items.Where(i => i.Trouble is not null)];
        Figure[] figures = [new("items judged", layout.Items.Length, ""), new("items that do not fit", wrong.Length, "")];
        return wrong.Length > 0
            ? Make(
                layout, -(double)wrong.Length / layout.Items.Length, string.Join(" ", wrong.Select(i => $"{i.Name}: {i.Trouble}")), [.. figures],
                "Leave the word to what is kept, or a wider one; an item that nothing stands behind out.", wrong[0].Source.Kind?.Span ?? wrong[0].Source.Span)
            : Make(layout, 1, $"The words of all {Count(layout.Items.Length)} items hold what they accept, factory values among it.", [.. figures], "");
    }
}
