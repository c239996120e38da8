namespace Throughline.Analysis;

/// <summary>The output's semiconductors stand the loop's heat.</summary>
internal sealed class OutputDissipationCheck : Check
{
    public override string Name => "heat in the output";

    public override string MustHold => "At every rated load and with the receiver short-circuited, at the greatest current and supplies and in the greatest ambient temperature, each diode, transistor and amplifier of the output stays within the heat that its grade states.";

    public override string Formula => "Power in each part from the solved network; allowed: the stated power, and (greatest junction temperature − ambient) / thermal resistance.";

    public override string Source => "P = (V − I R) I; thermal resistance as the quotient of temperature and power (IEC 60747-1, from memory).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (LoopCondition worst in context.LoopConditions.Where(c => c.Kind is LoopConditionKind.RatedLoad or LoopConditionKind.ShortCircuit && !double.IsNaN(c.AllowedWatts))
            .OrderByDescending(c => c.Watts / c.AllowedWatts).Take(1))
        {
            string at = worst.Kind == LoopConditionKind.ShortCircuit ? $"with the {worst.Name}" : worst.Name;
            string junction = double.IsNaN(worst.JunctionCelsius) ? "" : $", {Engineering.Format(worst.JunctionCelsius, "°C", 3)} at its junction";
            yield return CheckContext.Finding(
                this,
                worst.Part!,
                context.StageOf(worst.Part!),
                CheckContext.MarginOf(worst.Watts, worst.AllowedWatts),
                $"{Engineering.Format(worst.Watts, "W", 3)} in {worst.Part} {at}{junction}; it stands {Engineering.Format(worst.AllowedWatts, "W", 3)} at {Engineering.Format(context.Specification.Ambient.High, "°C")}.",
                [
                    new Figure("heat", worst.Watts, "W"),
                    new Figure("allowed", worst.AllowedWatts, "W"),
                    new Figure("junction", worst.JunctionCelsius, "°C"),
                    new Figure("current", worst.Amperes, "A"),
                ],
                "A part with less thermal resistance, a resistor in series that takes a share of the voltage, or a lower supply.",
                context.PlaceOf(worst.Part!));
        }
    }
}
