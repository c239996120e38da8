using System.Globalization;
using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>Everything has its own place.</summary>
internal sealed class SettingsFitCheck : SettingsCheck
{
    public override CheckDescription Description { get; } = new(
        "settings fit the memory",
        "Every copy of every record lies inside of the memory, and none over another.",
        "Addresses as stated, or one copy behind the other where none are; a copy keeps room for the longest of its layouts. Compared byte for byte.",
        "Arithmetic; no source.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        int used = layout.Records.Sum(r => r.Copies * r.Form.Length);
        Figure[] figures = [new("bytes used", used, "B"), new("end of the settings", layout.End, "B"), new("size", layout.Size, "B")];
        foreach ((string one, string other, int address, SettingsRecord record) in layout.Overlaps())
        {
            return Make(
                layout, -1, string.Create(CultureInfo.InvariantCulture, $"{Capital(other)} lies over {one}, from address {address} on: writing the one destroys the other."),
                [.. figures, new Figure("first shared address", address, "")],
                FormattableString.Invariant($"Addresses that are at least {record.Room} B apart, or none: copies are then placed one behind the other."),
                record.Source.Addresses.IsEmpty ? record.Source.Span : record.Source.Addresses[0].Span);
        }

        double margin = 1 - ((double)layout.End / layout.Size);
        return layout.End > layout.Size
            ? Make(
                layout, margin, $"The settings end at byte {Count(layout.End)}, and the memory has {Count(layout.Size)}.", [.. figures],
                "A larger memory, narrower words, or fewer copies.", layout.Section.Size.Span)
            : Make(
                layout, 1, $"{Count(used)} of {Count(layout.Size)} bytes are used, the last one at address {Count(layout.End - 1)}; no copy lies over another.", [.. figures], "");
    }

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];
}
