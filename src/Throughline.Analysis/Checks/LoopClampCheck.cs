namespace Throughline.Analysis;

/// <summary>Surge clamps let pass little of the loop's current.</summary>
internal sealed class LoopClampCheck : Check
{
    /// <summary>The leakage may take so much of the loop's error limit.</summary>
    private const double Share = 0.1;

    public override string Name => "clamp leakage at the loop";

    public override string MustHold => "The surge clamps' leakage at the greatest ambient temperature is at most a tenth of the loop's error limit.";

    public override string Formula => "Greatest leakage at 25 °C times 2 to the power of (greatest ambient temperature − 25 °C) over the stated difference.";

    public override string Source => "Common practice, no source: a tenth, since an adjustment at room temperature does not see it.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { Clamps: { } clamps } || context.LoopConditions.FirstOrDefault(c => c.Kind == LoopConditionKind.ClampLeakage) is not { } leaking)
        {
            yield break;
        }

        double allowed = Share * context.AllowedLoopError;
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            CheckContext.MarginOf(leaking.Amperes, allowed),
            $"{Engineering.Format(leaking.Amperes, "A", 3)} at {Engineering.Format(context.Specification.Ambient.High, "°C")}, {Engineering.Percent(leaking.Amperes / context.LoopSpan, 2)} of span; a tenth of the error limit is {Engineering.Format(allowed, "A", 3)}.",
            [
                new Figure("leakage when hot", leaking.Amperes, "A"),
                new Figure("leakage at 25 °C", clamps.Leakage.Quantity.High, "A"),
                new Figure("allowed", allowed, "A"),
            ],
            "Clamps of a higher stand-off voltage, which leak less at the loop's, or clamps on the other side of the sense resistor.",
            clamps.Leakage.Quantity.Span);
    }
}
