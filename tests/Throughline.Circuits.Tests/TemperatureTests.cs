using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Parts at temperatures of their own.</summary>
public sealed class TemperatureTests
{
    private const double BoltzmannOverCharge = 1.380649e-23 / 1.602176634e-19;

    [Theory]
    [InlineData(0)]
    [InlineData(40)]
    [InlineData(-30)]
    public void SetTemperatureRise_OfADiode_MovesItsThermalVoltageAlone(double rise)
    {
        // Two diodes of one saturation current, each at 1 mA: V = kT/q ln(I/Is + 1), Shockley's law solved for V.
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        builder.Return(zero);
        NodeId warm = builder.Node("warm");
        NodeId cool = builder.Node("cool");
        ElementId first = builder.CurrentSource("I1", zero, warm);
        ElementId second = builder.CurrentSource("I2", zero, cool);
        ElementId heated = builder.Diode("D1", warm, zero);
        ElementId other = builder.Diode("D2", cool, zero);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        values[network.FirstSlot(first)] = 1e-3;
        values[network.FirstSlot(second)] = 1e-3;
        values[network.FirstSlot(heated) + (int)DiodeSlot.SaturationCurrent] = 1e-14;
        values[network.FirstSlot(heated) + (int)DiodeSlot.Emission] = 1;
        values[network.FirstSlot(other) + (int)DiodeSlot.SaturationCurrent] = 1e-14;
        values[network.FirstSlot(other) + (int)DiodeSlot.Emission] = 1;
        NetworkSolver solver = network.CreateSolver();
        solver.SetTemperatureRise(heated, rise);

        OperatingPoint point = solver.Solve(values, 300);

        Assert.Equal(SolveStatus.Solved, point.Status);
        double logarithm = Math.Log(1 + (1e-3 / 1e-14));
        Assert.Equal((300 + rise) * BoltzmannOverCharge * logarithm, point.Voltage(warm), 1e-9);
        Assert.Equal(300 * BoltzmannOverCharge * logarithm, point.Voltage(cool), 1e-9);
    }

    [Fact]
    public void SetTemperatureRise_OfAResistor_RaisesItsNoise()
    {
        // Johnson noise √(4kTR): the ratio of two temperatures is the root of theirs.
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        builder.Return(zero);
        NodeId node = builder.Node("a");
        ElementId resistor = builder.Resistor("R1", node, zero);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        values[network.FirstSlot(resistor)] = 10e3;
        NetworkSolver solver = network.CreateSolver();
        Probe probe = Probe.Voltage(node, zero);
        solver.Solve(values, 300);
        double cold = solver.Linearise().NoiseDensity(probe, 1e3).Value;
        solver.SetTemperatureRise(resistor, 100);
        solver.Solve(values, 300);
        double hot = solver.Linearise().NoiseDensity(probe, 1e3).Value;
        Assert.Equal(Math.Sqrt(400.0 / 300), hot / cold, 1e-9);
    }

    [Fact]
    public void Solve_WithAPartBelowZeroKelvin_IsRefused()
    {
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        builder.Return(zero);
        ElementId resistor = builder.Resistor("R1", builder.Node("a"), zero);
        Network network = builder.Build();
        NetworkSolver solver = network.CreateSolver();
        solver.SetTemperatureRise(resistor, -400);
        Assert.Throws<ArgumentOutOfRangeException>(() => solver.Solve(network.CreateValues(), 300));
        Assert.Throws<ArgumentOutOfRangeException>(() => solver.SetTemperatureRise(resistor, double.NaN));
    }
}
