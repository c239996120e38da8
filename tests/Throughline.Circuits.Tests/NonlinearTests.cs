using System.Globalization;
using Xunit;

namespace Throughline.Circuits.Tests;

public sealed class NonlinearTests(ITestOutputHelper output)
{
    [Fact]
    public void Solve_ConvergenceSet_SettlesEveryNetwork()
    {
        var iterations = new List<int>();
        var failures = new List<string>();
        int continued = 0;
        foreach ((string name, Circuit circuit) in NonlinearSet.All())
        {
            OperatingPoint point = circuit.Solver.Solve(circuit.Values, circuit.Kelvin);
            if (point.Status != SolveStatus.Solved)
            {
                failures.Add($"{name}: {point.Trouble}");
                continue;
            }

            iterations.Add(point.Iterations);
            continued += point.NeededContinuation ? 1 : 0;
            Conservation.Check(circuit.Network, point);
            AssertWithinLimits(circuit, point, name);
        }

        iterations.Sort();
        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{iterations.Count} networks settled, median {iterations[iterations.Count / 2]} iterations, most {iterations[^1]}, {continued} by continuation"));
        Assert.Empty(failures);
        Assert.True(iterations.Count >= 200, $"only {iterations.Count} networks");
    }

    [Fact]
    public void Sensitivities_OfConvergenceSet_MatchCentralDifferences()
    {
        int k = 0;
        foreach ((string name, Circuit circuit) in NonlinearSet.All())
        {
            // Beside a zero current or at the very corner of a piecewise law a difference over a finite step says nothing.
            if (k++ % 3 != 0 || name.Contains("E+13", StringComparison.Ordinal) || name.Contains("0.001", StringComparison.Ordinal))
                continue;
            try
            {
                SensitivityCheck.Run(circuit, new Random(k));
            }
            catch (Xunit.Sdk.XunitException exception)
            {
                Assert.Fail($"{name}: {exception.Message}");
            }
        }
    }

    private static void AssertWithinLimits(Circuit circuit, OperatingPoint point, string name)
    {
        Network network = circuit.Network;
        for (int k = 0; k < network.ElementCount; k++)
        {
            var element = new ElementId(k);
            if (!network.ElementName(element).StartsWith('U'))
                continue;
            int slot = network.FirstSlot(element);
            var pins = network.Pins(element);
            double high = point.Voltage(pins[3]!.Value) - circuit.Values[slot + (int)OpAmpSlot.SwingBelowPositive];
            double low = point.Voltage(pins[4]!.Value) + circuit.Values[slot + (int)OpAmpSlot.SwingAboveNegative];
            double volts = point.Voltage(pins[2]!.Value);
            double amperes = point.Current(element);
            // A picovolt per volt: what the pieces are told apart by.
            double slack = 4e-12 * (Math.Abs(high) + Math.Abs(low) + Math.Abs(volts));
            // While it gives or takes all it can, the outside has the output.
            if (point.State(element) is AmplifierState.Linear or AmplifierState.AtPositiveLimit or AmplifierState.AtNegativeLimit)
                Assert.True(volts <= high + slack && volts >= low - slack, $"{name}: output {volts} beyond {low}..{high}");
            Assert.True(amperes <= circuit.Values[slot + (int)OpAmpSlot.SourceCurrent] * (1 + 1e-11), $"{name}: gives {amperes}");
            Assert.True(-amperes <= circuit.Values[slot + (int)OpAmpSlot.SinkCurrent] * (1 + 1e-11), $"{name}: takes {-amperes}");
        }
    }
}
