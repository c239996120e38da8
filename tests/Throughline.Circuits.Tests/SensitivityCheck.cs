using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Adjoint derivatives against central differences at the circuit's present values.</summary>
internal static class SensitivityCheck
{
    public static void Run(Circuit circuit, Random random)
    {
        Network network = circuit.Network;
        var nodes = (new NodeId(random.Next(network.NodeCount)), new NodeId(random.Next(network.NodeCount)));
        Run(circuit, Probe.Voltage(nodes.Item1, nodes.Item2));
        Run(circuit, Probe.Current(new ElementId(random.Next(network.ElementCount))));
    }

    public static void Run(Circuit circuit, Probe probe)
    {
        Network network = circuit.Network;
        double[] derivatives = circuit.Sensitivities(probe);
        double[] values = circuit.Values;
        double greatest = Greatest(network, circuit.Solve(), probe);
        string pieces = Pieces(network, circuit.Solve());
        for (int slot = 0; slot < network.SlotCount; slot++)
        {
            double value = values[slot];
            // A saturation voltage of zero means none: the step would be to another law.
            if (!double.IsFinite(value) || (value == 0 && network.Slots[slot].Quantity == "saturation voltage"))
            {
                Assert.Equal(0, derivatives[slot]);
                continue;
            }

            // Two steps, Richardson's extrapolation: the error of the difference is then of the fourth order.
            double step = Step(network.Slots[slot], value);
            double coarse = Difference(circuit, probe, slot, value, step, pieces);
            double fine = Difference(circuit, probe, slot, value, step / 2, pieces);
            if (double.IsNaN(coarse) || double.IsNaN(fine))
                continue;
            double expected = ((4 * fine) - coarse) / 3;
            // What is left: rounding of the readings over the step, and the fourth order.
            double tolerance = (1e-12 * greatest / step) + (1e-6 * Math.Abs(expected)) + (1e-6 * Math.Abs(fine - coarse)) + 1e-300;
            Assert.True(
                Math.Abs(expected - derivatives[slot]) <= tolerance,
                $"{network.Slots[slot].ElementName} {network.Slots[slot].Quantity}: adjoint {derivatives[slot]}, difference {expected} ± {tolerance}");
        }
    }

    private static double Step(Slot slot, double value) => value != 0 ? 1e-3 * Math.Abs(value)
        : slot.Quantity.Contains("resistance", StringComparison.Ordinal) ? 1e-2
        : slot.Quantity.Contains("error", StringComparison.Ordinal) ? 1e-6
        : slot.Quantity.Contains("current", StringComparison.Ordinal) ? 1e-6
        : 1e-4;

    /// <summary>NaN when the step leaves the piece of a piecewise law that the point is on: there is no derivative across a corner.</summary>
    private static double Difference(Circuit circuit, Probe probe, int slot, double value, double step, string pieces)
    {
        circuit.Values[slot] = value + step;
        double above = Read(circuit, probe, pieces);
        circuit.Values[slot] = value - step;
        double below = Read(circuit, probe, pieces);
        circuit.Values[slot] = value;
        return (above - below) / (2 * step);
    }

    private static string Pieces(Network network, OperatingPoint point)
    {
        var pieces = new System.Text.StringBuilder();
        for (int k = 0; k < network.ElementCount; k++)
        {
            var element = new ElementId(k);
            string name = network.ElementName(element);
            if (name.StartsWith('U') || name.StartsWith("OPAMP", StringComparison.Ordinal) || name.StartsWith("INAMP", StringComparison.Ordinal))
                pieces.Append(point.State(element)).Append(point.Current(element) > 0);
            else if (name.StartsWith('Q') && network.Pins(element).Length == 3 && network.Slots[network.FirstSlot(element)].Quantity == "saturation current")
                pieces.Append(point.IsSaturated(element));
        }

        return pieces.ToString();
    }

    private static double Read(Circuit circuit, Probe probe, string pieces)
    {
        OperatingPoint point = circuit.Solver.Solve(circuit.Values, circuit.Kelvin);
        Assert.True(point.Status == SolveStatus.Solved, point.Trouble);
        if (Pieces(circuit.Network, point) != pieces)
            return double.NaN;
        return probe.IsCurrent ? point.Current(probe.Element) : point.Voltage(probe.Plus, probe.Minus);
    }

    private static double Greatest(Network network, OperatingPoint point, Probe probe)
    {
        // Junctions settle to a fraction of the thermal voltage even where every voltage is nothing.
        double greatest = probe.IsCurrent ? 1e-15 : 0.025;
        for (int k = 0; k < network.NodeCount && !probe.IsCurrent; k++)
            greatest = Math.Max(greatest, Math.Abs(point.Voltage(new NodeId(k))));
        for (int k = 0; k < network.ElementCount && probe.IsCurrent; k++)
            greatest = Math.Max(greatest, Math.Abs(point.Current(new ElementId(k))));
        return greatest;
    }
}
