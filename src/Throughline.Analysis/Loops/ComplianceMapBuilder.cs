using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Draws the compliance map: the same search as the check's, over a grid of loads and supplies.</summary>
internal sealed class ComplianceMapBuilder(CheckContext context)
{
    /// <summary>Loads, and supplies, of a map.</summary>
    public const int Side = 20;

    /// <summary>A cell is a figure of four digits.</summary>
    private const double CellTolerance = 1e-4;

    private readonly OutputStage _stage = new(context);

    /// <summary>The map; null when nothing drives the output.</summary>
    public ComplianceMap? Build(int columns = Side, int rows = Side)
    {
        if (context.Instrument.Loop is not { } loop || context.Compliance is not { } compliance)
        {
            return null;
        }

        ImmutableArray<double> loads = Loads(loop, compliance, columns);

        // A loop that is fed from outside is asked for that supply, even where another gives out first.
        Parameter? supply = loop.Supply ?? compliance.Supply;
        double enough = supply is null ? double.NaN
            : ReferenceEquals(supply, compliance.Supply) ? compliance.SupplyNeeded
            : _stage.SupplyNeeded(_stage.WorstState(compliance.Needed, compliance.Strained), supply, compliance.Needed, loop.Burden.High);
        ImmutableArray<double> supplies = Supplies(supply?.Quantity, enough, rows);
        double top = 1.25 * compliance.Needed;
        double end = loop.Scale.Max(p => p.To.Value);
        Grid grid = new(supply is null ? -1 : context.Model.Parameters.IndexOf(supply), loads, supplies, compliance.Needed, end, top);
        QuantityRange ambient = context.Specification.Ambient;
        List<ComplianceLayer> layers =
        [
            Layer(grid, context.Evaluator.NewState(), $"stated parts, {Engineering.Format(UnitState.ReferenceCelsius, "°C")}", isWorst: false),
        ];
        foreach (double celsius in ambient.Width > 0 ? new[] { ambient.Low, ambient.High } : [ambient.Low])
        {
            UnitState worst = _stage.WorstState(compliance.Needed, compliance.Strained, celsius);
            layers.Add(Layer(grid, worst, $"worst parts, {Engineering.Format(celsius, "°C")}", isWorst: true));
        }

        Quantity? voltage = supply?.Quantity;
        return new ComplianceMap
        {
            Signal = loop.Signal,
            Loads = loads,
            SupplyName = supply is null ? null : Compliance.NameOf(supply, loop),
            Supplies = supplies,
            RatedLoad = (loop.Load.Low, Math.Min(loop.Load.High, Math.Max(loads[^1], loop.Load.Low))),
            RatedSupply = voltage is null ? (double.NaN, double.NaN) : (voltage.Low, voltage.High),
            Needed = compliance.Needed,
            ScaleEnd = end,
            Top = top,
            Layers = [.. layers],
        };
    }

    /// <summary>What every layer of a map shares.</summary>
    /// <param name="Supply">Number of the deciding supply among the parameters; −1 for none.</param>
    private sealed record Grid(int Supply, ImmutableArray<double> Loads, ImmutableArray<double> Supplies, double Needed, double ScaleEnd, double Top);

    private ComplianceLayer Layer(Grid grid, UnitState unit, string name, bool isWorst)
    {
        double[] values = new double[grid.Supplies.Length * grid.Loads.Length];
        Loop loop = context.Instrument.Loop!;
        double[] greatest = new double[grid.Supplies.Length];
        double[] ofScale = new double[grid.Supplies.Length];
        UnitState state = unit.Copy();
        for (int row = 0; row < grid.Supplies.Length; row++)
        {
            if (grid.Supply >= 0)
            {
                state.Values[grid.Supply] = grid.Supplies[row];
                state.Drifts[grid.Supply] = 0;
            }

            (double, double) line = _stage.LinearOf(state, 0);
            greatest[row] = loop.OhmsOf(_stage.GreatestBurden(state, grid.Needed, line));
            ofScale[row] = loop.OhmsOf(_stage.GreatestBurden(state, grid.ScaleEnd, line));
            for (int column = 0; column < grid.Loads.Length; column++)
            {
                double load = loop.BurdenOf(Math.Max(grid.Loads[column], 1e-3));
                values[(row * grid.Loads.Length) + column] = Cell(state, load, grid.Top, loop.Signal.IsVoltage ? _stage.LinearOf(state, load) : line);
            }
        }

        return new ComplianceLayer(name, state.AmbientCelsius, isWorst, [.. values], [.. greatest], [.. ofScale]);
    }

    /// <summary>The greatest controlled value at a burden, A or V. What comes when the stage is driven hard is near it, so the search begins about that.</summary>
    private double Cell(UnitState state, double load, double top, (double, double) line)
    {
        double hard = _stage.Value(state, top, load);
        if (Excess(top) <= 0)
        {
            // What a load takes of a voltage is no loss of control, and yet the receiver does not get it.
            return context.Signal.IsVoltage ? Math.Min(top, hard) : top;
        }

        double good = Math.Min(hard, top) * 0.97;
        double bad = Math.Min(top, hard * 1.03);
        if (!(good > 0) || Excess(good) > 0)
        {
            good = context.LoopValues.Low;
            if (Excess(good) > 0)
            {
                return double.NaN;
            }
        }

        if (!(bad > good) || Excess(bad) <= 0)
        {
            bad = top;
        }

        return _stage.Value(state, OutputStage.Search(good, bad, Excess, CellTolerance), load);

        double Excess(double value) => _stage.Excess(state, value, load, line);
    }

    /// <summary>Round loads from a short to well beyond both what is rated and what is reached; across a voltage, beyond the least of what is rated.</summary>
    private static ImmutableArray<double> Loads(Loop loop, Compliance compliance, int count)
    {
        if (loop.Signal.IsVoltage)
        {
            double least = double.IsFinite(compliance.LoadNominal) ? Math.Min(compliance.LoadNominal, 3 * loop.Load.Low) : 0;
            double one = RoundStep(1.5 * Math.Max(loop.Load.Low, least) / (count - 1));
            return [.. Enumerable.Range(0, count).Select(i => i * one)];
        }

        double reached = double.IsFinite(compliance.LoadNominal) ? Math.Min(compliance.LoadNominal, 3 * Math.Max(loop.Load.High, 100)) : 0;
        double step = RoundStep(1.15 * Math.Max(Math.Max(loop.Load.High, reached), 50) / (count - 1));
        return [.. Enumerable.Range(0, count).Select(i => i * step)];
    }

    private static ImmutableArray<double> Supplies(Quantity? stated, double enough, int count)
    {
        if (stated is not { } voltage)
        {
            return [double.NaN];
        }

        double sign = voltage.Value < 0 ? -1 : 1;
        double[] all = [voltage.Low * sign, voltage.High * sign, double.IsFinite(enough) ? enough * sign : voltage.Value * sign];
        double low = 0.8 * all.Min();
        double step = RoundStep(((1.1 * all.Max()) - low) / (count - 1));
        double start = Math.Floor(low / step) * step;
        return [.. Enumerable.Range(0, count).Select(i => sign * (start + (i * step))).Order()];
    }

    /// <summary>The next of 1, 2, 2.5, 5 and 10 times a power of ten.</summary>
    private static double RoundStep(double least)
    {
        double decade = Math.Pow(10, Math.Floor(Math.Log10(least)));
        foreach (double factor in new[] { 1, 2, 2.5, 5 })
        {
            if (factor * decade >= least * (1 - 1e-9))
            {
                return factor * decade;
            }
        }

        return 10 * decade;
    }
}
