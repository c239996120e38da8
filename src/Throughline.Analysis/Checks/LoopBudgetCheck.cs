using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>An instrument on two wires takes less than the least current it has to set.</summary>
internal sealed class LoopBudgetCheck : Check
{
    public override string Name => "current below the live zero";

    public override string MustHold => "What all rails of an instrument on two wires take together, every part and draw at its greatest, stays below the least current that it sets, the failure current included: the output transistor gives the rest and can't take any back.";

    public override string Formula => "The tree of the supplies solved at the least loop current, at both ends of ambient and range: the sum of what leaves the loop's rail but for the output stage. The margin is what is left as a part of the least current.";

    public override string Source => "Published data sheets of two-wire transmitter circuits state the same budget: 3.7 to 3.8 mA below 4 mA for everything. Kirchhoff's law.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.LoopRail is not { } rail || context.Instrument.Loop is null
            || context.Model.OutputConverter is null || context.Evaluator.OutputTransfer is null)
        {
            yield break;
        }

        double least = context.LoopValues.Low;
        double most = double.NegativeInfinity;
        double typical = double.NaN;
        List<(string Name, double Amperes)> shares = [];
        SupplyTree tree = new(new NetworkRun(context.Model.Field), context.Instrument);
        foreach (bool greatest in new[] { false, true })
        {
            foreach (double ambient in greatest ? new[] { context.Specification.Ambient.Low, context.Specification.Ambient.High } : [UnitState.ReferenceCelsius])
            {
                foreach (double x in new[] { context.Specification.Range.Low, context.Specification.Range.High })
                {
                    UnitState state = context.Evaluator.NewState();
                    state.Measurand = x;
                    state.AmbientCelsius = ambient;
                    for (int i = 0; greatest && i < context.Model.Parameters.Count; i++)
                    {
                        if (context.Model.Parameters[i].Name == "supply current")
                        {
                            state.Values[i] = context.Model.Parameters.High(i);
                        }
                    }

                    context.Drive(state, least);
                    if (tree.Solve(state, "least current", greatest) is not { } point)
                    {
                        continue;
                    }

                    RailPoint loop = point.Rails.First(r => r.Supply == rail);
                    double more = greatest ? point.Rails.Where(r => r.Supply.IsLoopFed).Sum(r => MoreQuiescent(r.Supply)) : 0;
                    double taken = loop.DrawnAmperes + loop.SupplyAmperes + more;
                    typical = greatest ? typical : taken;
                    if (greatest && taken > most)
                    {
                        most = taken;
                        shares = [.. point.Rails.Where(r => r.Supply.From?.Value == rail.Name.Value).Select(r => (r.Supply.Name.Value, r.InputAmperes + MoreQuiescent(r.Supply)))];
                    }
                }
            }
        }

        if (double.IsInfinity(most))
        {
            most = double.NaN;
        }

        yield return CheckContext.Finding(
            this,
            rail.Name.Value,
            "supplies",
            (least - most) / least,
            $"Everything takes {Engineering.Format(typical, "A", 3)}, at the most {Engineering.Format(most, "A", 3)}"
                + $"{(shares.Count > 0 ? $" ({string.Join(", ", shares.Select(s => $"{s.Name} {Engineering.Format(s.Amperes, "A", 3)}"))})" : "")}; the least that it sets is {Engineering.Format(least, "A", 3)}.",
            [new Figure("typical", typical, "A"), new Figure("greatest", most, "A"), new Figure("least loop current", least, "A"), new Figure("left", least - most, "A")],
            $"Take {Engineering.Format(Math.Max(0, most - least), "A", 2)} off the rails: slower or fewer parts, a sensor of more resistance, less excitation; or signal a failure upwards.",
            rail.Span);

        static double MoreQuiescent(Supply supply) => supply.Quiescent is { } q && double.IsFinite(q.High) ? q.High - q.Value : 0;
    }
}
