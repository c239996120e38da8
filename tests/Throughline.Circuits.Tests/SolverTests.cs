using Xunit;

namespace Throughline.Circuits.Tests;

public sealed class SolverTests
{
    [Theory] // Two nodes joined by r, each to the return by R, a current into one: the current in r is I R / (2 R + r), by Kirchhoff.
    [InlineData(1e-3, 10e12)]
    [InlineData(1, 10e12)]
    [InlineData(10, 10e12)]
    [InlineData(1e4, 10e12)]
    [InlineData(0, 10e12)]
    [InlineData(10e12, 1e-3)]
    [InlineData(10e12, 0)]
    public void Solve_MilliohmBesideTeraohm_KeepsEveryDigit(double joining, double leaking)
    {
        Circuit circuit = new Circuit().Add("I", "I1", ["0", "a"], 1e-12).Add("R", "RJ", ["a", "b"], joining)
            .Add("R", "RA", ["a", "0"], leaking).Add("R", "RB", ["b", "0"], leaking);
        double expected = 1e-12 * leaking / ((2 * leaking) + joining);
        Assert.Equal(expected, circuit.Current("RJ"), 1e-12 * Math.Abs(expected));
    }

    [Theory]
    [InlineData(30)]
    [InlineData(1000)]
    public void Solve_LadderOfEqualResistors_MatchesItsClosedForm(int nodes)
    {
        // n resistors in series, each node with a current source: a discrete Poisson problem, v(k) = I R k (n + 1 − k) / 2 between grounded ends.
        var circuit = new Circuit();
        string Name(int k) => k == 0 || k == nodes + 1 ? "0" : RandomNetwork.Name(k);
        for (int k = 0; k <= nodes; k++)
            circuit.Add("R", $"R{k}", [Name(k), Name(k + 1)], 1e3);
        for (int k = 1; k <= nodes; k++)
            circuit.Add("I", $"I{k}", ["0", Name(k)], 1e-6);
        OperatingPoint point = circuit.Solve();
        for (int k = 1; k <= nodes; k++)
        {
            double expected = 1e-3 * k * (nodes + 1 - k) / 2;
            // The condition number of the chain grows as n²: 1e6 × 1e-16.
            Assert.Equal(expected, point.Voltage(circuit.Node(Name(k))), 1e-9 * expected);
        }
    }

    [Fact]
    public void Solve_Mesh_SettlesWithAThousandNodes()
    {
        const int Side = 32;
        var circuit = new Circuit();
        string Name(int x, int y) => x + y == 0 ? "0" : $"{x}-{y}";
        for (int x = 0; x < Side; x++)
        {
            for (int y = 0; y < Side; y++)
            {
                if (x + 1 < Side)
                    circuit.Add("R", $"H{x}-{y}", [Name(x, y), Name(x + 1, y)], 1e3);
                if (y + 1 < Side)
                    circuit.Add("R", $"W{x}-{y}", [Name(x, y), Name(x, y + 1)], 1e3);
            }
        }

        circuit.Add("V", "V1", [Name(Side - 1, Side - 1), "0"], 1);
        // The mesh is its own mirror image: the middle of the diagonal between the two corners is at half.
        Assert.Equal(0.5, circuit.Voltage(Name(0, Side - 1)), 1e-12);
    }

    [Fact]
    public void Solve_AfterWarmUp_AllocatesNothing()
    {
        Circuit linear = RandomNetwork.Create(7).ToCircuit();
        (_, Circuit sink) = NonlinearSet.All().First(static pair => pair.Name.StartsWith("npn sink 2 ", StringComparison.Ordinal));
        foreach (Circuit circuit in (Circuit[])[linear, sink])
        {
            NetworkSolver solver = circuit.Solver;
            var perSlot = new double[circuit.Network.SlotCount];
            Probe probe = Probe.Voltage(circuit.Node("0"), new NodeId(circuit.Network.NodeCount - 1));
            double[] values = circuit.Values;
            for (int warm = 0; warm < 3; warm++)
            {
                solver.Solve(values);
                solver.Sensitivities(probe, perSlot);
            }

            long before = GC.GetAllocatedBytesForCurrentThread();
            solver.Solve(values);
            solver.Sensitivities(probe, perSlot);
            Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
        }
    }

    [Fact]
    public void Solve_FromAPoint_GivesTheSameAnswerSooner()
    {
        foreach ((string name, Circuit circuit) in NonlinearSet.All().Where(static pair => pair.Name.StartsWith("log", StringComparison.Ordinal)))
        {
            OperatingPoint cold = circuit.Solve().Snapshot();
            OperatingPoint warm = circuit.Solver.Solve(circuit.Values, circuit.Kelvin, cold);
            Assert.True(warm.Iterations < cold.Iterations, name);
            Assert.Equal(cold.Voltage(circuit.Node("o")), warm.Voltage(circuit.Node("o")), 1e-12);
        }
    }

    [Fact] // The answer depends on the values alone, not on what was solved before: to rounding, since the elimination order may have moved.
    public void Solve_AfterOtherValues_IsTheSame()
    {
        foreach ((string name, Circuit circuit) in NonlinearSet.All())
        {
            var fresh = circuit.Solver.Solve(circuit.Values, circuit.Kelvin).Snapshot();
            double[] other = [.. circuit.Values.Select(static value => 1.01 * value)];
            circuit.Solver.Solve(other, 350);
            OperatingPoint again = circuit.Solver.Solve(circuit.Values, circuit.Kelvin);
            for (int node = 0; node < circuit.Network.NodeCount; node++)
                Assert.True(Math.Abs(fresh.Voltage(new NodeId(node)) - again.Voltage(new NodeId(node))) <= 1e-15 + (1e-12 * Math.Abs(fresh.Voltage(new NodeId(node)))), $"{name}: {fresh.Voltage(new NodeId(node))} then {again.Voltage(new NodeId(node))}");
        }
    }
}
