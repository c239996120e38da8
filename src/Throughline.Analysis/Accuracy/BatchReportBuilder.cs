using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>Makes figures of what a batch has counted.</summary>
internal static class BatchReportBuilder
{
    /// <summary>Fewer units say nothing about the ends of an interval.</summary>
    private const int LeastForAgreement = 1000;

    private static readonly bool[] BothPlaces = [false, true];

    public static BatchReport Build(LifePlan plan, BatchOptions options, BatchTally tally, CauseTally causes, long units, bool isWhole) => new()
    {
        Instrument = plan.Model.Instrument,
        Options = options,
        Units = units,
        IsWhole = isWhole,
        Yields = [.. Yields(plan, tally)],
        Readings = [.. Readings(plan, tally)],
        Trimmers = [.. plan.Model.Trimmers.Select((t, i) => BatchSpread.Of(t.Name.Value, "", tally.Position(i)))],
        Rounds = plan.Model.Instrument.Adjustment.IsEmpty ? [] : [.. Enumerable.Range(1, BatchTally.MostRounds).Select(tally.Rounds)],
        Calibrations = plan.HasCalibration ? [BatchSpread.Of("zero", plan.ZeroUnit, tally.Zero), BatchSpread.Of("slope", "", tally.Slope)] : [],
        Worst = [.. tally.Worst.Units.Select(u => new WorstUnit(u.Unit, u.Badness))],
        Causes = causes.Report(),
        Confidence = Confidence(plan, options, tally),
        Agreements = [.. Agreements(plan, tally)],
    };

    private static IEnumerable<BatchYield> Yields(LifePlan plan, BatchTally tally)
    {
        ImmutableArray<Instruments.AdjustmentStep> steps = plan.Model.Instrument.Adjustment;
        for (int s = 0; s < steps.Length; s++)
        {
            yield return new BatchYield($"adjustment: {steps[s].Name.Value}", tally.Reached(s), tally.Units);
        }

        if (plan.HasCalibration)
        {
            yield return new BatchYield("calibration accepted", tally.Outcome(CalibrationVerdict.Accepted), tally.Units);
        }

        for (int t = 0; t < plan.Tests.Length; t++)
        {
            string name = plan.Tests[t].Name;
            if (plan.HasDisplay && !double.IsNaN(plan.DisplayLimit))
            {
                yield return new BatchYield($"display within limits, {name}", tally.WithinDisplay(t), tally.Units);
            }

            if (plan.HasLoop && !double.IsNaN(plan.LoopLimit))
            {
                yield return new BatchYield($"{plan.Model.Instrument.Loop!.Signal.Place} within limits, {name}", tally.WithinLoop(t), tally.Units);
            }
        }

        yield return new BatchYield("good in everything", tally.Good, tally.Units);
    }

    private static IEnumerable<BatchReading> Readings(LifePlan plan, BatchTally tally)
    {
        string unit = plan.Model.Instrument.Specification.Unit;
        for (int t = 0; t < plan.Tests.Length; t++)
        {
            for (int p = 0; p < plan.Points.Length; p++)
            {
                if (plan.HasDisplay)
                {
                    yield return new BatchReading(
                        plan.Tests[t].Moment, plan.Tests[t].Name, plan.Points[p], BudgetOutput.Display, plan.DisplayLimit, BatchSpread.Of("display", unit, tally.Display(t, p)));
                }

                if (plan.HasLoop)
                {
                    yield return new BatchReading(
                        plan.Tests[t].Moment, plan.Tests[t].Name, plan.Points[p], BudgetOutput.Loop, plan.LoopLimit, BatchSpread.Of(plan.Model.Instrument.Loop!.Signal.Place, plan.Model.Instrument.Loop!.Signal.Unit, tally.Loop(t, p)));
                }
            }
        }
    }

    private static BatchConfidence Confidence(LifePlan plan, BatchOptions options, BatchTally tally)
    {
        double share = (double)tally.Good / tally.Units;
        double independent = Math.Sqrt(share * (1 - share) / tally.Units);
        double gain = 1;
        if (options.IsEven)
        {
            int inUse = plan.Tests.Length - 1;
            double[] gains =
            [
                .. from p in Enumerable.Range(0, plan.Points.Length)
                   from atLoop in BothPlaces
                   let own = tally.ReplicateErrorOfMean(p, atLoop)
                   let drawn = (atLoop ? tally.Loop(inUse, p) : tally.Display(inUse, p)).StandardErrorOfMean
                   where own > 0 && double.IsFinite(drawn)
                   orderby drawn / own
                   select drawn / own * (drawn / own),
            ];
            gain = gains.Length > 0 ? gains[gains.Length / 2] : double.NaN;
        }

        return new BatchConfidence(share, options.IsEven ? tally.ReplicateErrorOfYield() : independent, independent, gain);
    }

    /// <summary>The linear method's intervals beside those of the units in use.</summary>
    private static IEnumerable<BatchAgreement> Agreements(LifePlan plan, BatchTally tally)
    {
        int inUse = plan.Tests.Length - 1;
        ErrorBudgetReport budget = Reviewer.Budget(plan.Model.Instrument, plan.Points);
        foreach (BudgetOutput output in Enum.GetValues<BudgetOutput>())
        {
            for (int p = 0; p < plan.Points.Length; p++)
            {
                StreamingStatistics units = output == BudgetOutput.Display ? tally.Display(inUse, p) : tally.Loop(inUse, p);
                if (budget.Find(output, BudgetMoment.Rated, plan.Points[p]) is not { } linear || units.Count < LeastForAgreement || !(units.StandardDeviation > 0))
                {
                    continue;
                }

                CoverageInterval own = new(linear.MeanError - linear.ExpandedUncertainty, linear.MeanError + linear.ExpandedUncertainty);
                CoverageInterval batch = new(units.Quantile(0.025), units.Quantile(0.975));

                // Ends of what the display rounds lie on its steps.
                double step = output == BudgetOutput.Display ? plan.Model.Instrument.Specification.DisplayStep?.Value ?? 0 : 0;
                double tolerance = Math.Max(MonteCarlo.NumericalTolerance(units.StandardDeviation, 1), step * (1 + 1e-9));
                Validation validation = MonteCarlo.Validate(own, batch, tolerance);
                yield return new BatchAgreement(
                    output,
                    plan.Points[p],
                    linear.StandardUncertainty,
                    units.StandardDeviation,
                    own.Low,
                    own.High,
                    batch.Low,
                    batch.High,
                    tolerance,
                    validation.IsValid,
                    validation.IsValid ? null : Why(linear, units, own, batch, tally));
            }
        }
    }

    private static string Why(BudgetTable linear, StreamingStatistics units, CoverageInterval own, CoverageInterval batch, BatchTally tally)
    {
        List<string> reasons = [];
        double shift = units.Mean - linear.MeanError;
        if (Math.Abs(shift) > units.StandardDeviation / 4)
        {
            reasons.Add("the mean of the units is elsewhere than the linear method has it, as where a cause acts with its square or with another");
        }

        if (Math.Abs((units.StandardDeviation / linear.StandardUncertainty) - 1) > 0.1)
        {
            reasons.Add(units.StandardDeviation > linear.StandardUncertainty
                ? "causes multiply each other (their effect grows where another deviates), which a sum of sensitivities does not know"
                : "limits, trimmers at their ends or refused calibrations cut off what the linear method lets go on");
        }

        double above = batch.High - units.Quantile(0.5);
        double below = units.Quantile(0.5) - batch.Low;
        if (Math.Max(above, below) > 1.25 * Math.Min(above, below))
        {
            reasons.Add("the units lie unevenly about their middle");
        }

        if (tally.Adjusted < tally.Units || tally.Outcome(CalibrationVerdict.Accepted) < tally.Units)
        {
            reasons.Add("some units could not be adjusted or calibrated, and are among these");
        }

        if (reasons.Count == 0)
        {
            reasons.Add(batch.High - batch.Low < own.High - own.Low
                ? "few causes with limits make most of it, whose sum ends sooner than a normal distribution of the same deviation"
                : "some units are far off while most are near, more than in a normal distribution of the same deviation");
        }

        return string.Join("; ", reasons) + ".";
    }
}
