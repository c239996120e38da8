using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Holds the loop's error with the trim of the output against that without it.</summary>
internal static class OutputTrimEffectBuilder
{
    /// <summary>Null without a trim.</summary>
    public static OutputTrimEffect? Build(CheckContext context)
    {
        if (context.Evaluator.TrimPlan is not { } plan || context.Instrument.Loop is not { } loop)
        {
            return null;
        }

        (double with, double at) = Worst(context, isTrimmed: true);
        (double without, _) = Worst(context, isTrimmed: false);
        return new OutputTrimEffect(without, with, at, MeterAt(loop, plan));
    }

    private static (double Error, double At) Worst(CheckContext context, bool isTrimmed)
    {
        BudgetBuilder builder = new(context, isTrimmed);
        BudgetMoment moment = builder.Moments.Contains(BudgetMoment.AfterCalibration) ? BudgetMoment.AfterCalibration
            : builder.Moments.Contains(BudgetMoment.AfterAdjustment) ? BudgetMoment.AfterAdjustment : BudgetMoment.AsBuilt;
        (double error, double at) = (double.NegativeInfinity, double.NaN);
        foreach (double x in ReadingsBuilder.DefaultPoints(context.Specification))
        {
            if (builder.LoopAt(x, moment) is { } table)
            {
                double sum = CheckContext.SizeOf(table.WorstCase);
                (error, at) = sum > error ? (sum, x) : (error, at);
            }
        }

        return double.IsFinite(error) ? (error, at) : (double.NaN, context.Specification.Range.High);
    }

    /// <summary>Beyond the two currents the meter's error grows by the line through both.</summary>
    private static double MeterAt(Loop loop, OutputTrimPlan plan)
    {
        double width = plan.High.Asked - plan.Low.Asked;
        return loop.Scale.Max(p =>
        {
            double t = (p.To.Value - plan.Low.Asked) / width;
            return (Math.Abs(1 - t) * plan.MeterLimit(plan.Low)) + (Math.Abs(t) * plan.MeterLimit(plan.High));
        });
    }
}
