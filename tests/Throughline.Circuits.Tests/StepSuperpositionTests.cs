using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Steps of several slots at once add up.</summary>
public sealed class StepSuperpositionTests
{
    [Theory]
    [InlineData(0)]
    [InlineData(0.3e-3)]
    [InlineData(5e-3)]
    public void Step_OfTwoSlots_IsTheSumOfBoth(double seconds)
    {
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        NodeId a = builder.Node("a");
        NodeId b = builder.Node("b");
        NodeId output = builder.Node("out");
        builder.Return(zero);
        ElementId first = builder.VoltageSource("E1", a, zero);
        ElementId second = builder.VoltageSource("E2", b, zero);
        ElementId left = builder.Resistor("R1", a, output);
        ElementId right = builder.Resistor("R2", b, output);
        ElementId capacitor = builder.Capacitor("C1", output, zero);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        values[network.FirstSlot(left)] = 10e3;
        values[network.FirstSlot(right)] = 30e3;
        values[network.FirstSlot(capacitor)] = 100e-9;
        NetworkSolver solver = network.CreateSolver();
        Assert.Equal(SolveStatus.Solved, solver.Solve(values).Status);
        SmallSignal signal = solver.Linearise();
        Probe probe = Probe.Voltage(output, zero);
        int one = network.FirstSlot(first);
        int two = network.FirstSlot(second);

        double both = signal.Step([(one, 1), (two, -2)], probe).At(seconds);

        // 1 V × 3/4 − 2 V × 1/4 through 7.5 kΩ and 100 nF: closed form of a single pole.
        double expected = (0.75 - 0.5) * (1 - Math.Exp(-seconds / 0.75e-3));
        Assert.Equal(expected, both, 1e-12);
        Assert.Equal(signal.Step(one, 1, probe).At(seconds) + signal.Step(two, -2, probe).At(seconds), both, 1e-12);
    }
}
