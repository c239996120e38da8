using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A hand can set each trimmer finely enough for its step.</summary>
internal sealed class TrimFinenessCheck : Check
{
    public override string Name => "trim fineness";

    public override string MustHold => "The least change that a hand can make at a trimmer moves its meter by no more than the step's tolerance allows, so that every unit can be brought within it.";

    public override string Formula => "The hand leaves the wiper up to half of the trimmer's resolution and backlash beside the ideal position; what the meter then shows beside the target, "
        + "on the nominal unit and on those that need the least and the greatest position, against the tolerance. Margin: what is left of the tolerance.";

    public override string Source => "A hand sets a screw to about 5°: common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        for (int i = 0; i < evaluator.Plan.Steps.Length; i++)
        {
            PlannedStep step = evaluator.Plan.Steps[i];
            if (step.Trimmer < 0 || !(step.Fineness > 0) || double.IsNaN(evaluator.Adjustment[i].Needed))
            {
                continue;
            }

            double worst = new[] { 0, -1, +1 }.Max(direction => Effect(context, i, direction));
            Part part = context.Model.Trimmers[step.Trimmer];
            ITrimmer trimmer = (ITrimmer)part;
            string unit = step.Step.MeterUnit;
            string place = step.Step.Meter.Value;
            double margin = CheckContext.MarginOf(worst, step.Tolerance);
            string hand = trimmer.Turns is { } turns && trimmer.Backlash == 0
                ? $"A hand sets {part.Name.Value} with its {Engineering.Number(turns)} {(turns == 1 ? "turn" : "turns")} to {Engineering.Percent(step.Fineness, 2)} of the travel"
                : $"A hand is sure of {Engineering.Percent(step.Fineness, 2)} of the travel of {part.Name.Value}";
            yield return CheckContext.Finding(
                this,
                step.Step.Name.Value,
                context.StageOf(part.Name.Value),
                margin,
                $"{hand}, {Engineering.Format(2 * worst, unit, 2)} at {place}, and leaves up to {Engineering.Format(worst, unit, 2)}; allowed is ±{Engineering.Format(step.Tolerance, unit, 2)}.",
                [
                    new Figure("left beside the target", worst, unit),
                    new Figure("tolerance", step.Tolerance, unit),
                    new Figure("fineness", step.Fineness, ""),
                ],
                Mend(part, trimmer, step, worst, unit),
                part.Span);
        }
    }

    /// <summary>What the meter shows beside the target at most when the hand leaves the wiper half a step beside the ideal position; 0 when it can't be had.</summary>
    private static double Effect(CheckContext context, int number, int direction)
    {
        Evaluator evaluator = context.Evaluator;
        PlannedStep step = evaluator.Plan.Steps[number];
        UnitState state = direction == 0 ? evaluator.NewState() : context.Extremes.UnitAtEnd(step.Trimmer, direction);
        foreach (PlannedStep other in evaluator.Plan.Steps.Where(s => s.Setting >= 0))
        {
            state.Values[other.Setting] = 0;
        }

        evaluator.Adjust(state);
        using Evaluator.BenchConditions bench = evaluator.EnterBench(state);
        evaluator.SetSources(state, step, bench.Drive);
        double rest = state.Positions[step.Trimmer];
        double at = Read(rest);
        double effect = Math.Max(Math.Abs(Read(rest + (step.Fineness / 2)) - at), Math.Abs(Read(rest - (step.Fineness / 2)) - at));
        return double.IsNaN(effect) ? 0 : effect;

        double Read(double position)
        {
            state.Positions[step.Trimmer] = Math.Clamp(position, 0, 1);
            return step.Shown(state, evaluator.MeterReading(state, step.Step, limited: false));
        }
    }

    private static string Mend(Part part, ITrimmer trimmer, PlannedStep step, double worst, string unit)
    {
        double times = worst / ((1 - CheckContext.MarginalBelow) * step.Tolerance);
        string tolerance = $"or a tolerance of ±{Engineering.Format(worst / (1 - CheckContext.MarginalBelow), unit, 2)} where the error limits leave room for it";
        if (trimmer.Backlash >= step.Fineness / 2)
        {
            return $"A trimmer with a backlash of no more than {Engineering.Percent(Math.Max(0, (step.Fineness / times) - (step.Fineness - trimmer.Backlash)), 2)} of its travel; {tolerance}.";
        }

        string smaller = $"or {part.Name.Value} smaller by {Engineering.Number(times, 2)} with the difference in a fixed resistor, if it still reaches";
        return trimmer.Turns is { } turns
            ? $"A trimmer of {Engineering.Number(Math.Ceiling(turns * times))} turns or more; {smaller}; {tolerance}."
            : $"A trimmer that can be set to {Engineering.Percent(step.Fineness / times, 2)} of its travel; {smaller}; {tolerance}.";
    }
}
