using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Solves a circuit for many units with the batched solver and each of them with the scalar one beside it.</summary>
internal sealed class BatchCheck
{
    private readonly Circuit _circuit;
    private readonly Probe[] _probes;
    private readonly double[] _perSlot;

    public BatchCheck(Circuit circuit, BatchSlots slots, Probe[]? probes = null, bool checksLimits = true)
    {
        _circuit = circuit;
        Slots = slots;
        _perSlot = new double[circuit.Network.SlotCount];
        _probes = probes ?? AllProbes(circuit);
        OperatingPoint point = circuit.Network.CreateSolver().Solve(circuit.Values, circuit.Kelvin);
        Assert.True(point.Status == SolveStatus.Solved, point.Trouble);
        Program = BatchProgram.Create(circuit.Network, point.Snapshot(), _probes, slots, checksLimits);
    }

    public BatchSlots Slots { get; }

    public BatchProgram Program { get; }

    /// <summary>Lanes compared, and those that were not settled.</summary>
    public (int Compared, int Unsettled) Count { get; private set; }

    public double Worst { get; private set; }

    /// <summary>Every node's voltage and every element's current.</summary>
    public static Probe[] AllProbes(Circuit circuit) =>
    [
        .. Enumerable.Range(1, circuit.Network.NodeCount - 1).Select(node => Probe.Voltage(new NodeId(node), new NodeId(0))),
        .. Enumerable.Range(0, circuit.Network.ElementCount).Select(element => Probe.Current(new ElementId(element))),
    ];

    /// <summary>Every slot of an element that varies when its value does, sorted by the kind of the element.</summary>
    public static BatchSlots AllSlots(Circuit circuit)
    {
        var @fixed = new List<int>();
        var sources = new List<int>();
        for (int slot = 0; slot < circuit.Network.SlotCount; slot++)
        {
            double value = circuit.Values[slot];
            if (value == 0 || !double.IsFinite(value))
                continue;
            string quantity = circuit.Network.Slots[slot].Quantity;
            (quantity is "voltage" or "current" ? sources : @fixed).Add(slot);
        }

        return new BatchSlots { Fixed = [.. @fixed], Sources = [.. sources] };
    }

    /// <summary>Values of a slot that differ by up to a fraction, by a random number of the lane's own.</summary>
    public static double Spread(double nominal, double fraction, Random random) => nominal * (1 + (fraction * ((2 * random.NextDouble()) - 1)));

    /// <summary>Fills every varying slot of a run.</summary>
    public void Fill(BatchRun run, double fraction, int seed, bool fills = true)
    {
        for (int lane = 0; lane < run.Lanes; lane++)
        {
            var random = new Random((seed * 1000) + lane);
            foreach (int slot in fills ? Slots.Fixed : [])
                run.Slot(slot)[lane] = Spread(_circuit.Values[slot], fraction, random);
            foreach (int slot in Slots.Changing.Concat(Slots.Sources))
                run.Slot(slot)[lane] = Spread(_circuit.Values[slot], fraction, random);
            if (fills)
                run.Kelvin[lane] = 298.15 + (30 * ((2 * random.NextDouble()) - 1));
        }
    }

    /// <summary>Compares every reading of every settled lane with the scalar solver's.</summary>
    public void Compare(BatchRun run, string name, double relative = 1e-10)
    {
        NetworkSolver solver = _circuit.Network.CreateSolver();
        double[] values = [.. _circuit.Values];
        double kelvin = _circuit.Kelvin;
        for (int lane = 0; lane < run.Lanes; lane++)
        {
            foreach (int slot in Slots.Fixed.Concat(Slots.Changing).Concat(Slots.Sources))
                values[slot] = run.Slot(slot)[lane];
            kelvin = run.Kelvin[lane];
            if (!run.IsSettled(lane))
            {
                Count = (Count.Compared, Count.Unsettled + 1);
                continue;
            }

            OperatingPoint point = solver.Solve(values, kelvin);
            Assert.True(point.Status == SolveStatus.Solved, $"{name}: {point.Trouble}");
            Count = (Count.Compared + 1, Count.Unsettled);
            double[] expected = [.. _probes.Select(probe => Read(point, probe))];
            double volts = Greatest(expected, false);
            double amperes = Greatest(expected, true);
            for (int probe = 0; probe < _probes.Length; probe++)
            {
                // What is left of a difference of much greater numbers has only their digits.
                double size = Math.Abs(expected[probe]) + (1e-2 * (_probes[probe].IsCurrent ? amperes : volts));
                // Of what should be nothing, rounding is left: no meter tells a femtovolt or an attoampere.
                size += _probes[probe].IsCurrent ? 1e-18 / relative : 1e-15 / relative;
                double error = Math.Abs(run.Reading(probe)[lane] - expected[probe]);
                // No solver knows a reading better than the rounding of the parts lets it be.
                if (error > relative * size)
                    size += 64 * (Math.BitIncrement(1.0) - 1) / relative * Amplification(solver, _probes[probe], values);
                Worst = Math.Max(Worst, error / size);
                Assert.True(error <= relative * size, $"{name}, lane {lane}, probe {probe}: {run.Reading(probe)[lane]:G17} for {expected[probe]:G17}");
            }
        }
    }

    /// <summary>Sum of what a change of each slot by all of itself would move the reading.</summary>
    private double Amplification(NetworkSolver solver, Probe probe, double[] values)
    {
        solver.Sensitivities(probe, _perSlot);
        double sum = 0;
        for (int slot = 0; slot < values.Length; slot++)
            sum += double.IsFinite(values[slot]) ? Math.Abs(values[slot] * _perSlot[slot]) : 0;
        return sum;
    }

    private double Greatest(double[] readings, bool isCurrent) =>
        readings.Where((_, probe) => _probes[probe].IsCurrent == isCurrent).Select(Math.Abs).DefaultIfEmpty().Max();

    private static double Read(OperatingPoint point, Probe probe) =>
        probe.IsCurrent ? point.Current(probe.Element) : point.Voltage(probe.Plus, probe.Minus);
}
