namespace Throughline.Analysis;

/// <summary>No regulator gets too warm.</summary>
internal sealed class JunctionTemperatureCheck : RailCheck
{
    public override string Name => "junction temperature of the supplies";

    public override string MustHold => "The junction of every supply stays below its limit at the highest ambient temperature and the greatest loss.";

    public override string Formula => "T_j = T_a + P R_th with P = V_in I_in − V_out I_out, over all conditions. The margin is the rise that is left as a part of the rise allowed.";

    public override string Source => "Franco, Design with Operational Amplifiers and Analog Integrated Circuits, ex. 11.14; 125 °C where no limit is stated (common practice, no source).";

    protected override IEnumerable<Finding> Of(CheckContext context, RailWorst rail)
    {
        if (rail.Supply.Junction is not { } junction)
        {
            yield break;
        }

        string name = rail.Supply.Name.Value;
        double limit = rail.Supply.JunctionLimit?.Value ?? SupplyLaw.JunctionLimit;
        double ambient = context.Specification.Ambient.High;
        double allowed = SupplyLaw.LargestWatts(limit, ambient, junction.Value);
        yield return CheckContext.Finding(
            this,
            name,
            "supplies",
            (limit - rail.JunctionCelsius) / (limit - ambient),
            $"{name} turns {Engineering.Format(rail.LossWatts, "W", 3)} into heat and gets {Engineering.Format(rail.JunctionCelsius, "°C", 3)} warm; {Engineering.Format(limit, "°C", 3)} are allowed ({rail.JunctionAt}).",
            [
                new Figure("loss", rail.LossWatts, "W"),
                new Figure("junction", rail.JunctionCelsius, "°C"),
                new Figure("limit", limit, "°C"),
                new Figure("greatest loss allowed", allowed, "W"),
            ],
            $"Bring the loss of {name} below {Engineering.Format(allowed, "W", 2)}: a lower input, less load, or a package with less thermal resistance.",
            junction.Span);
    }
}
