using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>How the procedure went on one unit.</summary>
/// <param name="Rounds">Passes in which something was turned: 1 when the written order suffices.</param>
/// <param name="Steps">In the order of the procedure, as everything stands in the end.</param>
internal sealed record BenchResult(int Rounds, ImmutableArray<BenchStepResult> Steps)
{
    /// <summary>Whether every meter shows its target within the tolerance in the end.</summary>
    public bool IsReached => Steps.All(s => s.IsReached);

    /// <summary>The same as everything stood after the first pass.</summary>
    public ImmutableArray<BenchStepResult> First { get; init; }
}

/// <summary>One step in the end.</summary>
/// <param name="Position">Where the wiper stands, 0 to 1; NaN without a trimmer.</param>
/// <param name="Ideal">Where it would have had to stand when it was last turned, ends and the hand's fineness apart; NaN when no position gives the target.</param>
/// <param name="Shown">What the meter shows, V or A.</param>
/// <param name="Truth">What is really there, V or A.</param>
/// <param name="Travel">How far the wiper was moved in all, and the backlash at every turning back; shares of the travel.</param>
/// <param name="IsReached">Whether what the meter shows is within the tolerance.</param>
internal readonly record struct BenchStepResult(double Position, double Ideal, double Shown, double Truth, double Travel, bool IsReached);

/// <summary>
/// Performs the adjustment as a person does it: begins with the trimmers as they were fitted; turns each as near to the target as hand and trimmer allow;
/// passes through the procedure again and corrects only what a later step has moved out of tolerance, until nothing is. What the person does depends on the
/// unit alone: where the hand leaves a wiper is one of the unit's parameters.
/// </summary>
/// <remarks><see cref="Evaluator.Adjust"/> is the person who never rests: it repeats until nothing moves at all. Where no later step moves an earlier one,
/// both end at the same positions.</remarks>
/// <param name="evaluator">Of the unit's model.</param>
/// <param name="written">The procedure; that of the file when left out.</param>
internal sealed class BenchAdjuster(Evaluator evaluator, AdjustmentPlan? written = null)
{
    private readonly AdjustmentPlan _plan = written ?? evaluator.Plan;

    /// <summary>Adjusts a unit and leaves its trimmers in the state, whose conditions are put back in the end.</summary>
    /// <param name="state">The unit.</param>
    /// <param name="mostRounds">Passes after which the person stops whatever the meters show; at least 1.</param>
    public BenchResult Adjust(UnitState state, int mostRounds = AdjustmentPlan.MostRounds)
    {
        Progress[] progress = new Progress[_plan.Steps.Length];
        using Evaluator.BenchConditions bench = evaluator.EnterBench(state);
        foreach (PlannedStep step in _plan.Steps)
        {
            if (step.Trimmer >= 0)
            {
                state.Positions[step.Trimmer] = step.Start;
            }
        }

        int rounds = 0;
        ImmutableArray<BenchStepResult> first = default;
        bool isTouched = false;
        for (bool turned = true; turned && rounds < mostRounds;)
        {
            turned = false;
            for (int i = 0; i < progress.Length; i++)
            {
                Turn turn = Perform(state, i, bench.Drive, first.IsDefault, ref progress[i]);
                turned |= turn == Turn.Moved;
                isTouched |= turn != Turn.None;
            }

            if (first.IsDefault)
            {
                first = Results(state, bench.Drive, progress);
                isTouched = false;
            }

            rounds += turned ? 1 : 0;
        }

        return new BenchResult(rounds, isTouched ? Results(state, bench.Drive, progress) : first) { First = first };
    }

    /// <summary>A later step may have moved an earlier one: what counts is what the meters read in the end.</summary>
    private ImmutableArray<BenchStepResult> Results(UnitState state, double otherwiseDrive, Progress[] progress)
    {
        BenchStepResult[] results = new BenchStepResult[progress.Length];
        for (int i = 0; i < results.Length; i++)
        {
            PlannedStep step = _plan.Steps[i];
            evaluator.SetSources(state, step, otherwiseDrive);
            double truth = evaluator.MeterReading(state, step.Step);
            double shown = step.Shown(state, truth);
            double position = step.Trimmer < 0 ? double.NaN : state.Positions[step.Trimmer];
            results[i] = new BenchStepResult(position, progress[i].Ideal, shown, truth, progress[i].Travel, step.IsWithin(shown));
        }

        return [.. results];
    }

    private Turn Perform(UnitState state, int number, double otherwiseDrive, bool isFirst, ref Progress progress)
    {
        PlannedStep step = _plan.Steps[number];
        if (step.Trimmer < 0)
        {
            return Turn.None;
        }

        evaluator.SetSources(state, step, otherwiseDrive);
        if (!isFirst && step.IsWithin(step.Shown(state, evaluator.MeterReading(state, step.Step, limited: false))))
        {
            return Turn.None;
        }

        double before = state.Positions[step.Trimmer];
        double ideal = evaluator.FindPosition(state, step);
        double after = double.IsNaN(ideal) ? before : step.Rest(state, ideal);
        state.Positions[step.Trimmer] = after;
        double moved = after - before;
        bool turnsBack = Math.Sign(moved) * progress.Direction < 0;
        progress = new Progress(
            ideal,
            progress.Travel + Math.Abs(moved) + (turnsBack ? step.Backlash : 0),
            moved == 0 ? progress.Direction : Math.Sign(moved));

        // A trimmer that stands where it stood, at an end or where the hand left it before, does no more in another pass.
        return isFirst || Math.Abs(moved) > Evaluator.Moved ? Turn.Moved : Turn.InVain;
    }

    private enum Turn
    {
        None,
        InVain,
        Moved,
    }

    private readonly record struct Progress(double Ideal, double Travel, int Direction);
}
