using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The error at display or output stays within its limit.</summary>
/// <param name="signal">The kind of output that it is worded for; null for the display.</param>
internal abstract class AccuracyCheck(BudgetOutput output, OutputSignal? signal) : Check
{
    private const int Causes = 3;

    private string Word => signal?.Place ?? "display";

    public override string Name => "accuracy at " + Word;

    public override string MustHold =>
        $"Over rated conditions until the next calibration, 95 % of all units, adjusted and calibrated, stay within the {Word}'s error limit.";

    public override string Formula =>
        "Linear error budget at the ends and quarters of the range: every contribution through circuit, trimmers and calibration by exact sensitivities. Error of the mean and expanded uncertainty, or nominal error and root sum "
        + "of squares of the limits where that is greater, against the limit; the straight sum is stated beside them.";

    public override string Source => "JCGM 100:2008, clauses 5 and 6 and annex G; limits added straight and as squares: common practice.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (Limit(context) is not { } limit)
        {
            yield break;
        }

        ImmutableArray<BudgetTable> tables = [.. context.RatedBudgets.Where(t => t.Output == output)];
        string stage = signal is not null ? Word : context.Model.Arithmetic?.Name.Value ?? context.Model.Converter!.Name.Value;
        string unit = signal?.Unit ?? context.Specification.Unit;
        if (tables.IsEmpty)
        {
            yield return CheckContext.Finding(
                this, Word, stage, double.NaN, "The nominal unit has no operating point at which anything could be said of its error.", [],
                "See to the findings about the circuit first.", limit.Quantity.Span);
            yield break;
        }

        BudgetTable worst = tables.MaxBy(t => CheckContext.SizeOf(t.Judged))!;
        BudgetLine[] causes = [.. worst.Lines.OrderByDescending(l => l.Effect).Take(Causes)];
        string list = string.Join(", ", causes.Select(l => $"{l.Name} {Text(context, worst, l.Effect)}"));
        string nominal = Math.Abs(worst.NominalError) > 0.1 * worst.Allowed ? $"; the nominal unit alone is off by {Text(context, worst, Math.Abs(worst.NominalError))}" : "";
        yield return CheckContext.Finding(
            this,
            Word,
            stage,
            CheckContext.MarginOf(worst.Judged, worst.Allowed),
            $"At {context.At(worst.Measurand)} 95 % of all units are within {Text(context, worst, worst.Expanded)}, root sum of squares {Text(context, worst, worst.LikelyCase)}, "
                + $"straight sum {Text(context, worst, worst.WorstCase)}; allowed {Text(context, worst, worst.Allowed)}. Greatest causes: {list}{nominal}.",
            [
                new Figure("95 % of all units within", worst.Expanded, unit),
                new Figure("root sum of squares", worst.LikelyCase, unit),
                new Figure("straight sum", worst.WorstCase, unit),
                new Figure("allowed", worst.Allowed, unit),
                new Figure("nominal error", worst.NominalError, unit),
                .. causes.Select(l => new Figure(l.Name, l.Effect, unit)),
            ],
            Mend(worst, causes),
            limit.Quantity.Span);
    }

    private ErrorLimit? Limit(CheckContext context) =>
        output == BudgetOutput.Display
            ? context.Model.Converter is null ? null : context.Specification.DisplayError
            : context.Evaluator.LoopScale is null || context.Signal != signal ? null : context.Specification.LoopError;

    private static string Text(CheckContext context, BudgetTable table, double error) =>
        table.Output == BudgetOutput.Display ? context.Difference(error) : Engineering.Percent(error / table.Span, 2) + " of span";

    private static string Mend(BudgetTable table, BudgetLine[] causes)
    {
        if (Math.Abs(table.NominalError) > table.Allowed / 2)
        {
            return "Mend first what puts the nominal unit off; the findings above name it.";
        }

        double share = causes.Sum(l => l.Share);
        string names = causes.Length switch
        {
            0 => "the lines of the budget",
            1 => causes[0].Name,
            _ => string.Join(", ", causes[..^1].Select(l => l.Name)) + " and " + causes[^1].Name,
        };
        bool ages = causes.Any(l => l.Unit.EndsWith("/s", StringComparison.Ordinal));
        return $"Begin with {names}: they make {Engineering.Percent(share, 2)} of the variance"
            + (ages ? "; or calibrate more often." : ".");
    }
}

/// <inheritdoc/>
internal sealed class DisplayAccuracyCheck() : AccuracyCheck(BudgetOutput.Display, null);

/// <inheritdoc/>
internal sealed class LoopAccuracyCheck(OutputSignal signal) : AccuracyCheck(BudgetOutput.Loop, signal);
