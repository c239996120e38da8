using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A new revision of the firmware keeps the calibration.</summary>
internal sealed class MigrationCheck : SettingsCheck
{
    public override CheckDescription Description { get; } = new(
        "older settings taken over",
        "A unit whose settings an older revision of the firmware has left keeps its calibration and the trim of its output.",
        "Zero and gain of every older layout against those of now: found by what they keep, with a step that scales to the step of now. A trim of the output that an older layout kept is taken over as long as the output has one.",
        "Common practice, no source.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        if (layout.Records.All(r => r.Older.IsEmpty))
        {
            return null;
        }

        int taken = 0;
        List<string> fresh = [];
        foreach (SettingsRecord record in layout.Records)
        {
            foreach (SettingsForm older in record.Older)
            {
                if (LostTrim(layout, record, older) is { } lost)
                {
                    return lost;
                }

                for (int i = 0; i < older.Moves.Length; i++)
                {
                    SettingsItem item = record.Form.Items[i];
                    if (older.Moves[i].From >= 0)
                    {
                        taken++;
                        continue;
                    }

                    fresh.Add(item.Name);
                    if (item.Source.Keeps is MemoryKeeps.Zero or MemoryKeeps.Gain)
                    {
                        OlderLayout source = record.Source.Older.First(o => o.Version.Value == older.Version);
                        return Make(
                            layout, -1,
                            $"A unit with layout {Count(older.Version!.Value)} of {record.Name} loses its calibration: nothing in that layout keeps the {item.Name}, and the factory value {Value(item, item.Factory)} stands in.",
                            [new Figure("layout", older.Version.Value, "")], $"Say which item of the older layout it was: keeps: {item.Name}, with its step.", source.Span);
                    }
                }
            }
        }

        return Make(
            layout, 1,
            $"{Count(taken)} items of older layouts are taken over" + (fresh.Count == 0 ? "." : $"; {List(fresh.Distinct())} {(fresh.Distinct().Count() == 1 ? "is" : "are")} new and begin{(fresh.Distinct().Count() == 1 ? "s" : "")} at the factory value."),
            [new Figure("items taken over", taken, ""), new Figure("new items", fresh.Count, "")], "");
    }

    /// <summary>A trim that an older layout kept and the record of now does not take.</summary>
    private Finding? LostTrim(SettingsLayout layout, SettingsRecord record, SettingsForm older)
    {
        HashSet<int> taken = [.. older.Moves.Select(m => m.From)];
        int lost = Enumerable.Range(0, older.Items.Length).FirstOrDefault(
            i => older.Items[i].Source.Keeps is MemoryKeeps.OutputTrimOffset or MemoryKeeps.OutputTrimGain && !taken.Contains(i), -1);
        if (lost < 0 || layout.Instrument.Loop?.Trim is null)
        {
            return null;
        }

        SettingsItem item = older.Items[lost];
        return Make(
            layout, -1,
            $"A unit with layout {Count(older.Version!.Value)} of {record.Name} loses the trim of its output: no item of that record takes the {item.Name} over, and nobody sees from the outside that the output is as it left the works.",
            [new Figure("layout", older.Version.Value, "")], $"keeps: {item.Name} in {record.Name}, with a step that scales to the older one.", item.Source.Name.Span);
    }
}
