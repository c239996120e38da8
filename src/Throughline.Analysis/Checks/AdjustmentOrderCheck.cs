using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>The steps of the adjustment stand in an order in which no step undoes an earlier one.</summary>
internal sealed class AdjustmentOrderCheck : Check
{
    /// <summary>Up to so many steps every order is tried: 120 of them.</summary>
    private const int MostPermuted = 5;

    public override string Name => "adjustment order";

    public override string MustHold => "One pass through the steps in the written order leaves every meter within its tolerance.";

    public override string Formula => "The procedure is performed once by a hand that is exact, on the nominal unit and on those that need the least and the greatest position of each trimmer, with every trimmer in "
        + "the middle or where the file says before; what each meter then shows beside its target, of the tolerance. Margin: what is left of it.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        AdjustmentPlan plan = evaluator.Plan;
        int[] judged = [.. Enumerable.Range(0, plan.Steps.Length).Where(i => plan.Steps[i].Trimmer >= 0 && evaluator.Adjustment[i].Reached)];
        if (plan.Steps.Length < 2 || judged.Length == 0)
        {
            yield break;
        }

        UnitState[] units = [.. Units(context)];
        BenchResult[] results = [.. Adjusted(evaluator, plan, units, AdjustmentPlan.MostRounds)];
        (int step, double left) = Worst(plan, judged, results);
        int nominalRounds = results[0].Rounds;
        int rounds = results.Max(r => r.Rounds);
        PlannedStep worst = plan.Steps[step];
        string unit = worst.Step.MeterUnit;
        string[] disturbing = [.. plan.Steps.Skip(step + 1).Where(s => Moves(evaluator, worst, s)).Select(s => s.Step.Name.Value)];
        string by = disturbing.Length == 0 ? "" : $" moved by {string.Join(" and ", disturbing)}";
        string passes = FormattableString.Invariant($"{rounds} {(rounds == 1 ? "pass" : "passes")}");
        yield return CheckContext.Finding(
            this,
            "procedure",
            context.StageOf(worst.Step.Turn.Value),
            CheckContext.MarginOf(left, 1),
            left <= 1
                ? $"One pass does: of the tolerance of step {worst.Step.Name.Value}, {Engineering.Percent(left, 2)} is used{by}."
                : $"After one pass {worst.Step.Meter.Value} stands {Engineering.Format(left * worst.Tolerance, unit, 2)} beside the target of step {worst.Step.Name.Value}, "
                    + $"which allows ±{Engineering.Format(worst.Tolerance, unit, 2)}:{(by.Length > 0 ? by : " set by nothing that a later step does")}. "
                    + (rounds < AdjustmentPlan.MostRounds ? $"It takes up to {passes}." : $"Even {passes} are not enough on some units."),
            [
                new Figure("passes on the nominal unit", nominalRounds, ""),
                new Figure("passes on the worst unit", rounds, ""),
                new Figure("moved, of the tolerance", left, ""),
            ],
            CheckContext.MarginOf(left, 1) < CheckContext.MarginalBelow ? Mend(evaluator, plan, judged, units, rounds, worst, disturbing) : null,
            worst.Step.Span);
    }

    private static string Mend(Evaluator evaluator, AdjustmentPlan plan, int[] judged, UnitState[] units, int rounds, PlannedStep worst, string[] disturbing)
    {
        if (plan.Steps.Length <= MostPermuted)
        {
            (AdjustmentPlan Plan, double Left) best = (plan, double.PositiveInfinity);
            foreach (PlannedStep[] order in Permutations([.. plan.Steps]))
            {
                AdjustmentPlan other = new([.. order]);
                double left = Worst(other, judged, Adjusted(evaluator, other, units, mostRounds: 1)).Left;
                if (left < best.Left)
                {
                    best = (other, left);
                }
            }

            if (best.Left <= 1 - CheckContext.MarginalBelow)
            {
                return $"In the order {string.Join(", ", best.Plan.Steps.Select(s => s.Step.Name.Value))} one pass does.";
            }
        }

        string apart = disturbing.Length == 0
            ? "Give each step a trimmer of its own"
            : $"No order does it in one pass: adjust {worst.Step.Name.Value} where {string.Join(" and ", disturbing)} can't move it";
        return rounds < AdjustmentPlan.MostRounds
            ? FormattableString.Invariant($"{apart}; or let the procedure say that it is repeated, {rounds} times on the worst unit.")
            : apart + ".";
    }

    /// <summary>The nominal unit and, for each trimmer, the units that need its least and its greatest position. The hand is exact on all of them.</summary>
    private static IEnumerable<UnitState> Units(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        yield return evaluator.NewState();
        foreach (int trimmer in evaluator.Plan.Steps.Select(s => s.Trimmer).Where(t => t >= 0).Distinct())
        {
            foreach (int direction in new[] { -1, +1 })
            {
                UnitState state = context.Extremes.UnitAtEnd(trimmer, direction);
                foreach (PlannedStep step in evaluator.Plan.Steps.Where(s => s.Setting >= 0))
                {
                    state.Values[step.Setting] = 0;
                }

                yield return state;
            }
        }
    }

    /// <summary>The step, by its place in the file, that one pass leaves farthest from its target, and how far as a part of its tolerance.</summary>
    private static (int Step, double Left) Worst(AdjustmentPlan plan, int[] judged, IEnumerable<BenchResult> units)
    {
        (int Step, double Left) worst = (judged[0], 0);
        foreach (BenchResult unit in units)
        {
            for (int i = 0; i < unit.First.Length; i++)
            {
                // A trimmer that can't reach is another check's matter.
                PlannedStep step = plan.Steps[i];
                double left = Math.Abs(unit.First[i].Shown - step.Target) / step.Tolerance;
                if (judged.Contains(step.Number) && unit.First[i].Ideal is >= 0 and <= 1 && left > worst.Left)
                {
                    worst = (step.Number, left);
                }
            }
        }

        return worst;
    }

    private static IEnumerable<BenchResult> Adjusted(Evaluator evaluator, AdjustmentPlan plan, UnitState[] units, int mostRounds)
    {
        BenchAdjuster adjuster = new(evaluator, plan);
        return units.Select(u => adjuster.Adjust(u.Copy(), mostRounds));
    }

    /// <summary>Whether turning a later step's trimmer through a tenth of its travel takes a tenth of an earlier step's tolerance or more.</summary>
    private static bool Moves(Evaluator evaluator, PlannedStep earlier, PlannedStep later)
    {
        if (later.Trimmer < 0)
        {
            return false;
        }

        UnitState state = evaluator.NewState();
        using Evaluator.BenchConditions bench = evaluator.EnterBench(state);
        evaluator.SetSources(state, earlier, bench.Drive);
        double before = evaluator.MeterReading(state, earlier.Step, limited: false);
        double position = state.Positions[later.Trimmer];
        state.Positions[later.Trimmer] = position > 0.5 ? position - 0.1 : position + 0.1;
        return Math.Abs(evaluator.MeterReading(state, earlier.Step, limited: false) - before) >= 0.1 * earlier.Tolerance;
    }

    /// <summary>Every order of the steps, those nearest to the written one first.</summary>
    private static IEnumerable<PlannedStep[]> Permutations(PlannedStep[] steps)
    {
        if (steps.Length <= 1)
        {
            yield return steps;
            yield break;
        }

        for (int i = 0; i < steps.Length; i++)
        {
            foreach (PlannedStep[] rest in Permutations([.. steps[..i], .. steps[(i + 1)..]]))
            {
                yield return [steps[i], .. rest];
            }
        }
    }
}
