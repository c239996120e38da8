using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Evaluates the supplies over all conditions.</summary>
internal sealed class SupplyReportBuilder(CheckContext context)
{
    private readonly Instrument _instrument = context.Instrument;

    public static SupplyReport? Build(CheckContext context)
    {
        if (context.Instrument.Supplies.IsEmpty)
        {
            return null;
        }

        SupplyReportBuilder builder = new(context);
        NetworkRun run = new(context.Model.Field);
        SupplyTree tree = new(run, context.Instrument);
        ImmutableArray<(SupplyPoint? Point, double Ambient)> points = [.. builder.Corners(tree)];
        SupplyPoint[] solved = [.. points.Select(p => p.Point).OfType<SupplyPoint>()];
        return new SupplyReport
        {
            Typical = builder.Typical(tree),
            Hardest = solved.Length == points.Length ? solved.MaxBy(p => p.KeptWatts) : null,
            Worst = solved.Length == points.Length ? [.. context.Instrument.Supplies.Select((s, i) => WorstOf(s, i, solved))] : [],
            Ripple = RippleSurvey.Build(context),
            Start = StartSurvey.Build(context),
            BrownOuts = BrownOutSurvey.Build(context),
            Crossings = [.. CrossingsOf(context.Instrument)],
            Grounds = GroundSurvey.Build(context),
        };
    }

    /// <summary>Everything that crosses between two domains.</summary>
    public static IEnumerable<Crossing> CrossingsOf(Instrument instrument)
    {
        foreach (Supply supply in instrument.Supplies.Where(s => s.Kind == SupplyKind.IsolatedConverter))
        {
            yield return new Crossing(supply.Name.Value, supply.Withstands, supply.Insulation ?? new Insulation(), supply.Span);
        }

        foreach (OutputConverterStage dac in instrument.Stages.OfType<OutputConverterStage>())
        {
            if (dac.Link is { Kind.Value: not "plain" } link)
            {
                yield return new Crossing(dac.Name.Value + " link", link.Withstands, link.Insulation, link.Span);
            }
        }

        foreach (Part part in instrument.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts))
        {
            if (part is IBarrier barrier)
            {
                yield return new Crossing(part.Name.Value, barrier.Withstands, barrier.Insulation, part.Span);
            }
        }
    }

    private SupplyPoint? Typical(SupplyTree tree)
    {
        UnitState state = context.Evaluator.NewState();
        state.Measurand = context.Specification.Range.Middle;
        context.Evaluator.Chain(state);
        return tree.Solve(state, "typical", greatest: false);
    }

    /// <summary>Both ends of range and loop current, load, ambient and outside supplies, draws and amplifiers at their greatest.</summary>
    private IEnumerable<(SupplyPoint? Point, double Ambient)> Corners(SupplyTree tree)
    {
        Specification s = context.Specification;
        (double least, double most) = _instrument.Loop is null ? (double.NaN, double.NaN) : context.LoopValues;
        if (_instrument.Loop?.Test is { } test)
        {
            least = Math.Min(least, test.Low);
        }

        QuantityRange? load = _instrument.Loop?.Load;
        foreach ((double x, double value) in new[] { (s.Range.Low, least), (s.Range.High, most) })
        {
            foreach (double ohms in load is null ? [0] : new[] { load.Low, load.High }.Distinct())
            {
                foreach (double ambient in new[] { s.Ambient.Low, s.Ambient.High }.Distinct())
                {
                    foreach (bool high in new[] { false, true })
                    {
                        UnitState state = context.Evaluator.NewState();
                        state.Measurand = x;
                        state.Burden = _instrument.Loop?.BurdenOf(ohms) ?? 0;
                        state.AmbientCelsius = ambient;
                        foreach (Parameter outside in context.Model.OutsideSupplies())
                        {
                            int index = context.Model.Parameters.IndexOf(outside);
                            state.Values[index] = high ? context.Model.Parameters.High(index) : context.Model.Parameters.Low(index);
                        }

                        for (int i = 0; i < context.Model.Parameters.Count; i++)
                        {
                            if (context.Model.Parameters[i].Name == "supply current")
                            {
                                state.Values[i] = context.Model.Parameters.High(i);
                            }
                        }

                        string words = $"{Engineering.Format(ambient, "°C", 3)}, supply {(high ? "high" : "low")}";
                        if (_instrument.Loop is not null)
                        {
                            context.Drive(state, value);
                            words = $"{Engineering.Format(value, context.Signal.Unit, 3)} into {Engineering.Format(ohms, "Ω", 3)}, {words}";
                        }

                        yield return (tree.Solve(state, words, greatest: true), ambient);
                    }
                }
            }
        }
    }

    private static RailWorst WorstOf(Supply supply, int index, SupplyPoint[] points)
    {
        RailPoint Rail(SupplyPoint p) => p.Rails[index];
        SupplyPoint current = points.MaxBy(p => Math.Abs(Rail(p).OutputAmperes))!;
        SupplyPoint loss = points.MaxBy(p => Rail(p).LossWatts)!;
        SupplyPoint junction = points.MaxBy(p => double.IsNaN(Rail(p).JunctionCelsius) ? double.NegativeInfinity : Rail(p).JunctionCelsius)!;
        SupplyPoint headroom = points.MinBy(p => double.IsNaN(Rail(p).Headroom) ? double.PositiveInfinity : Rail(p).Headroom)!;
        Supply? from = points[0].Rails.FirstOrDefault(r => r.Supply.Name.Value == supply.From?.Value)?.Supply;

        // What comes from outside is at its end already; a rail that another supply makes may be off by its tolerance.
        double tolerance = supply.Voltage.Quantity.Tolerance
            + (from is { Kind: not (SupplyKind.Dc or SupplyKind.Battery), IsInSeries: false } ? from.Voltage.Quantity.Tolerance : 0);
        return new RailWorst(
            supply,
            Math.Abs(Rail(current).OutputAmperes),
            current.Conditions,
            Rail(headroom).Headroom - tolerance,
            headroom.Conditions,
            Rail(loss).LossWatts,
            loss.Conditions,
            Rail(junction).JunctionCelsius,
            junction.Conditions)
        {
            InputLow = points.Min(p => Math.Abs(Rail(p).InputVolts)),
            InputHigh = points.Max(p => Math.Abs(Rail(p).InputVolts)),
            ShuntLow = supply.IsShunt ? points.Min(p => Rail(p).ShuntAmperes - FeedTolerance(Rail(p))) : double.NaN,
            ShuntHigh = supply.IsShunt ? points.Max(p => Rail(p).ShuntAmperes + FeedTolerance(Rail(p))) : double.NaN,
            ShuntLowAt = supply.IsShunt ? points.MinBy(p => Rail(p).ShuntAmperes - FeedTolerance(Rail(p)))!.Conditions : "",
        };

        // A resistor's share of what flows, and what a higher voltage of the rail leaves less of.
        static double FeedTolerance(RailPoint rail) => rail.Supply.Feed is not { } feed ? 0
            : feed.Dimension == Dimension.Resistance ? (Math.Abs(rail.InputAmperes) * feed.Tolerance / feed.Value) + (rail.Supply.Voltage.Quantity.Tolerance / feed.Value)
            : feed.Tolerance;
    }
}
