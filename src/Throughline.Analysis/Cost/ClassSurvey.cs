using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Tries every part in every other class of tolerance that has a price.</summary>
internal static class ClassSurvey
{
    /// <summary>Less of the limit than this is no gain.</summary>
    private const double LeastGain = 1e-4;

    /// <param name="further">Checks beside those of the chain: a cheaper class has to leave them as they are, too.</param>
    public static ClassReport Run(Instrument instrument, IReadOnlyList<IFurtherChecks> further, CancellationToken cancel)
    {
        int quantity = (instrument.Cost?.Quantities ?? [1, 100])[^1];
        (double display, double loop) = Errors(instrument);
        List<ClassChange> better = [];
        List<ClassChange> cheaper = [];
        Part[] parts = [.. instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts).Where(p => p is IToleranced and not Resistor { Network: not null })];
        foreach (Part part in parts)
        {
            if (BillBuilder.ClassOf(instrument, part, quantity) is not { } bought)
            {
                continue;
            }

            bool hasDrift = BillBuilder.DriftOf(part, ((IToleranced)part).Main.Quantity) is not null;
            foreach (PriceClass other in instrument.Prices.Classes[part.Kind].Where(c => c != bought && (c.Drift is not null || !hasDrift)))
            {
                cancel.ThrowIfCancellationRequested();
                (double newDisplay, double newLoop) = Errors(With(instrument, part, other));
                ClassChange change = new(part.Name.Value, bought, other, other.Price.Of(quantity) - bought.Price.Of(quantity), newDisplay, newLoop);
                if (GainOf(change) > LeastGain)
                {
                    better.Add(change);
                }
                else if (change.CostChange < 0)
                {
                    cheaper.Add(change);
                }
            }
        }

        Dictionary<(string, string), Outcome> now = Outcomes(instrument);
        ImmutableArray<ClassChange> kept = [.. cheaper.OrderBy(c => c.CostChange).Where(c => Keeps(Apply(instrument, c)))];
        Instrument saved = instrument;
        List<ClassChange> together = [];
        foreach (ClassChange change in kept)
        {
            if (together.Exists(t => t.Part == change.Part))
            {
                continue;
            }

            Instrument tried = Apply(saved, change);
            if (Keeps(tried))
            {
                saved = tried;
                together.Add(change);
            }
        }

        return new ClassReport(display, loop, [.. better.OrderByDescending(GainOf)], kept, [.. together]);

        // At the output that is nearer to its limit now a gain is worth most; a class that helps the other alone counts as well.
        double GainOf(ClassChange c) => Math.Max(OrNothing(display - c.Display), OrNothing(loop - c.Loop));

        static double OrNothing(double value) => double.IsNaN(value) ? 0 : value;

        Dictionary<(string, string), Outcome> Outcomes(Instrument of)
        {
            cancel.ThrowIfCancellationRequested();
            return Reviewer.Review(of, further, cancel).Findings.GroupBy(f => (f.Check, f.Subject)).ToDictionary(g => g.Key, g => g.Max(f => f.Outcome));
        }

        // The limit on the cost is no reason to keep a dear part.
        bool Keeps(Instrument tried) => Outcomes(tried).All(o => o.Value <= now.GetValueOrDefault(o.Key, Outcome.Met));
    }

    private static Instrument Apply(Instrument instrument, ClassChange change) =>
        With(instrument, instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts).First(p => p.Name.Value == change.Part), change.To);

    private static Instrument With(Instrument instrument, Part part, PriceClass priced) => instrument with
    {
        Stages = [.. instrument.Stages.Select(s => s is CircuitStage c && c.Parts.Contains(part) ? c with { Parts = c.Parts.Replace(part, BillBuilder.In(part, priced)) } : s)],
    };

    /// <summary>Errors at display and loop over their limits over rated conditions, the worst of the range, as the checks of the accuracy judge them.</summary>
    private static (double Display, double Loop) Errors(Instrument instrument)
    {
        ImmutableArray<BudgetTable> tables = new CheckContext(new Evaluator(Model.Compile(instrument))).RatedBudgets;
        return (Of(BudgetOutput.Display), Of(BudgetOutput.Loop));

        double Of(BudgetOutput output) =>
            tables.Where(t => t.Output == output && t.Allowed > 0 && double.IsFinite(t.Allowed)).Select(t => t.Judged / t.Allowed).DefaultIfEmpty(double.NaN).Max();
    }
}
