using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>
/// Stages that share nothing but ideal supplies are solved one after the other. The same circuit with its supplies behind 0 Ω has no such supplies and is
/// solved as one system: the answers must agree.
/// </summary>
public sealed class BlockTests
{
    private static readonly string[] s_nodes = ["vp", "vn", "ref", "in", "m1", "o1", "b", "e", "o2", "z", "x"];

    [Fact]
    public void Solve_StagesBetweenIdealSupplies_IsAsInOneSystem()
    {
        Circuit apart = Stages(isOneSystem: false);
        Circuit together = Stages(isOneSystem: true);
        var random = new Random(20261127);
        for (int trial = 0; trial < 200; trial++)
        {
            foreach (string name in (string[])["VI", "VR", "VP", "R1", "R2", "R3", "RE", "RC", "RZ", "RX", "D1"])
            {
                // Only some move, so that a stage often finds itself as it was.
                if (random.NextDouble() > 0.4)
                    continue;
                double value = name switch
                {
                    "VI" => -3 + (6 * random.NextDouble()),
                    "VR" => 1 + (3 * random.NextDouble()),
                    "VP" => 10 + (8 * random.NextDouble()),
                    "D1" => Math.Pow(10, -15 + (5 * random.NextDouble())),
                    _ => Math.Pow(10, 2.5 + (2 * random.NextDouble())),
                };
                apart.Set(name, value);
                together.Set(name, value);
            }

            apart.Kelvin = together.Kelvin = trial % 5 == 0 ? 260 + (80 * random.NextDouble()) : apart.Kelvin;
            OperatingPoint first = apart.Solve();
            OperatingPoint second = together.Solve();
            Assert.Equal(SolveStatus.Solved, first.Status);
            Assert.Equal(SolveStatus.Solved, second.Status);
            foreach (string node in s_nodes)
                Assert.Equal(second.Voltage(together.Node(node)), first.Voltage(apart.Node(node)), 1e-10);
            foreach (string source in (string[])["VP", "VN", "VR"])
                Assert.Equal(second.Current(together.Element(source)), first.Current(apart.Element(source)), 1e-12);
            if (trial % 4 == 0)
                CompareSensitivities(apart, together, trial);
        }
    }

    [Fact] // What a stage was before must not show, to the last bit: a result does not depend on the edits that led to it.
    public void Solve_StageThatDidNotChange_IsAsWithANewSolver()
    {
        Circuit circuit = Stages(isOneSystem: false);
        OperatingPoint start = circuit.Solve().Snapshot();
        double[] values = circuit.Values;
        NetworkSolver used = circuit.Solver;
        var random = new Random(7);
        for (int trial = 0; trial < 60; trial++)
        {
            values[circuit.Slot(trial % 3 == 0 ? "R2" : trial % 3 == 1 ? "RE" : "VI")] *= 0.9 + (0.2 * random.NextDouble());
            OperatingPoint expected = circuit.Network.CreateSolver().Solve(values, circuit.Kelvin, start);
            OperatingPoint actual = used.Solve(values, circuit.Kelvin, start);
            foreach (string node in s_nodes)
                Assert.Equal(BitConverter.DoubleToInt64Bits(expected.Voltage(circuit.Node(node))), BitConverter.DoubleToInt64Bits(actual.Voltage(circuit.Node(node))));
        }
    }

    [Fact]
    public void SetTemperatureRise_OfAPartOfOneStage_MovesThatStage()
    {
        Circuit circuit = Stages(isOneSystem: false);
        double cool = circuit.Solve().Voltage(circuit.Node("z"));
        circuit.Solver.SetTemperatureRise(circuit.Element("D1"), 20);
        double warm = circuit.Solve().Voltage(circuit.Node("z"));
        circuit.Solver.SetTemperatureRise(circuit.Element("D1"), 0);
        double again = circuit.Solve().Voltage(circuit.Node("z"));
        Assert.NotEqual(cool, warm, 1e-3);
        Assert.Equal(cool, again, 1e-14);
    }

    [Fact]
    public void Solve_SupplyWhoseCurrentIsMeasured_IsAsInOneSystem()
    {
        // The second stage copies the current of the first one's supply: it can't be solved before it.
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 10).Add("R", "R1", ["vp", "a"], 1e3).Add("R", "R2", ["a", "0"], 4e3);
        circuit.Add("F1", circuit.Builder.ControlledCurrent("F1", circuit.Node("0"), circuit.Node("c"), circuit.Element("VP")), 3)
            .Add("R", "R3", ["c", "0"], 500).Add("D", "D1", ["c", "d"]).Add("R", "R4", ["d", "0"], 500).Set("D1", 1e-14);
        OperatingPoint point = circuit.Solve();
        Assert.Equal(2e-3, point.Current(circuit.Element("VP")), 1e-14);
        Assert.Equal(6e-3, (point.Voltage(circuit.Node("c")) / 500) + (point.Voltage(circuit.Node("d")) / 500), 1e-12);
    }

    [Fact]
    public void Solve_AfterWarmUp_AllocatesNothing()
    {
        Circuit circuit = Stages(isOneSystem: false);
        NetworkSolver solver = circuit.Solver;
        var perSlot = new double[circuit.Network.SlotCount];
        Probe probe = Probe.Voltage(circuit.Node("o2"), circuit.Node("0"));
        double[] values = circuit.Values;
        for (int warm = 0; warm < 3; warm++)
            Both(1 + (0.01 * warm));
        long before = GC.GetAllocatedBytesForCurrentThread();
        Both(1.05);
        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());

        void Both(double factor)
        {
            values[circuit.Slot("RE")] = 1e3 * factor;
            solver.Solve(values);
            solver.Sensitivities(probe, perSlot);
        }
    }

    private static void CompareSensitivities(Circuit apart, Circuit together, int trial)
    {
        foreach (string node in s_nodes)
        {
            var first = new double[apart.Network.SlotCount];
            var second = new double[together.Network.SlotCount];
            apart.Solver.Sensitivities(Probe.Voltage(apart.Node(node), apart.Node("0")), first);
            together.Solver.Sensitivities(Probe.Voltage(together.Node(node), together.Node("0")), second);
            foreach (string name in (string[])["VI", "VR", "VP", "R1", "R2", "R3", "RE", "RC", "RZ", "RX", "D1", "U1"])
            {
                double expected = second[together.Slot(name)];
                Assert.True(Math.Abs(expected - first[apart.Slot(name)]) <= 1e-9 * (1e-6 + Math.Abs(expected)), $"{trial} {node} {name} {expected} {first[apart.Slot(name)]}");
            }
        }
    }

    /// <summary>An amplifier that may reach its limits, a transistor stage from a reference, a diode to a rail and a divider between rails.</summary>
    private static Circuit Stages(bool isOneSystem)
    {
        string[] held = isOneSystem ? ["vp.source", "vn.source", "ref.source", "in.source"] : ["vp", "vn", "ref", "in"];
        Circuit circuit = new Circuit()
            .Add("V", "VP", [held[0], "0"], 12).Add("V", "VN", [held[1], "0"], -12).Add("V", "VR", [held[2], "0"], 2.5).Add("V", "VI", [held[3], "0"], 0.5);
        if (isOneSystem)
        {
            foreach (string node in (string[])["vp", "vn", "ref", "in"])
                circuit.Add("R", "0Ω of " + node, [node + ".source", node], 0);
        }

        return circuit
            .Add("R", "R1", ["in", "m1"], 1e3).Add("R", "R2", ["m1", "o1"], 10e3).Add("R", "R3", ["o1", "0"], 10e3).Add("OPAMP", "U1", ["0", "m1", "o1", "vp", "vn"], 1e5)
            .Add("R", "RB", ["ref", "b"], 1e3).Add("NPN", "Q1", ["o2", "b", "e"]).Add("R", "RE", ["e", "vn"], 10e3).Add("R", "RC", ["vp", "o2"], 1e3)
            .Add("R", "RZ", ["vp", "z"], 4.7e3).Add("D", "D1", ["z", "ref"], 1e-14)
            .Add("R", "RX", ["vp", "x"], 3e3).Add("R", "RY", ["x", "vn"], 2e3);
    }
}
