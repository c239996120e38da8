using System.Numerics;
using Xunit;

namespace Throughline.Circuits.Tests;

public sealed class DynamicsTests
{
    [Theory] // Phase-shift oscillator of three equal RC sections: gain 29, ω = 1/(RC√6). Common practice, from memory; the poles themselves confirm it.
    [InlineData(28.9, true)]
    [InlineData(29.1, false)]
    public void IsStable_PhaseShiftOscillator_TurnsAtGain29(double gain, bool isStable)
    {
        SmallSignal signal = ExampleNetworks.Linearise(PhaseShift(gain));
        Assert.Equal(isStable, signal.IsStable);
    }

    [Fact]
    public void Poles_PhaseShiftOscillator_SitOnTheAxisAtGain29()
    {
        SmallSignal signal = ExampleNetworks.Linearise(PhaseShift(29));
        Complex pole = signal.Poles.MaxBy(static pole => pole.Real);
        Assert.Equal(1 / (1e-4 * Math.Sqrt(6)), Math.Abs(pole.Imaginary), 1e-6);
        Assert.Equal(0, pole.Real, 1e-6);
    }

    [Fact] // Follower with GBW, output resistance and load: T = ωt/(jω (1 + jωRoC)), a textbook two-pole loop.
    public void LoopGain_FollowerOnACable_MatchesClosedForm()
    {
        Circuit circuit = Follower(10e-9);
        SmallSignal signal = ExampleNetworks.Linearise(circuit);
        foreach (double hertz in (double[])[10, 1e4, 3e5, 1e7])
        {
            var s = new Complex(0, 2 * Math.PI * hertz);
            Complex expected = 2 * Math.PI * 1e6 / (s * (1 + (s * 100 * 10e-9)));
            Complex actual = signal.LoopGain(circuit.Element("U1"), hertz);
            // The loop gain is the difference of A/(w/δ) and 1: beyond the crossover 1 is what its rounding is measured by.
            Assert.True(Complex.Abs(actual - expected) <= 1e-9 * (Complex.Abs(expected) + 1), $"{hertz} Hz: {actual} for {expected}");
        }
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1e-9)]
    [InlineData(100e-9)]
    public void Margins_FollowerOnACable_MatchClosedForm(double farads)
    {
        Circuit circuit = Follower(farads);
        LoopMargins margins = ExampleNetworks.Linearise(circuit).Margins(circuit.Element("U1"));
        // |T| = 1: ω √(1 + ω²τ²) = ωt, solved for ω².
        double tau = 100 * farads;
        double wt = 2 * Math.PI * 1e6;
        double square = tau == 0 ? wt * wt : (Math.Sqrt(1 + (4 * wt * wt * tau * tau)) - 1) / (2 * tau * tau);
        double omega = Math.Sqrt(square);
        Assert.Equal(omega / (2 * Math.PI), margins.CrossoverHertz, 1e-8 * omega);
        Assert.Equal(90 - (Math.Atan(omega * tau) * 180 / Math.PI), margins.PhaseMarginDegrees, 1e-6);
        Assert.Equal(double.PositiveInfinity, margins.GainMargin);
    }

    [Fact]
    public void LoopGain_OfInfiniteGain_SaysSo()
    {
        Circuit circuit = new Circuit().Add("OPAMP", "U1", ["0", "o", "o"]).Add("R", "R1", ["o", "0"], 1e3);
        SmallSignal signal = ExampleNetworks.Linearise(circuit);
        Assert.Contains("U1", Assert.Throws<ArgumentException>(() => signal.LoopGain(circuit.Element("U1"), 1)).Message, StringComparison.Ordinal);
    }

    [Fact] // A pole of its own: T90 = ln 10 RC.
    public void TimeToReach_SinglePole_IsLn10OfTheTimeConstant()
    {
        Circuit circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("R", "R", ["in", "out"], 1e6).Add("C", "C", ["out", "0"], 2e-6);
        StepResponse step = ExampleNetworks.StepOf(circuit);
        Assert.Equal(2 * Math.Log(10), step.TimeToReach(0.9), 1e-9);
        Assert.Equal(0, step.Initial);
        Assert.Equal(0, step.Overshoot());
    }

    [Fact] // Two capacitors across a source divide the step at once; the resistors divide it in the end.
    public void Step_CapacitiveDivider_JumpsAndThenSettles()
    {
        Circuit circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("C", "C1", ["in", "out"], 3e-9).Add("C", "C2", ["out", "0"], 1e-9)
            .Add("R", "R1", ["in", "out"], 1e6).Add("R", "R2", ["out", "0"], 1e6);
        StepResponse step = ExampleNetworks.StepOf(circuit);
        Assert.Equal(0.75, step.Initial, 1e-12);
        Assert.Equal(0.5, step.Final, 1e-12);
        Assert.Equal(0.5 + (0.25 * Math.Exp(-1)), step.At(0.5e6 * 4e-9), 1e-12);
    }

    [Fact] // Three equal buffered poles are one pole three times: 1 − e^(−x)(1 + x + x²/2). No eigenvectors exist.
    public void Step_RepeatedPole_IsExact()
    {
        var circuit = new Circuit().Add("V", "Vi", ["s0", "0"], 1);
        for (int k = 0; k < 3; k++)
        {
            string next = k == 2 ? "out" : $"s{k + 1}";
            circuit.Add("R", $"R{k}", [$"s{k}", $"x{k}"], 1e4).Add("C", $"C{k}", [$"x{k}", "0"], 1e-7).Add("OPAMP", $"U{k}", [$"x{k}", next, next]);
        }

        StepResponse step = ExampleNetworks.StepOf(circuit);
        foreach (double x in (double[])[0.1, 1, 3, 10])
            Assert.Equal(1 - (Math.Exp(-x) * (1 + x + (x * x / 2))), step.At(x * 1e-3), 1e-12);
    }

    [Theory] // Two buffered poles a and b = a (1 + d): 1 − e^(−at) (1 + a (1 − e^(−(b−a)t)) / (b − a)), from the partial fractions of every text on networks; the nearer they are the more the two terms cancel
    [InlineData(0.5)]
    [InlineData(1e-2)]
    [InlineData(1e-4)]
    [InlineData(1e-6)]
    [InlineData(1e-7)]
    [InlineData(1e-9)]
    [InlineData(1e-12)]
    public void Step_OfNearPoles_IsThatOfBoth(double apart)
    {
        Circuit circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1)
            .Add("R", "R1", ["in", "x"], 1e4 * (1 + apart)).Add("C", "C1", ["x", "0"], 1e-7).Add("OPAMP", "U1", ["x", "y", "y"])
            .Add("R", "R2", ["y", "out"], 1e4).Add("C", "C2", ["out", "0"], 1e-7);
        StepResponse step = ExampleNetworks.StepOf(circuit);
        foreach (double t in (double[])[1e-4, 1e-3, 3e-3, 1e-2])
        {
            double a = 1e3 / (1 + apart);
            double difference = a * apart * t;
            double share = difference < 1e-5 ? 1 - (difference / 2) : (1 - Math.Exp(-difference)) / difference;
            Assert.Equal(1 - (Math.Exp(-a * t) * (1 + (a * t * share))), step.At(t), 2e-8);
        }
    }

    [Theory] // Averaging over whole periods leaves nothing; sin(x)/x between.
    [InlineData(50, 0.02, 0)]
    [InlineData(0, 0.02, 1)]
    [InlineData(25, 0.02, 0.63661977236758138)]
    [InlineData(60, 0.1, 0)]
    public void MovingAverage_Gain_IsSineOverArgument(double hertz, double seconds, double expected) =>
        Assert.Equal(expected, MovingAverage.Gain(hertz, seconds), 1e-15);

    [Fact]
    public void MovingAverage_OfSamples_IsTheMeanOfTheSamples()
    {
        // 64 samples 5 ms apart at 3.3 Hz, by adding them.
        Complex sum = Enumerable.Range(0, 64).Aggregate(Complex.Zero, static (all, k) => all + Complex.Exp(new Complex(0, 2 * Math.PI * 3.3 * 0.005 * k)));
        Assert.Equal(Complex.Abs(sum) / 64, Math.Abs(MovingAverage.Gain(3.3, 0.005, 64)), 1e-14);
    }

    [Fact] // White noise of density e averaged over T has the variance e²/(2T): Parseval of the window.
    public void Noise_AveragedOverAWindow_IsThatOfTheWindowsBandwidth()
    {
        Circuit circuit = new Circuit().Add("V", "VN", ["out", "0"], 0).Set("VN", 1e-6, (int)SourceSlot.Noise);
        double value = ExampleNetworks.Linearise(circuit).Noise(Probe.Voltage(circuit.Node("out"), circuit.Node("0")), 1e-6, 2e3, 0.1).Value;
        // Beyond F = 2 kHz the window still lets through 1/(2π²T²F) on the average.
        double expected = 1e-6 * Math.Sqrt((1 / 0.2) - (1 / (2 * Math.PI * Math.PI * 0.01 * 2e3)));
        // The average is that of whole lobes: the next term is smaller by 1/(2πFT).
        Assert.Equal(expected, value, 1e-6 * expected);
    }

    [Fact] // A node that only capacitors hold floats at direct current and divides alternating current.
    public void Transfer_NodeBetweenCapacitors_DividesAlternatingCurrent()
    {
        Circuit circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("C", "C1", ["in", "x"], 3e-9).Add("C", "C2", ["x", "0"], 1e-9);
        Assert.Equal(0, circuit.Voltage("x"));
        Assert.Equal(["x"], circuit.Network.FloatingNodes.Select(circuit.Network.NodeName));
        Complex response = ExampleNetworks.Linearise(circuit).Transfer(circuit.Slot("Vi"), Probe.Voltage(circuit.Node("x"), circuit.Node("0")), 1e6);
        Assert.Equal(0.75, response.Real, 1e-9);
    }

    private static Circuit PhaseShift(double gain)
    {
        var circuit = new Circuit().Add("VCVS", "A", ["o", "0", "0", "c"], gain);
        string[] nodes = ["o", "a", "b", "c"];
        for (int k = 0; k < 3; k++)
            circuit.Add("C", $"C{k}", [nodes[k], nodes[k + 1]], 1e-8).Add("R", $"R{k}", [nodes[k + 1], "0"], 1e4);
        return circuit;
    }

    private static Circuit Follower(double farads) => new Circuit().Add("V", "Vi", ["in", "0"], 0).Add("OPAMP", "U1", ["in", "o", "o"])
        .Set("U1", 1e6, (int)OpAmpSlot.GainBandwidth).Set("U1", 100, (int)OpAmpSlot.OutputResistance).Add("C", "CL", ["o", "0"], farads);
}
