namespace Throughline.Analysis;

/// <summary>No supply gives more than its stated limit.</summary>
internal sealed class SupplyCurrentCheck : RailCheck
{
    public override string Name => "supply current";

    public override string MustHold => "No supply gives more than its stated limit, whatever loop, load, ambient and outside supplies are, with every part and draw at its greatest.";

    public override string Formula => "The currents of the solved network and the stated draws, summed up the tree: series kinds I_in = I_out + I_q, converters P_in = P_out/η + V_in I_q.";

    public override string Source => "Kirchhoff's laws and conservation of power.";

    protected override IEnumerable<Finding> Of(CheckContext context, RailWorst rail)
    {
        if (rail.Supply.Limit is not { } limit)
        {
            yield break;
        }

        string name = rail.Supply.Name.Value;
        yield return CheckContext.Finding(
            this,
            name,
            "supplies",
            1 - (rail.Amperes / limit.Value),
            $"{name} gives up to {Engineering.Format(rail.Amperes, "A", 3)} of {Engineering.Format(limit.Value, "A", 3)} ({rail.AmperesAt}).",
            [new Figure("greatest current", rail.Amperes, "A"), new Figure("limit", limit.Value, "A")],
            $"Take load off {name}, or choose one for more current.",
            limit.Span);
    }
}
