using Throughline.Circuits;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>The laws of the supplies against published figures.</summary>
public sealed class SupplyLawTests
{
    /// <summary>Half of the last digit of figures kept to seven places.</summary>
    private const double LastDigit = 5e-7;

    [Fact] // Franco, Design with Operational Amplifiers and Analog Integrated Circuits, ex. 11.14, p. 531: 150 °C, 50 °C, 60 K/W; from 8 V to 5 V
    public void LargestWatts_OfRegulator_IsFrancos()
    {
        double watts = SupplyLaw.LargestWatts(150, 50, 60);
        Assert.Equal(1.666667, watts, LastDigit);
        Assert.Equal(145, SupplyLaw.JunctionCelsius(150, -watts, 3), LastDigit);
        Assert.Equal(0.555556, watts / SupplyLaw.LinearLoss(8, 5, 1, 0), LastDigit);
    }

    [Fact] // Franco, ex. 11.15, p. 532: 125 °C, 60 °C, 0.8 A from 12 V to 5 V; 5 K/W and 0.6 K/W taken off
    public void LargestWatts_WithHeatSink_IsFrancos()
    {
        double loss = SupplyLaw.LinearLoss(12, 5, 0.8, 0);
        double total = (125 - 60) / loss;
        Assert.Equal(11.607143, total, LastDigit);
        Assert.Equal(6.007143, total - 5 - 0.6, LastDigit);
        Assert.Equal(loss, SupplyLaw.LargestWatts(125, 60, total), 1e-12);
    }

    [Theory] // Sedra and Smith, Microelectronic Circuits, ex. 14.4 and 14.5, p. 1253
    [InlineData(150, 50, 62.5, 1.6)]
    [InlineData(150, 25, 3.12 + 0.5 + 4, 16.40420)]
    [InlineData(150, 50, 3.12 + 0.5 + 4, 13.12336)]
    [InlineData(150, 50, 3.12, 32.05128)]
    public void LargestWatts_OfTransistor_IsSedras(double limit, double ambient, double thermal, double watts) =>
        Assert.Equal(watts, SupplyLaw.LargestWatts(limit, ambient, thermal), 5e-6);

    [Fact] // The same, 1 W at 25 °C
    public void JunctionCelsius_OfTransistor_IsSedras() => Assert.Equal(87.5, SupplyLaw.JunctionCelsius(25, 1, 62.5), 1e-12);

    [Theory] // Toshiba application notes on low-dropout regulators (inputs; the answers follow from T = T_a + P R): R = (150 − 25) / 0.6 W
    [InlineData(3.6, 1.8, 0.1, 0, 40, 0.18, 77.5)]
    [InlineData(1.5, 1.0, 0.2, 20e-6, 60, 0.10003, 80.8396)]
    public void LinearLoss_OfSmallRegulators_WarmsThem(double input, double output, double amperes, double bias, double ambient, double watts, double celsius)
    {
        double thermal = (150 - 25) / 0.6;
        Assert.Equal(208.333, thermal, 5e-4);
        double loss = SupplyLaw.LinearLoss(input, output, amperes, bias);
        Assert.Equal(watts, loss, LastDigit);
        Assert.Equal(celsius, SupplyLaw.JunctionCelsius(ambient, loss, thermal), 5e-5);
    }

    [Fact] // TDK-Lambda, FAQ on converters (CC30-4805): 30 W at 92.5 % lose 2.43 W; 47.996 V × 0.348 A in, 5.014 V × 2.998 A out lose 1.67 W
    public void ConverterLoss_OfIsolatedConverter_IsThePublished()
    {
        Assert.Equal(2.432432, SupplyLaw.ConverterLoss(30, 0.925), LastDigit);
        double output = 5.014 * 2.998;
        double efficiency = output / (47.996 * 0.348);
        Assert.Equal(0.899978, efficiency, LastDigit);
        Assert.Equal(1.670636, SupplyLaw.ConverterLoss(output, efficiency), LastDigit);
    }

    [Fact] // Conservation of power: 3.6 mA at 8 V and 70 % give 6.109091 mA at 3.3 V
    public void InputAmperes_OfLoopPoweredConverter_IsThatOfTheLoop()
    {
        Supply supply = Supply("C: { kind: switching converter, from: input, voltage: 3.3 V, efficiency: 70 % }", "C");
        Assert.Equal(3.6e-3, SupplyLaw.InputAmperes(supply, 8, 3.3, 6.109091e-3), 5e-10);
    }

    [Fact] // Intersil ICL7660, FN3072 p. 9: 10 kHz oscillator (pump at 5 kHz), twice 10 µF: 46 Ω + 20 Ω + 5 ESR
    public void ChargePump_OfDataSheet_HasItsResistanceAndRipple()
    {
        Assert.Equal(66, SupplyLaw.ChargePumpOhms(23, 5e3, 10e-6, 0), 1e-9);
        Assert.Equal(-4.29, -5 + (0.01 * SupplyLaw.ChargePumpOhms(23, 5e3, 10e-6, 1)), 1e-9);
        Assert.Equal(0.12, SupplyLaw.ChargePumpRipple(0.01, 5e3, 10e-6, 1), 1e-12);
    }

    [Fact] // Franco, ex. 11.1, p. 502: 78 dB at 120 Hz leave 0.125893 mV per volt
    public void Rejection_AtStatedFrequency_IsFrancos()
    {
        Supply supply = Supply("C: { kind: linear regulator, from: input, voltage: 5 V, ripple rejection: { 120 Hz: 78 dB, 12 kHz: 38 dB } }", "C");
        Assert.Equal(0.125893e-3, 1 / SupplyLaw.Rejection(supply, 120), 5e-10);

        // Two decades, 40 dB: 20 dB per decade between; beyond the ends as at the ends.
        Assert.Equal(Math.Pow(10, 58 / 20.0), SupplyLaw.Rejection(supply, 1200), 1e-6);
        Assert.Equal(SupplyLaw.Rejection(supply, 120), SupplyLaw.Rejection(supply, 10));
        Assert.Equal(SupplyLaw.Rejection(supply, 12e3), SupplyLaw.Rejection(supply, 1e6));
    }

    [Fact] // First-order low-pass: 100 Ω and 100 µF have their corner at 15.9155 Hz and take 16.072235 dB off 100 Hz
    public void Network_OfDecouplingFilter_AttenuatesRipple()
    {
        NetworkBuilder builder = new();
        NodeId back = builder.Node("0V");
        builder.Return(back);
        ElementId source = builder.VoltageSource("V", builder.Node("a"), back);
        ElementId resistor = builder.Resistor("R", builder.Node("a"), builder.Node("b"));
        ElementId capacitor = builder.Capacitor("C", builder.Node("b"), back);
        Network network = builder.Build();
        double[] values = network.CreateValues();
        values[network.FirstSlot(source)] = 5;
        values[network.FirstSlot(resistor)] = 100;
        values[network.FirstSlot(capacitor)] = 100e-6;
        NetworkSolver solver = network.CreateSolver();
        Assert.Equal(SolveStatus.Solved, solver.Solve(values).Status);
        SmallSignal signal = solver.TryLinearise()!;
        Probe probe = Probe.Voltage(network.FindNode("b")!.Value, back);
        double gain = System.Numerics.Complex.Abs(signal.Transfer(network.FirstSlot(source), probe, 100));
        Assert.Equal(-16.072235, 20 * Math.Log10(gain), LastDigit);
    }

    private static Supply Supply(string line, string name) => Trees.Instrument(line).Supplies.Single(s => s.Name.Value == name);
}
