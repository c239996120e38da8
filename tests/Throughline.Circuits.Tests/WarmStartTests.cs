using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>A solve that begins at another point of the network ends at the same answer.</summary>
public sealed class WarmStartTests
{
    [Theory]
    [InlineData(0.4)]
    [InlineData(1.5)]
    [InlineData(-1.0)]
    public void Solve_FromASaturatedTransistor_IsWhatASolveFromNothingGives(double drive)
    {
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        NodeId supply = builder.Node("supply");
        NodeId collector = builder.Node("collector");
        NodeId emitter = builder.Node("emitter");
        NodeId @base = builder.Node("base");
        builder.Return(zero);
        ElementId rail = builder.VoltageSource("rail", supply, zero);
        ElementId load = builder.Resistor("load", supply, collector);
        ElementId sense = builder.Resistor("sense", emitter, zero);
        ElementId source = builder.VoltageSource("drive", @base, zero);
        ElementId transistor = builder.Bipolar("Q1", collector, @base, emitter, isNpn: true);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        values[network.FirstSlot(rail)] = 18;
        values[network.FirstSlot(load)] = 500;
        values[network.FirstSlot(sense)] = 100;
        values[network.FirstSlot(transistor) + (int)BipolarSlot.SaturationVoltage] = 0.3;
        values[network.FirstSlot(source)] = 6;
        NetworkSolver solver = network.CreateSolver();
        OperatingPoint saturated = solver.Solve(values);
        Assert.True(saturated.IsSaturated(transistor));
        OperatingPoint start = saturated.Snapshot();

        values[network.FirstSlot(source)] = drive;
        double cold = solver.Solve(values).Current(transistor);
        OperatingPoint warm = solver.Solve(values, 298.15, start);

        Assert.Equal(SolveStatus.Solved, warm.Status);
        Assert.False(warm.IsSaturated(transistor));
        // Two Newton iterations that end at one root agree to rounding of the currents at work, at most 10 mA.
        Assert.Equal(cold, warm.Current(transistor), 1e-12);
    }
}
