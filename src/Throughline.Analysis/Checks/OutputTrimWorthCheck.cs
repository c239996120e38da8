using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The trim of the output does more good than its meter does harm.</summary>
internal sealed class OutputTrimWorthCheck : Check
{
    public override string Name => "output trim worth its meter";

    public override string MustHold => "The trim of the output leaves less error at the loop than there would be without it.";

    public override string Formula => "Straight sums of the loop's error at reference conditions, after adjustment and, where there is one, calibration, at the worst point of the range: with the trim against the same "
        + "instrument without it. Beyond the two currents the meter's error grows in proportion. Margin: the share that is taken away.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Evaluator.TrimPlan is not { } plan || context.Instrument.Loop is not { } loop)
        {
            yield break;
        }

        (double with, double at) = Worst(context);
        (double without, _) = Worst(new CheckContext(new Evaluator(Model.Compile(context.Instrument with { Loop = loop with { Trim = null } }))));
        double meter = MeterAt(context, plan);
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            CheckContext.MarginOf(with, without),
            $"The trim brings the loop's error from {Engineering.Format(without, "A", 3)} to {Engineering.Format(with, "A", 3)}, at {context.At(at)}; its meter makes up to {Engineering.Format(meter, "A", 2)} of it.",
            [
                new Figure("error without the trim", without, "A"),
                new Figure("error with it", with, "A"),
                new Figure("of the meter", meter, "A"),
            ],
            "A better meter, two currents further apart, or no trim.",
            plan.Trim.Span);
    }

    private static (double Error, double At) Worst(CheckContext context)
    {
        BudgetBuilder builder = new(context);
        BudgetMoment moment = builder.Moments.Contains(BudgetMoment.AfterCalibration) ? BudgetMoment.AfterCalibration
            : builder.Moments.Contains(BudgetMoment.AfterAdjustment) ? BudgetMoment.AfterAdjustment : BudgetMoment.AsBuilt;
        (double error, double at) = (double.NegativeInfinity, double.NaN);
        foreach (double x in ReadingsBuilder.DefaultPoints(context.Specification))
        {
            foreach (BudgetTable table in builder.At(x, moment, withFull: false).Where(t => t.Output == BudgetOutput.Loop))
            {
                double sum = CheckContext.SizeOf(table.StraightSum + Math.Abs(table.NominalError));
                (error, at) = sum > error ? (sum, x) : (error, at);
            }
        }

        return double.IsFinite(error) ? (error, at) : (double.NaN, context.Specification.Range.High);
    }

    /// <summary>What the meter's error comes to at the worse end of the scale, A.</summary>
    private static double MeterAt(CheckContext context, OutputTrimPlan plan)
    {
        Loop loop = context.Instrument.Loop!;
        double width = plan.High.Asked - plan.Low.Asked;
        return loop.Scale.Max(p =>
        {
            double t = (p.To.Value - plan.Low.Asked) / width;
            return (Math.Abs(1 - t) * plan.MeterLimit(plan.Low)) + (Math.Abs(t) * plan.MeterLimit(plan.High));
        });
    }
}
