using System.Text.Json.Nodes;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>The engine against NumPy's dense solve of the same networks, stamped independently in Reference/networks.py.</summary>
public sealed class RandomLinearTests
{
    [Fact]
    public void Solve_RandomLinearNetworks_MatchesNumPy()
    {
        const int Count = 1500;
        RandomNetwork[] networks = [.. Enumerable.Range(0, Count).Select(static seed => RandomNetwork.Create(seed))];
        JsonArray expected = NumericalPython.Run("operating point", networks.Select(static network => network.ToJson()));
        int compared = 0;
        for (int k = 0; k < Count; k++)
        {
            Circuit circuit = networks[k].ToCircuit();
            OperatingPoint point = circuit.Solve();
            double[] voltages = [.. expected[k]!["voltages"]!.AsArray().Select(static value => (double)value!)];
            double condition = (double)expected[k]!["condition"]!;
            double greatest = voltages.Max(Math.Abs);
            // The reference keeps as many digits as its condition number leaves of the sixteen.
            double tolerance = greatest * Math.Max(1e-11, 1e-15 * condition);
            if (condition < 1e10)
                compared++;
            for (int node = 1; node < voltages.Length; node++)
                Assert.True(Math.Abs(voltages[node] - point.Voltage(circuit.Node(RandomNetwork.Name(node)))) <= tolerance, $"network {k}, node {node}: {point.Voltage(circuit.Node(RandomNetwork.Name(node)))} for {voltages[node]}, condition {condition}");
        }

        Assert.True(compared >= 1000, $"only {compared} networks were conditioned well enough to say anything");
    }
}
