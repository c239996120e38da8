using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// The currents of the solved network, summed up the tree of the supplies. Where a rail sags under what it feeds besides the circuit, network and tree are
/// solved in turn until neither moves.
/// </summary>
internal sealed class SupplyTree
{
    private const int MostTurns = 60;
    private const double Settled = 1e-13;

    private readonly NetworkRun _run;
    private readonly ImmutableArray<Supply> _supplies;
    private readonly int[] _parents;
    private readonly int[] _upwards;

    public SupplyTree(NetworkRun run, Instrument instrument)
    {
        _run = run;
        _supplies = instrument.Supplies;
        _parents = [.. _supplies.Select(s => s.From is { } from ? Array.FindIndex([.. _supplies], p => p.Name.Value == from.Value) : -1)];
        _upwards = [.. Enumerable.Range(0, _supplies.Length).OrderByDescending(Depth)];
    }

    /// <summary>Solves a state, whose further loads it sets; null when the network has no operating point.</summary>
    /// <param name="greatest">Whether the stated draws are at their maximum, else as typical.</param>
    public SupplyPoint? Solve(UnitState state, string conditions, bool greatest)
    {
        double[] loads = new double[_supplies.Length];
        bool sags = _supplies.Any(s => s.Sags);
        state.FurtherLoads = sags ? loads : null;
        for (int turn = 0; ; turn++)
        {
            OperatingPoint point = _run.Solve(state, limited: true);
            if (point.Status != SolveStatus.Solved)
            {
                return null;
            }

            Amounts amounts = Sum(point, greatest);
            double moved = 0;
            for (int i = 0; i < loads.Length; i++)
            {
                if (_supplies[i].Sags)
                {
                    moved = Math.Max(moved, Math.Abs(amounts.Further[i] - loads[i]) / Math.Max(1e-6, Math.Abs(amounts.Further[i])));
                    loads[i] = amounts.Further[i];
                }
            }

            if (!sags || moved <= Settled)
            {
                return Point(point, state, conditions, amounts);
            }

            if (turn == MostTurns || !double.IsFinite(moved))
            {
                // A rail that breaks down under its load has no operating point.
                return null;
            }
        }
    }

    private int Depth(int supply)
    {
        int depth = 0;
        for (int at = _parents[supply]; at >= 0; at = _parents[at])
        {
            depth++;
        }

        return depth;
    }

    private Amounts Sum(OperatingPoint point, bool greatest)
    {
        Amounts sums = new(_supplies.Length);
        foreach (int i in _upwards)
        {
            Supply supply = _supplies[i];
            sums.Volts[i] = Volts(point, supply.Name.Value, supply.Return.Value);
            sums.Drawn[i] = Math.CopySign(supply.Draws.Sum(d => greatest ? d.Greatest : d.Current.Value), supply.Voltage.Quantity.Value);
        }

        foreach (int i in _upwards)
        {
            // Every supply that this one feeds has been here before.
            Supply supply = _supplies[i];
            sums.Further[i] = sums.Drawn[i] + sums.Regulated[i];
            double network = point.Current(_run.Bound.Elements[supply.Name.Value]);
            if (supply.IsShunt)
            {
                // What it is fed less what it takes away, which the network counts as given.
                network += SupplyLaw.FeedAmperes(supply, sums.Volts[_parents[i]], sums.Volts[i]);
            }

            sums.Output[i] = supply.Sags ? network : network + sums.Further[i];
            sums.Circuit[i] = sums.Output[i] - sums.Further[i] - sums.Series[i];
            if (supply.Sags)
            {
                // The network carried what the last turn found; the difference goes with the settling.
                double carried = point.CurrentInto(_run.Bound.Elements[Model.FurtherLoadElement(supply.Name.Value)], 0);
                sums.Circuit[i] = network - carried - sums.Series[i];
            }

            sums.Inner[i] = supply is { IsInSeries: false, IsShunt: false, OutputResistance: { } ohms } ? sums.Volts[i] + (sums.Output[i] * ohms.Value) : sums.Volts[i];
            if (_parents[i] is >= 0 and var parent)
            {
                sums.Input[i] = SupplyLaw.InputAmperes(supply, sums.Volts[parent], sums.Inner[i], sums.Output[i]);
                (supply.IsFedInNetwork ? sums.Series : sums.Regulated)[parent] += sums.Input[i];
            }
        }

        return sums;
    }

    private SupplyPoint Point(OperatingPoint point, UnitState state, string conditions, Amounts sums)
    {
        RailPoint[] rails = new RailPoint[_supplies.Length];
        double outside = 0;
        double drawn = 0;
        double lost = 0;
        for (int i = 0; i < rails.Length; i++)
        {
            Supply supply = _supplies[i];
            int parent = _parents[i];
            double inputVolts = parent >= 0 ? sums.Volts[parent] : double.NaN;
            double loss;
            if (parent >= 0)
            {
                loss = (inputVolts * sums.Input[i]) - (sums.Volts[i] * sums.Output[i]);
            }
            else
            {
                loss = (sums.Inner[i] - sums.Volts[i]) * sums.Output[i];
                if (supply.Kind == SupplyKind.Loop)
                {
                    // The loop's own source gives it, through the terminal.
                    loss += (supply.Drop?.Value ?? 0) * sums.Output[i];
                }
                else
                {
                    outside += sums.Inner[i] * sums.Output[i];
                }
            }

            drawn += sums.Volts[i] * sums.Drawn[i];
            lost += loss;
            rails[i] = new RailPoint(
                supply,
                inputVolts,
                parent >= 0 ? sums.Input[i] : double.NaN,
                sums.Volts[i],
                sums.Circuit[i],
                sums.Drawn[i],
                sums.Regulated[i] + sums.Series[i],
                loss,
                parent >= 0 && supply.Dropout is { } dropout ? Math.Abs(inputVolts) - Math.Abs(sums.Volts[i]) - dropout.High : double.NaN,
                supply.Junction is { } junction ? SupplyLaw.JunctionCelsius(state.AmbientCelsius, loss, junction.Value) : double.NaN);
        }

        (double other, double circuit, double loop) = Network(point);
        return new SupplyPoint(conditions, [.. rails], outside, other, circuit, loop, drawn, lost);
    }

    /// <summary>Power by the network's own elements: what further sources give, what the circuit and the loop's load take.</summary>
    private (double Other, double Circuit, double Loop) Network(OperatingPoint point)
    {
        HashSet<ElementId> own = [];
        foreach (Supply supply in _supplies)
        {
            string name = supply.Name.Value;
            foreach (string element in new[] { name, Model.OutputResistanceElement(name), Model.FurtherLoadElement(name), Model.FeedElement(name) })
            {
                if (_run.Bound.Elements.TryGetValue(element, out ElementId id))
                {
                    own.Add(id);
                }
            }
        }

        double other = 0;
        double circuit = 0;
        double loop = 0;
        foreach ((string name, ElementId id) in _run.Bound.Elements)
        {
            if (own.Contains(id))
            {
                continue;
            }

            double watts = point.Power(id);
            if (name == Model.LoadElement)
            {
                loop += watts;
            }
            else if (_run.Bound.Sources.Contains(id) || name == Model.DriveElement)
            {
                other -= watts;
            }
            else
            {
                circuit += watts;
            }
        }

        return (other, circuit, loop);
    }

    private double Volts(OperatingPoint point, string node, string back) =>
        _run.Bound.Find(node) is { } plus && _run.Bound.Find(back) is { } minus ? point.Voltage(plus, minus) : double.NaN;

    /// <summary>Of every supply, by its number.</summary>
    private sealed class Amounts(int count)
    {
        public double[] Volts { get; } = new double[count];

        /// <summary>Before the output resistance.</summary>
        public double[] Inner { get; } = new double[count];

        public double[] Drawn { get; } = new double[count];

        /// <summary>Into the inputs of what regulates or converts.</summary>
        public double[] Regulated { get; } = new double[count];

        /// <summary>Into parts in series.</summary>
        public double[] Series { get; } = new double[count];

        public double[] Further { get; } = new double[count];

        public double[] Circuit { get; } = new double[count];

        public double[] Output { get; } = new double[count];

        public double[] Input { get; } = new double[count];
    }
}
