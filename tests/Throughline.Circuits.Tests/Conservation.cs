using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Kirchhoff's current law at every node and the balance of power, which every solved network of these tests must keep.</summary>
public static class Conservation
{
    // A solution is asked to be a solution to nine digits of the greatest current at the node, and of the greatest power.
    private const double Relative = 1e-9;

    /// <param name="network">The network.</param>
    /// <param name="point">Its solution.</param>
    /// <param name="floor">Rounding of currents, A, and powers, W: in motion a capacitor's current is a difference of its voltages over a step.</param>
    public static void Check(Network network, OperatingPoint point, double floor = 1e-30)
    {
        var sum = new double[network.NodeCount];
        var magnitude = new double[network.NodeCount];
        double power = 0;
        double powerMagnitude = 0;
        for (int k = 0; k < network.ElementCount; k++)
        {
            var element = new ElementId(k);
            double watts = 0;
            var pins = network.Pins(element);
            for (int pin = 0; pin < pins.Length; pin++)
            {
                if (pins[pin] is not { } node)
                    continue;
                double amperes = point.CurrentInto(element, pin);
                sum[node.Index] += amperes;
                magnitude[node.Index] += Math.Abs(amperes);
                watts += amperes * point.Voltage(node);
                powerMagnitude += Math.Abs(amperes * point.Voltage(node));
            }

            Assert.Equal(point.Power(element), watts, 1e-12 * (Math.Abs(watts) + powerMagnitude));
            power += watts;
        }

        // A current that should be nothing is rounding of the greatest one; without supplies everything is nothing, and 1e-30 A is no current.
        double rounding = (1e-16 * magnitude.Max()) + floor;
        foreach (Island island in network.Islands)
        {
            // The return's own balance is whatever the rest leaves; without a return the first node stands for it.
            NodeId free = island.Returns.IsEmpty ? island.Nodes[0] : island.Returns[0];
            foreach (NodeId node in island.Nodes)
            {
                if (node != free && !point.IsFloating(node))
                    Assert.True(Math.Abs(sum[node.Index]) <= (Relative * magnitude[node.Index]) + rounding, $"currents at {network.NodeName(node)}: {sum[node.Index]} of {magnitude[node.Index]}");
            }
        }

        Assert.True(Math.Abs(power) <= (Relative * powerMagnitude) + floor, $"power: {power} of {powerMagnitude}");
    }
}
