namespace Throughline.Firmware;

/// <summary>Some bytes of the settings memory and what stands in them.</summary>
/// <param name="Copy">Counted from 1.</param>
public sealed record SettingsRegion(int Address, int Bytes, string Record, int Copy, string What, string Word);

/// <summary>The map of the settings memory.</summary>
public static class SettingsMap
{
    /// <summary>What stands where, by address.</summary>
    public static IEnumerable<SettingsRegion> Of(SettingsLayout layout) => layout.Records.SelectMany(r => Of(layout, r)).OrderBy(r => r.Address);

    private static IEnumerable<SettingsRegion> Of(SettingsLayout layout, SettingsRecord record)
    {
        SettingsForm form = record.Form;
        for (int copy = 0; copy < form.Starts.Length; copy++)
        {
            int start = form.Starts[copy];
            if (form.Version is { } version)
            {
                yield return new SettingsRegion(
                    start, 1, record.Name, copy + 1, layout.Section.IsMarked ? FormattableString.Invariant($"version {version}, 0 while being written") : FormattableString.Invariant($"version {version}"), "uint8");
            }

            foreach (SettingsItem item in form.Items)
            {
                yield return new SettingsRegion(start + item.Offset, item.Bytes, record.Name, copy + 1, item.Name, item.IsFloat ? "float32" : item.IsFlag ? "flag" : item.Word.CType[..^2]);
            }

            if (form.Guard.Bits > 0)
            {
                yield return new SettingsRegion(start + form.GuardOffset, form.Guard.Bytes, record.Name, copy + 1, Instruments.MemoryWords.WordOf(form.Guard.Kind), FormattableString.Invariant($"uint{form.Guard.Bits}"));
            }
        }
    }
}
