using Xunit;

namespace Throughline.Circuits.Tests;

public sealed class SmokeTests
{
    [Fact]
    public void Comparator()
    {
        var b = new NetworkBuilder();
        NodeId g = b.Node("0"), a = b.Node("a"), c = b.Node("c"), o = b.Node("o"), p = b.Node("p"), n = b.Node("n");
        b.Return(g);
        ElementId va = b.VoltageSource("VA", a, g), vc = b.VoltageSource("VC", c, g), vp = b.VoltageSource("VP", p, g), vn = b.VoltageSource("VN", n, g);
        ElementId u = b.OpAmp("U1", a, c, o, p, n);
        ElementId r = b.Resistor("R1", o, g);
        Network net = b.Build();
        double[] v = net.CreateValues();
        v[net.FirstSlot(va)] = 1; v[net.FirstSlot(vc)] = 0.5; v[net.FirstSlot(vp)] = 15; v[net.FirstSlot(vn)] = -15;
        v[net.FirstSlot(u) + (int)OpAmpSlot.SwingBelowPositive] = 1.5;
        NetworkSolver s = net.CreateSolver();
        OperatingPoint x = s.Solve(v);
        Assert.Null(x.Trouble);
        Assert.Equal(13.5, x.Voltage(o), 12);
        Assert.Equal(AmplifierState.AtPositiveLimit, x.State(u));
        v[net.FirstSlot(u) + (int)OpAmpSlot.SourceCurrent] = 0.005;
        x = s.Solve(v);
        Assert.Null(x.Trouble);
        Assert.Equal(5, x.Voltage(o), 12);
        Assert.Equal(AmplifierState.Sourcing, x.State(u));
        _ = r;
    }

    [Fact]
    public void TransistorSink()
    {
        var b = new NetworkBuilder();
        NodeId g = b.Node("0"), i = b.Node("in"), o = b.Node("o"), p = b.Node("p"), e = b.Node("e"), c = b.Node("c");
        b.Return(g);
        ElementId vi = b.VoltageSource("VI", i, g), vp = b.VoltageSource("VP", p, g);
        ElementId u = b.OpAmp("U1", i, e, o, p, g);
        ElementId q = b.Bipolar("Q1", c, o, e, true);
        ElementId re = b.Resistor("RE", e, g), rl = b.Resistor("RL", p, c);
        Network net = b.Build();
        double[] v = net.CreateValues();
        v[net.FirstSlot(vi)] = 2; v[net.FirstSlot(vp)] = 24; v[net.FirstSlot(re)] = 100; v[net.FirstSlot(rl)] = 500;
        v[net.FirstSlot(q) + 3] = 0.3;
        NetworkSolver s = net.CreateSolver();
        OperatingPoint x = s.Solve(v);
        Assert.Null(x.Trouble);
        Assert.Equal(0.0198019801980198, x.Current(q), 12);
        Assert.True(x.Iterations < 20, $"{x.Iterations}");
        v[net.FirstSlot(vp)] = 12;
        v[net.FirstSlot(vi)] = 2.2;
        x = s.Solve(v);
        Assert.Null(x.Trouble);
        Assert.True(x.IsSaturated(q));
        Assert.Equal(0.3, x.Voltage(c, e), 12);
        var d = new double[net.SlotCount];
        s.Sensitivities(Probe.Current(q), d);
    }
}
