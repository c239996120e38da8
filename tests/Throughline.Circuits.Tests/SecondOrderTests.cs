using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Second derivatives and other operating points.</summary>
public sealed class SecondOrderTests
{
    [Fact]
    public void TrySecondDerivatives_OfADivider_AreThoseOfTheFormula()
    {
        // f = E R2 / (R1 + R2), differentiated twice by hand.
        const double E = 10;
        const double R1 = 1000;
        const double R2 = 3000;
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        builder.Return(zero);
        NodeId top = builder.Node("top");
        NodeId middle = builder.Node("middle");
        ElementId source = builder.VoltageSource("E", top, zero);
        ElementId first = builder.Resistor("R1", top, middle);
        ElementId second = builder.Resistor("R2", middle, zero);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        int e = network.FirstSlot(source);
        int r1 = network.FirstSlot(first);
        int r2 = network.FirstSlot(second);
        (values[e], values[r1], values[r2]) = (E, R1, R2);
        double[] direction = new double[network.SlotCount];
        double[] result = new double[network.SlotCount];
        direction[r1] = 0.1 * R1;

        Assert.True(network.CreateSolver().TrySecondDerivatives(values, 298.15, Probe.Voltage(middle, zero), direction, result));

        double sum = R1 + R2;
        // A step of 10⁻³ of R1 leaves 10⁻¹² of the fourth power; the gradients' own rounding over the step 10⁻¹⁰.
        Assert.Equal(1, result[r1] / (direction[r1] * 2 * E * R2 / Math.Pow(sum, 3)), 1e-8);
        Assert.Equal(1, result[r2] / (direction[r1] * E * (R2 - R1) / Math.Pow(sum, 3)), 1e-8);
        Assert.Equal(1, result[e] / (direction[r1] * -R2 / (sum * sum)), 1e-8);
    }

    [Fact]
    public void TrySecondDerivatives_OfADiodesVoltage_AreThoseOfTheLogarithm()
    {
        // V = kT/q ln(I/Is + 1), d²V/dI² = −kT/q / (I + Is)².
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        builder.Return(zero);
        NodeId node = builder.Node("a");
        ElementId source = builder.CurrentSource("I", zero, node);
        ElementId diode = builder.Diode("D", node, zero);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        int current = network.FirstSlot(source);
        values[current] = 1e-3;
        values[network.FirstSlot(diode) + (int)DiodeSlot.SaturationCurrent] = 1e-12;
        double[] direction = new double[network.SlotCount];
        double[] result = new double[network.SlotCount];
        direction[current] = 0.1e-3;

        Assert.True(network.CreateSolver().TrySecondDerivatives(values, 300, Probe.Voltage(node, zero), direction, result));

        double emission = values[network.FirstSlot(diode) + (int)DiodeSlot.Emission];
        double expected = -emission * 300 * 1.380649e-23 / 1.602176634e-19 / (1e-3 * 1e-3) * direction[current];
        Assert.Equal(1, result[current] / expected, 1e-7);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void TryFindAnother_OfTwoTransistors_FindsTheLatch(bool isCrossed)
    {
        // Two npn inverters, each base fed from the other's collector (a latch) or from its own supply (none).
        NetworkBuilder builder = new();
        NodeId zero = builder.Node("0");
        builder.Return(zero);
        NodeId supply = builder.Node("supply");
        NodeId[] collectors = [builder.Node("c1"), builder.Node("c2")];
        NodeId[] bases = [builder.Node("b1"), builder.Node("b2")];
        ElementId source = builder.VoltageSource("E", supply, zero);
        List<(ElementId Element, double Ohms)> resistors = [];
        List<ElementId> transistors = [];
        for (int k = 0; k < 2; k++)
        {
            resistors.Add((builder.Resistor($"RC{k}", supply, collectors[k]), 1e3));
            resistors.Add((builder.Resistor($"RB{k}", isCrossed ? collectors[1 - k] : supply, bases[k]), 22e3));
            transistors.Add(builder.Bipolar($"Q{k}", collectors[k], bases[k], zero, isNpn: true));
        }

        Network network = builder.Build();
        double[] values = network.CreateValues();
        values[network.FirstSlot(source)] = 5;
        foreach ((ElementId element, double ohms) in resistors)
        {
            values[network.FirstSlot(element)] = ohms;
        }

        NetworkSolver solver = network.CreateSolver();
        double before = solver.Solve(values).Voltage(collectors[0]);

        bool found = solver.TryFindAnother(values, 298.15, out string? part);

        Assert.Equal(isCrossed, found);
        Assert.Equal(isCrossed, part is "Q0" or "Q1");
        Assert.Equal(before, solver.Solve(values).Voltage(collectors[0]), 1e-9);
    }
}
