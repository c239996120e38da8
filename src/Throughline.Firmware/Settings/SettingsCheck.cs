using System.Collections.Immutable;
using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A check of the settings memory: one finding.</summary>
internal abstract class SettingsCheck : FirmwareCheck
{
    public const string Subject = "memory";

    public sealed override IEnumerable<Finding> Run(Instrument instrument) =>
        SettingsLayout.Of(instrument) is { } layout && Judge(layout) is { } finding ? [finding] : [];

    /// <summary>Null where there is nothing to judge.</summary>
    protected abstract Finding? Judge(SettingsLayout layout);

    protected Finding Make(SettingsLayout layout, double margin, string statement, ImmutableArray<Figure> figures, string mend, SourceSpan? place = null) =>
        Finding.Judged(Description.Name, Subject, Subject, margin, statement, figures, mend, place ?? layout.Section.Span);

    protected static string Count(double number) => Engineering.Number(number, 15);

    /// <summary>A byte as a person reads it.</summary>
    protected static string Hex(byte value) => value.ToString("X2", CultureInfo.InvariantCulture);

    protected static string Values(SettingsRecord record, ImmutableArray<long> values) =>
        string.Join(", ", record.Form.Items.Select((item, i) => $"{item.Name} {Value(item, values[record.First + i])}"));

    protected static string Value(SettingsItem item, long stored) =>
        item.IsFloat && SettingsItem.IsNotANumber(stored) ? "not a number"
        : item.IsFlag ? stored != 0 ? "true" : "false"
        : item.IsFloat ? Engineering.Number(item.ValueOf(stored), 6)
        : Engineering.Number(stored, 15);

    protected static string List(IEnumerable<string> names)
    {
        string[] all = [.. names];
        return all.Length < 2 ? string.Concat(all) : string.Join(", ", all[..^1]) + " and " + all[^1];
    }
}
