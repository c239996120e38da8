using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Whatever crosses between domains withstands what is asked of it.</summary>
internal sealed class BarrierCheck : Check
{
    public override string Name => "isolation withstands";

    public override string MustHold => "Every part and supply that crosses between isolated domains states at least the isolation voltage, working voltage, creepage and clearance that `isolation` asks for.";

    public override string Formula => "The stated figures compared one by one; what is asked for and not stated is not met.";

    public override string Source => "The user's own figures, from the standard that applies, such as IEC 61010-1 or IEC 60664-1. Local codes and licensed practice decide.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Isolation is not { } needs)
        {
            yield break;
        }

        foreach (Crossing crossing in SupplyReportBuilder.CrossingsOf(context.Instrument))
        {
            List<(string What, double Stated, double Needed, string Unit)> all = [];
            void Compare(string what, Quantity? stated, Quantity? needed, string unit)
            {
                if (needed is not null)
                {
                    all.Add((what, stated?.Value ?? 0, needed.Value, unit));
                }
            }

            Compare("isolation voltage", crossing.Withstands, needs.Withstands, "V");
            Compare("working voltage", crossing.Insulation.WorkingVoltage, needs.WorkingVoltage, "V");
            Compare("creepage", crossing.Insulation.Creepage, needs.Creepage, "m");
            Compare("clearance", crossing.Insulation.Clearance, needs.Clearance, "m");
            if (all.Count == 0)
            {
                continue;
            }

            // Just enough is enough here: a rating holds its own margin, so it is met with what a rating at the needed value leaves.
            (string what, double stated, double needed, string unit) = all.MinBy(a => a.Stated / a.Needed);
            bool met = stated >= needed;
            yield return CheckContext.Finding(
                this,
                crossing.Name,
                "supplies",
                met ? Math.Max(CheckContext.MarginalBelow, Math.Min(1, (stated / needed) - 1)) : Math.Min(-0.01, (stated / needed) - 1),
                stated == 0
                    ? $"{crossing.Name} states no {what}; {Engineering.Format(needed, unit, 3)} are needed."
                    : $"{crossing.Name} states {Engineering.Format(stated, unit, 3)} of {what}; {Engineering.Format(needed, unit, 3)} are needed.",
                [.. all.SelectMany(a => new[] { new Figure($"{a.What} stated", a.Stated, a.Unit), new Figure($"{a.What} needed", a.Needed, a.Unit) })],
                $"Choose a part with {Engineering.Format(needed, unit, 3)} of {what} or more.",
                crossing.Place);
        }
    }
}
