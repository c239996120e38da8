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
            if (crossing.HasDistances)
            {
                Compare("working voltage", crossing.Insulation.WorkingVoltage, needs.WorkingVoltage, "V");
                Compare("creepage", crossing.Insulation.Creepage, needs.Creepage, "m");
                Compare("clearance", crossing.Insulation.Clearance, needs.Clearance, "m");
            }

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

/// <summary>Two grounds do not move the reading.</summary>
internal sealed class GroundLeakageCheck : Check
{
    /// <summary>Part of the allowed error that the grounds may take.</summary>
    private const double Share = 0.1;

    public override string Name => "reading independent of the grounds";

    public override string MustHold => "With the sensor on ground in the process and the loop on ground at the receiver, the voltage between the two moves reading and loop by less than a tenth of their allowed errors.";

    public override string Formula => "The network solved with the stated insulation and coupling of every part that crosses, and a source of the stated difference between the two grounded nodes; the same with both sides joined.";

    public override string Source => "Kirchhoff's laws on the closed path; the tenth is common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Supplies?.Grounds is not { } grounds)
        {
            yield break;
        }

        double allowed = Share * context.AllowedError;
        double allowedLoop = Share * context.AllowedLoopError;
        bool hasLoop = context.Instrument.Loop is not null;
        double margin = CheckContext.MarginOf(grounds.Isolated, allowed);
        double loopMargin = hasLoop ? CheckContext.MarginOf(grounds.LoopIsolated, allowedLoop) : margin;
        string Shift(double reading, double loop) =>
            double.IsNaN(reading) ? "leave the circuit without an operating point"
            : $"shift the reading by {context.Difference(Math.Abs(reading))}{(hasLoop ? $" and the loop by {Engineering.Format(Math.Abs(loop), "A", 2)}" : "")}";
        yield return CheckContext.Finding(
            this,
            "grounds",
            "supplies",
            double.IsNaN(margin) || double.IsNaN(loopMargin) ? double.NaN : Math.Min(margin, loopMargin),
            $"{Engineering.Format(grounds.Volts, "V", 3)} between the grounds drive {Engineering.Format(grounds.LeakageAmperes, "A", 2)} through the isolation and "
                + $"{Shift(grounds.Isolated, grounds.LoopIsolated)}. Without isolation they would {Shift(grounds.Joined, grounds.LoopJoined)}.",
            [
                new Figure("shift of the reading", grounds.Isolated, context.Specification.Unit),
                new Figure("shift of the loop", grounds.LoopIsolated, "A"),
                new Figure("shift of the reading without isolation", grounds.Joined, context.Specification.Unit),
                new Figure("shift of the loop without isolation", grounds.LoopJoined, "A"),
                new Figure("leakage", grounds.LeakageAmperes, "A"),
                new Figure("allowed at the display", allowed, context.Specification.Unit),
                new Figure("allowed in the loop", allowedLoop, "A"),
            ],
            "Isolate the loop from the sensor, or choose parts across the isolation with less coupling.",
            context.Instrument.Isolation!.Span);
    }
}
