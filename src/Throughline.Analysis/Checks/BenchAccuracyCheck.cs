using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Meter and source of the bench are good enough for the tolerances that the procedure asks for.</summary>
internal sealed class BenchAccuracyCheck : Check
{
    public override string Name => "bench accurate enough";

    public override string MustHold => "What a step's meter and source may be wrong by together is no more than the tolerance that the step asks for.";

    public override string Formula => "Limits of the meter's error at the target, its digits in the smallest range that shows the target, and the limits of the source's error as the meter sees them, added up, "
        + "against the tolerance. Margin: what is left of the tolerance.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        ParameterSet parameters = context.Model.Parameters;
        foreach (PlannedStep step in evaluator.Plan.Steps)
        {
            int[] sources = [.. step.Sources.SelectMany(s => new[] { s.Error, s.Fixed }).Where(i => i >= 0).Distinct()];
            if (step.MeterError < 0 && step.MeterFixed < 0 && step.MeterCounts < 0 && sources.Length == 0)
            {
                continue;
            }

            string unit = step.Step.MeterUnit;
            double digits = Limit(step.MeterCounts);
            double meter = (Limit(step.MeterError) * Math.Abs(step.Target)) + Limit(step.MeterFixed);
            double source = sources.Sum(index => SourceEffect(evaluator, step, index, Limit(index)));
            double sum = digits + meter + source;
            (string name, double value)[] causes = [("the meter's digits", digits), ("the meter's error", meter), ("the source's error", source)];
            string worst = causes.MaxBy(c => c.value).name;
            yield return CheckContext.Finding(
                this,
                step.Step.Name.Value,
                context.StageOf(step.Step.Turn.Value),
                CheckContext.MarginOf(sum, step.Tolerance),
                $"At {Engineering.Format(step.Target, unit)} the bench may be wrong by {Engineering.Format(sum, unit, 2)}, most of it {worst}; the step asks for ±{Engineering.Format(step.Tolerance, unit, 2)}.",
                [
                    new Figure("wrong by", sum, unit),
                    new Figure("tolerance", step.Tolerance, unit),
                    new Figure("digits", digits, unit),
                    new Figure("meter", meter, unit),
                    new Figure("source", source, unit),
                ],
                Mend(step, unit, digits, meter, source),
                step.Step.Span);
        }

        double Limit(int index) => index < 0 ? 0 : parameters.High(index);
    }

    private static string Mend(PlannedStep step, string unit, double digits, double meter, double source)
    {
        double allowed = (1 - CheckContext.MarginalBelow) * step.Tolerance;
        if (digits >= meter && digits >= source && step.Step.MeterDigits is { } had)
        {
            double counts = digits / step.Count;
            for (double more = Math.Floor(had) + 0.5; more <= 9; more++)
            {
                double count = DigitalMeter.CountOf(more, step.Target, step.Step.Target.Dimension);
                if (more > had && (count * counts) + meter + source <= allowed)
                {
                    return $"A meter of {Engineering.Number(more)} digits, whose last digit there is {Engineering.Format(count, unit)}; or a target that a smaller range shows.";
                }
            }
        }

        double left = allowed - (digits + meter + source - Math.Max(meter, source));
        return left <= 0
            ? $"Meter and source together no worse than {Engineering.Format(allowed, unit, 2)} there."
            : meter >= source
                ? $"A meter with an error of no more than {Engineering.Format(left, unit, 2)} at {Engineering.Format(step.Target, unit)}, {Engineering.Percent(left / Math.Abs(step.Target), 2)} of it."
                : $"A source {Engineering.Number(source / left, 2)} times as good, wrong by no more than {Engineering.Format(left, unit, 2)} as the meter sees it.";
    }

    /// <summary>How far the meter's reading moves when the source is wrong by one of its limits, on the nominal unit.</summary>
    private static double SourceEffect(Evaluator evaluator, PlannedStep step, int index, double limit)
    {
        UnitState state = evaluator.NewState();
        using Evaluator.BenchConditions bench = evaluator.EnterBench(state);
        double right = Read();
        state.Values[index] = limit;
        double effect = Math.Abs(Read() - right);
        return double.IsNaN(effect) ? 0 : effect;

        double Read()
        {
            evaluator.SetSources(state, step, bench.Drive);
            return evaluator.MeterReading(state, step.Step, limited: false);
        }
    }
}
