using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A battery lasts.</summary>
internal sealed class BatteryCheck : Check
{
    public override string Name => "battery lasts";

    public override string MustHold => "A battery gives the instrument's typical current for as long as it has to.";

    public override string Formula => "Capacity over the typical current of the tree.";

    public override string Source => "Definition of the rated capacity, IEC 60086-1 and IEC 61960-3.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RailPoint rail in context.Supplies?.Typical?.Rails ?? [])
        {
            if (rail.Supply is not { Kind: SupplyKind.Battery, Capacity: { } capacity })
            {
                continue;
            }

            double seconds = capacity.Value / Math.Abs(rail.OutputAmperes);
            double needed = rail.Supply.Lasts?.Value ?? 0;
            yield return CheckContext.Finding(
                this,
                rail.Supply.Name.Value,
                "supplies",
                needed > 0 ? Math.Min(1, (seconds / needed) - 1) : 1,
                $"{rail.Supply.Name.Value} lasts {Engineering.Duration(seconds)} at {Engineering.Format(Math.Abs(rail.OutputAmperes), "A", 3)}{(needed > 0 ? $"; {Engineering.Duration(needed)} are asked for" : "")}.",
                [new Figure("lasts", seconds, "s"), new Figure("asked for", needed, "s"), new Figure("current", Math.Abs(rail.OutputAmperes), "A")],
                $"Take {Engineering.Format(Math.Abs(capacity.Value / needed), "A", 2)} at most, or a battery of {Engineering.Number(Math.Abs(rail.OutputAmperes) * needed / 3600, 2)} Ah.",
                rail.Supply.Lasts?.Span ?? capacity.Span);
        }
    }
}
