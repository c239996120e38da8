using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Positive feedback: the threshold circuit's closed forms; its linear solution exists and never lasts.</summary>
public sealed class LatchTests
{
    // Output ±11 V on 10 kΩ, 1 kΩ to the return: thresholds at ±1 V.
    [Theory]
    [InlineData(0.2, true)]
    [InlineData(-0.9, true)]
    [InlineData(1.5, false)]
    [InlineData(-1.5, false)]
    public void Solve_ThresholdCircuit_IsAtALimitAndSaysWhenThereAreTwo(double volts, bool isAmbiguous)
    {
        foreach (double gain in (double[])[1e5, double.PositiveInfinity])
        {
            Circuit circuit = Threshold(volts, gain);
            OperatingPoint point = circuit.Solve();
            bool isLow = isAmbiguous || volts > 1;
            Assert.Equal(isLow ? -11 : 11, point.Voltage(circuit.Node("o")), 1e-9);
            Assert.True(isAmbiguous == point.Caution is not null, $"{gain} {point.Caution} {point.State(circuit.Element("U1"))} {point.Iterations}");
            if (isAmbiguous)
                Assert.Contains("U1", point.Caution, StringComparison.Ordinal);
        }
    }

    [Fact] // Hysteresis: led on from a point, the output stays until the threshold is passed.
    public void Solve_ThresholdCircuitFromAPoint_KeepsItsSide()
    {
        Circuit circuit = Threshold(-1.5, 1e5);
        OperatingPoint high = circuit.Solve().Snapshot();
        circuit.Set("VI", 0.5);
        Assert.Equal(11, circuit.Solver.Solve(circuit.Values, 298.15, high).Voltage(circuit.Node("o")), 1e-9);
        circuit.Set("VI", 1.01);
        Assert.Equal(-11, circuit.Solver.Solve(circuit.Values, 298.15, high).Voltage(circuit.Node("o")), 1e-9);
    }

    [Fact] // A Howland source has both feedbacks, the negative one stronger: its linear point stays.
    public void Solve_HowlandSource_IsLinearWithoutCaution()
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 15).Add("V", "VN", ["vn", "0"], -15).Add("V", "VI", ["in", "0"], 1)
            .Add("R", "R1", ["in", "l"], 10e3).Add("R", "R2", ["l", "o"], 10e3).Add("R", "R3", ["m", "0"], 10e3).Add("R", "R4", ["m", "o"], 10e3)
            .Add("R", "RL", ["l", "0"], 1e3).Add("OPAMP", "U1", ["l", "m", "o", "vp", "vn"]);
        OperatingPoint point = circuit.Solve();
        Assert.Equal(AmplifierState.Linear, point.State(circuit.Element("U1")));
        Assert.Null(point.Caution);
        Assert.Equal(1e-4, point.Current(circuit.Element("RL")), 1e-15);
        // With the inputs exchanged the stronger feedback is the positive one.
        Circuit wrong = new Circuit().Add("V", "VP", ["vp", "0"], 15).Add("V", "VN", ["vn", "0"], -15).Add("V", "VI", ["in", "0"], 1)
            .Add("R", "R1", ["in", "l"], 10e3).Add("R", "R2", ["l", "o"], 10e3).Add("R", "R3", ["m", "0"], 10e3).Add("R", "R4", ["m", "o"], 10e3)
            .Add("R", "RL", ["l", "0"], 1e3).Add("OPAMP", "U1", ["m", "l", "o", "vp", "vn"]);
        OperatingPoint latched = wrong.Solve();
        Assert.NotEqual(AmplifierState.Linear, latched.State(wrong.Element("U1")));
        Assert.Contains("U1", latched.Caution, StringComparison.Ordinal);
    }

    private static Circuit Threshold(double volts, double gain) => new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12)
        .Add("V", "VI", ["in", "0"], volts).Add("R", "R1", ["p", "0"], 1e3).Add("R", "R2", ["p", "o"], 10e3).Add("R", "RL", ["o", "0"], 10e3)
        .Add("OPAMP", "U1", ["p", "in", "o", "vp", "vn"]).Set("U1", gain)
        .Set("U1", 1, (int)OpAmpSlot.SwingBelowPositive).Set("U1", 1, (int)OpAmpSlot.SwingAboveNegative);
}
