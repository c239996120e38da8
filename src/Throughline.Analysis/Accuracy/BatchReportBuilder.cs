using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>Makes figures of what a batch has counted.</summary>
internal static class BatchReportBuilder
{
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
                yield return new BatchYield($"loop within limits, {name}", tally.WithinLoop(t), tally.Units);
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
                        plan.Tests[t].Moment, plan.Tests[t].Name, plan.Points[p], ReadingPlace.Display, plan.DisplayLimit, BatchSpread.Of("display", unit, tally.Display(t, p)));
                }

                if (plan.HasLoop)
                {
                    yield return new BatchReading(
                        plan.Tests[t].Moment, plan.Tests[t].Name, plan.Points[p], ReadingPlace.Loop, plan.LoopLimit, BatchSpread.Of("loop", "A", tally.Loop(t, p)));
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
}
