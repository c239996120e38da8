namespace Throughline.Analysis;

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
            : $"shift the reading by {context.Difference(Math.Abs(reading))}{(hasLoop ? $" and the {context.Signal.Place} by {Engineering.Format(Math.Abs(loop), context.Signal.Unit, 2)}" : "")}";
        yield return CheckContext.Finding(
            this,
            "grounds",
            "supplies",
            double.IsNaN(margin) || double.IsNaN(loopMargin) ? double.NaN : Math.Min(margin, loopMargin),
            $"{Engineering.Format(grounds.Volts, "V", 3)} between the grounds drive {Engineering.Format(grounds.LeakageAmperes, "A", 2)} through the isolation and "
                + $"{Shift(grounds.Isolated, grounds.LoopIsolated)}. Without isolation they would {Shift(grounds.Joined, grounds.LoopJoined)}.",
            [
                new Figure("shift of the reading", grounds.Isolated, context.Specification.Unit),
                new Figure($"shift of the {context.Signal.Place}", grounds.LoopIsolated, context.Signal.Unit),
                new Figure("shift of the reading without isolation", grounds.Joined, context.Specification.Unit),
                new Figure($"shift of the {context.Signal.Place} without isolation", grounds.LoopJoined, context.Signal.Unit),
                new Figure("leakage", grounds.LeakageAmperes, "A"),
                new Figure("allowed at the display", allowed, context.Specification.Unit),
                new Figure(context.Signal.IsVoltage ? "allowed at the output" : "allowed in the loop", allowedLoop, context.Signal.Unit),
            ],
            "Isolate the loop from the sensor, or choose parts across the isolation with less coupling.",
            context.Instrument.Isolation!.Span);
    }
}
