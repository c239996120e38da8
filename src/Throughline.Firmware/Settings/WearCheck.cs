using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>The memory outlives its writes.</summary>
internal sealed class WearCheck : SettingsCheck
{
    private const double Year = 365.25 * 86_400;
    private const double UsualLife = 10 * Year;

    public override CheckDescription Description { get; } = new(
        "settings outlive their writes",
        "No byte is written more often, over the life of the instrument, than the memory endures.",
        "Greatest writes of one byte in one save, counted by the store itself, times how often the record is saved over the life; the mark of a copy is written twice.",
        "Arithmetic; endurance as stated.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        if (layout.Section.Endurance is not { } endurance)
        {
            return null;
        }

        SettingsProof proof = SettingsProof.Of(layout);
        double life = layout.Section.Life?.Value ?? UsualLife;
        (SettingsRecord record, int once, double writes) = layout.Records.Zip(proof.WearOfSave)
            .Select(p => (p.First, p.Second, Total: p.Second * (double.IsInfinity(p.First.Interval) ? 1 : 1 + (life / p.First.Interval))))
            .MaxBy(p => p.Total);
        double lasts = endurance.Value / once * record.Interval;
        Figure[] figures =
        [
            new("writes over the life", Math.Round(writes), ""), new("endurance", endurance.Value, ""), new("writes of a byte in one save", once, ""),
            new("life", life, "s"), .. double.IsFinite(lasts) ? new Figure[] { new("life at this rate", lasts, "s") } : [],
        ];
        string years = Engineering.Number(life / Year, 3);
        string often = $"{record.Name} is saved {record.Source.Written.Text}, up to {Count(once)} writes of one byte each time: {Engineering.Number(Math.Round(writes), 3)} in {years} years";
        return writes > endurance.Value
            ? Make(
                layout, -(1 - (endurance.Value / writes)), $"{often}, and the memory endures {Count(endurance.Value)}; it lasts {Lasting(lasts)}.", [.. figures],
                "Save what changes often less often, or in a record of its own, or keep it in RAM.", record.Source.Written.Span)
            : Make(layout, 1 - (writes / endurance.Value), $"{often}, of {Count(endurance.Value)} that the memory endures.", [.. figures], "Save less often.", record.Source.Written.Span);
    }

    private static string Lasting(double seconds) =>
        seconds >= Year ? Engineering.Number(seconds / Year, 2) + " years" : seconds >= 86_400 ? Engineering.Number(seconds / 86_400, 2) + " days" : Engineering.Number(seconds / 3_600, 2) + " hours";
}
