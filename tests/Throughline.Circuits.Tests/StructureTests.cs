using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Islands, floating nodes, contradictions: what a designer is told when a network has no single answer.</summary>
public sealed class StructureTests
{
    [Fact]
    public void Solve_TwoSourcesInParallel_NamesBoth()
    {
        OperatingPoint point = Refused(new Circuit().Add("V", "VA", ["a", "0"], 5).Add("V", "VB", ["a", "0"], 4).Add("R", "R1", ["a", "0"], 1e3));
        Assert.Equal(SolveStatus.Singular, point.Status);
        Assert.Contains("VA", point.Trouble, StringComparison.Ordinal);
        Assert.Contains("VB", point.Trouble, StringComparison.Ordinal);
        Assert.True(double.IsNaN(point.Voltage(new NodeId(0))));
    }

    [Fact]
    public void Solve_LoopOfSourceInductorAndZeroOhm_NamesTheLoop()
    {
        OperatingPoint point = Refused(new Circuit().Add("V", "VA", ["a", "0"], 5).Add("L", "L1", ["a", "b"], 1e-3).Add("R", "R0", ["b", "0"], 0));
        Assert.Equal(SolveStatus.Singular, point.Status);
        Assert.All((string[])["VA", "L1", "R0"], name => Assert.Contains(name, point.Trouble, StringComparison.Ordinal));
    }

    [Fact]
    public void Solve_SourceAcrossOneNode_SaysSo() =>
        Assert.Contains("VA", Refused(new Circuit().Add("V", "VA", ["a", "a"], 5).Add("R", "R1", ["a", "0"], 1)).Trouble, StringComparison.Ordinal);

    [Fact]
    public void Solve_CurrentIntoNothing_NamesSourceAndNode()
    {
        OperatingPoint point = Refused(new Circuit().Add("I", "I1", ["0", "a"], 1e-3).Add("C", "C1", ["a", "0"], 1e-6));
        Assert.Equal(SolveStatus.Singular, point.Status);
        Assert.Contains("I1", point.Trouble, StringComparison.Ordinal);
        Assert.Contains("node a", point.Trouble, StringComparison.Ordinal);
    }

    [Fact]
    public void Solve_CurrentThroughOpenSwitch_NamesTheNode()
    {
        OperatingPoint point = Refused(new Circuit().Add("I", "I1", ["0", "a"], 1e-3).Add("R", "S1", ["a", "0"], double.PositiveInfinity));
        Assert.Equal(SolveStatus.Singular, point.Status);
        Assert.Contains("node a", point.Trouble, StringComparison.Ordinal);
    }

    [Fact]
    public void Solve_InfiniteGainWithoutFeedbackOrLimits_NamesTheAmplifier()
    {
        OperatingPoint point = Refused(new Circuit().Add("V", "VA", ["a", "0"], 1).Add("R", "RL", ["o", "0"], 1e3).Add("OPAMP", "U1", ["a", "0", "o"]));
        Assert.Equal(SolveStatus.Singular, point.Status);
        Assert.Contains("U1", point.Trouble, StringComparison.Ordinal);
    }

    [Fact]
    public void Solve_ValueNotANumber_NamesTheSlot() => Assert.Contains(
        "resistance of R1", Refused(new Circuit().Add("V", "VA", ["a", "0"], 1).Add("R", "R1", ["a", "0"], 1).Set("R1", double.NaN)).Trouble, StringComparison.Ordinal);

    [Fact]
    public void Solve_WrongNumberOfValues_Throws()
    {
        Circuit circuit = new Circuit().Add("R", "R1", ["a", "0"], 1);
        Assert.Throws<ArgumentException>(() => circuit.Solver.Solve([1, 2, 3]));
        Assert.Throws<ArgumentOutOfRangeException>(() => circuit.Solver.Solve(circuit.Values, 0));
    }

    [Fact]
    public void Sensitivities_WithoutAPoint_Throw()
    {
        Circuit circuit = new Circuit().Add("R", "R1", ["a", "0"], 1);
        Assert.Throws<InvalidOperationException>(() => circuit.Solver.Sensitivities(Probe.Voltage(circuit.Node("a"), circuit.Node("0")), new double[1]));
    }

    [Fact] // A probe left in air: the amplifier's bias current has nowhere to go, and the rest of the instrument still has its answer.
    public void Solve_AmplifierInputWithoutPath_IsSolvedAndNamed()
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("R", "R1", ["vp", "x"], 1e3).Add("R", "R2", ["x", "0"], 1e3)
            .Add("OPAMP", "U1", ["probe", "o", "o", "vp", "0"]).Set("U1", 1e-12, (int)OpAmpSlot.BiasPlus);
        Assert.Equal(2.5, circuit.Voltage("x"), 1e-12);
        Assert.Equal(0, circuit.Voltage("probe"));
        NodeId node = Assert.Single(circuit.Network.FloatingNodes);
        Assert.Equal("probe", circuit.Network.NodeName(node));
        Assert.Contains("U1", circuit.Network.FloatingReason(node), StringComparison.Ordinal);
        Assert.True(circuit.Solve().IsFloating(node));
    }

    [Fact]
    public void Solve_IslandWithoutReturn_LeavesTheRestAlone()
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("R", "R1", ["vp", "0"], 1e3)
            .Add("V", "VB", ["p", "q"], 9).Add("R", "R2", ["p", "r"], 1e3).Add("R", "R3", ["r", "q"], 2e3);
        OperatingPoint point = circuit.Solve();
        Assert.Equal(6, point.Voltage(circuit.Node("r"), circuit.Node("q")), 1e-12);
        Assert.Equal(5e-3, point.Current(circuit.Element("R1")), 1e-15);
        Assert.Equal(["p", "q", "r"], circuit.Network.FloatingNodes.Select(circuit.Network.NodeName));
    }

    [Fact]
    public void Solve_OpenSwitchLeavesANode_HoldsItAtZeroAndSaysSo()
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("R", "S1", ["vp", "x"], double.PositiveInfinity).Add("R", "R1", ["x", "y"], 1e3);
        OperatingPoint point = circuit.Solve();
        Assert.Equal(0, point.Voltage(circuit.Node("y")));
        Assert.True(point.IsFloating(circuit.Node("x")) || point.IsFloating(circuit.Node("y")));
        Assert.Empty(circuit.Network.FloatingNodes);
        Assert.Equal(5, circuit.Set("S1", 0).Voltage("y"), 1e-14);
        Assert.False(circuit.Solve().IsFloating(circuit.Node("y")));
    }

    [Fact]
    public void Islands_BridgedByAPart_AreOneWithTwoReturnsAndAPath()
    {
        var circuit = new Circuit();
        circuit.Builder.Return(circuit.Node("L0"));
        circuit.Add("R", "R1", ["a", "0"], 1e3).Add("R", "R2", ["b", "L0"], 1e3).Add("C", "C1", ["a", "b"], 1e-9).Add("R", "R9", ["a", "b"], 1e6).Add("V", "V1", ["a", "0"], 1);
        Island island = Assert.Single(circuit.Network.Islands);
        Assert.Equal(["0", "L0"], island.Returns.Select(circuit.Network.NodeName));
        Assert.Equal(["R1", "R9", "R2"], circuit.Network.Bridge(circuit.Node("0"), circuit.Node("L0")).Select(circuit.Network.ElementName));
        // The second return is an ordinary node: nothing flows, since nothing else leads back from it.
        Assert.Equal(1, circuit.Voltage("L0"), 1e-9);
    }

    [Fact]
    public void Builder_AfterBuild_Refuses()
    {
        var builder = new NetworkBuilder();
        NodeId a = builder.Node("a");
        builder.Build();
        Assert.Throws<InvalidOperationException>(() => builder.Resistor("R1", a, a));
        Assert.Throws<InvalidOperationException>(() => builder.Build());
        Assert.Throws<ArgumentOutOfRangeException>(() => new NetworkBuilder().Return(new NodeId(3)));
    }

    private static OperatingPoint Refused(Circuit circuit)
    {
        OperatingPoint point = circuit.Solver.Solve(circuit.Values);
        Assert.NotEqual(SolveStatus.Solved, point.Status);
        Assert.NotNull(point.Trouble);
        return point;
    }
}
