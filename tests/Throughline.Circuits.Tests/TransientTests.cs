using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>Motion in time against closed forms.</summary>
public sealed class TransientTests
{
    private static readonly TransientSettings Tight = new() { RelativeTolerance = 1e-9, VoltageTolerance = 1e-11, CurrentTolerance = 1e-14 };

    [Fact] // Slews at SR until the error is SR/ωt, from there on an exponential of the closed loop: the rate is continuous there.
    public void AdvanceTo_FollowerOnALargeStep_SlewsThenSettles()
    {
        const double height = 5, slew = 0.5e6, omega = 2 * Math.PI * 1e6;
        Circuit circuit = Follower(slew, 1e6);
        circuit.Solve();
        Transient transient = circuit.Solver.CreateTransient(Tight);
        transient.Drive(circuit.Slot("V1"), Waveform.Step(0, height, 1e-6));
        double bend = (height - (slew / omega)) / slew;
        foreach (double after in (double[])[1e-6, 5e-6, 9e-6, bend, bend + (0.3 / omega), bend + (2 / omega), bend + (8 / omega)])
        {
            Assert.True(transient.AdvanceTo(1e-6 + after), transient.Trouble);
            double expected = after <= bend ? slew * after : height - (slew / omega * Math.Exp(-omega * (after - bend)));
            Assert.Equal(expected, Output(circuit, transient), 1e-6 * height);
        }
    }

    [Fact] // Full-power bandwidth SR/(2π Vp): Franco, 3rd ed., Ex 6.8 and Neamen Ex 14.7 as in data/circuits/answers.csv, example D10.
    public void AdvanceTo_SineAboutFullPowerBandwidth_DistortsOnlyAbove()
    {
        foreach ((double slew, double peak) in ((double, double)[])[(0.5e6, 5), (1e6, 10)])
        {
            const double fullPower = 15915.4943092;
            Assert.Equal(0, WorstDeviation(slew, peak, 0.999 * fullPower), 1e-5 * peak);
            Assert.True(WorstDeviation(slew, peak, 1.1 * fullPower) > 1e-3 * peak);
        }
    }

    [Theory] // Far above it the output is a triangle of slope SR, whose peak is SR/(4f). Common practice, no source; the tolerance is two samples of the period.
    [InlineData(10)]
    [InlineData(30)]
    public void AdvanceTo_SineFarAboveFullPowerBandwidth_BecomesATriangle(double times)
    {
        const double slew = 0.5e6, peak = 5;
        double hertz = times * slew / (2 * Math.PI * peak);
        Circuit circuit = Follower(slew, double.PositiveInfinity);
        circuit.Solve();
        Transient transient = circuit.Solver.CreateTransient(Tight);
        transient.Drive(circuit.Slot("V1"), Waveform.Sine(0, peak, hertz));
        double highest = 0;
        double lowest = 0;
        // The first periods carry the memory of the start.
        Assert.True(transient.AdvanceTo(80 / hertz), transient.Trouble);
        for (int k = 1; k <= 1000; k++)
        {
            Assert.True(transient.AdvanceTo((80 / hertz) + (k / (1000 * hertz))), transient.Trouble);
            highest = Math.Max(highest, Output(circuit, transient));
            lowest = Math.Min(lowest, Output(circuit, transient));
        }

        Assert.Equal(slew / (4 * hertz), 0.5 * (highest - lowest), 0.004 * slew / (4 * hertz));
    }

    [Theory] // With i as the parameter: t = C (R ln(i₀/i) + (nVT/Is) ln((1 + Is/i)/(1 + Is/i₀))), v = V − iR − nVT ln(1 + i/Is).
    [InlineData(1e-14, 1)]
    [InlineData(1e-9, 1.8)]
    public void AdvanceTo_DiodeChargesCapacitor_MatchesClosedForm(double saturation, double emission)
    {
        const double volts = 5, ohms = 100, farads = 1e-6;
        Circuit circuit = new Circuit().Add("V", "V1", ["s", "0"], volts).Add("R", "R1", ["s", "a"], ohms).Add("D", "D1", ["a", "b"], saturation)
            .Set("D1", emission, (int)DiodeSlot.Emission).Add("C", "C1", ["b", "0"], farads);
        double thermal = emission * 298.15 * 1.380649e-23 / 1.602176634e-19;
        double Drop(double current) => (current * ohms) + (thermal * Math.Log(1 + (current / saturation)));
        double first = volts / ohms;
        for (int k = 0; k < 100; k++)
            first = Math.Max(1e-9, first - ((Drop(first) - volts) / (ohms + (thermal / (first + saturation)))));
        Transient transient = circuit.Solver.CreateStartUp(circuit.Values, settings: Tight);
        foreach (double share in (double[])[0.9, 0.5, 0.1, 1e-2, 1e-4, 1e-6])
        {
            double current = first * share;
            double time = farads * ((ohms * Math.Log(1 / share))
                + (thermal / saturation * (LogOnePlus(saturation / current) - LogOnePlus(saturation / first))));
            Assert.True(transient.AdvanceTo(time), transient.Trouble);
            Assert.Equal(volts - Drop(current), transient.Point.Voltage(circuit.Node("b"), circuit.Node("0")), 1e-6);
            Assert.Equal(1, transient.Point.Current(circuit.Element("C1")) / current, 1e-4);
            Conservation.Check(circuit.Network, transient.Point, 1e-12);
        }
    }

    [Fact] // An integrator runs at V/(RC) into its limit, waits there, and comes back as soon as its input is reversed beyond what the capacitor has meanwhile taken.
    public void AdvanceTo_IntegratorInItsLimit_WaitsThereAndReturns()
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("V", "VN", ["vn", "0"], -5).Add("V", "V1", ["in", "0"], 0)
            .Add("R", "R1", ["in", "m"], 10e3).Add("C", "C1", ["m", "out"], 100e-9).Add("R", "RL", ["out", "0"], 10e3)
            .Add("OPAMP", "U1", ["0", "m", "out", "vp", "vn"]).Set("U1", 0.5, (int)OpAmpSlot.SwingBelowPositive).Set("U1", 0.5, (int)OpAmpSlot.SwingAboveNegative);
        Transient transient = circuit.Solver.CreateStartUp(circuit.Values, settings: Tight);
        transient.Drive(circuit.Slot("V1"), Waveform.Step(-1, 2, 6e-3));
        NodeId output = circuit.Node("out");
        NodeId zero = circuit.Node("0");
        // 1 V/(10 kΩ × 100 nF) = 1000 V/s: 4.5 V after 4.5 ms.
        Assert.True(transient.AdvanceTo(3e-3), transient.Trouble);
        Assert.Equal(3, transient.Point.Voltage(output, zero), 1e-6);
        Assert.Equal(AmplifierState.Linear, transient.Point.State(circuit.Element("U1")));
        Assert.True(transient.AdvanceTo(6e-3), transient.Trouble);
        Assert.Equal(4.5, transient.Point.Voltage(output, zero), 1e-9);
        Assert.Equal(AmplifierState.AtPositiveLimit, transient.Point.State(circuit.Element("U1")));
        // In the limit the minus input follows the source with RC = 1 ms from 0: −(1 − e^−1.5).
        double left = -(1 - Math.Exp(-1.5));
        Assert.Equal(left, transient.Point.Voltage(circuit.Node("m"), zero), 1e-6);
        // Reversed to 2 V it needs τ ln((2 − left)/2) to bring it back to 0, then falls at 2000 V/s.
        double back = 1e-3 * Math.Log((2 - left) / 2);
        Assert.True(transient.AdvanceTo(6e-3 + back + 1e-3), transient.Trouble);
        Assert.Equal(2.5, transient.Point.Voltage(output, zero), 1e-6);
    }

    [Fact] // A ramp through RC: v = r (t − τ (1 − e^(−t/τ))), as every text on circuits has it.
    public void StartUp_SuppliesRampTogether_MatchesClosedForm()
    {
        Circuit circuit = new Circuit().Add("V", "V1", ["in", "0"], 0).Add("R", "R1", ["in", "out"], 1e3).Add("C", "C1", ["out", "0"], 1e-6);
        Transient transient = circuit.Solver.CreateStartUp(circuit.Values, settings: Tight);
        transient.Drive(circuit.Slot("V1"), Waveform.Ramp(0, 5, 0, 5e-3));
        foreach (double time in (double[])[1e-4, 1e-3, 5e-3])
        {
            Assert.True(transient.AdvanceTo(time), transient.Trouble);
            Assert.Equal(1000 * (time - (1e-3 * (1 - Math.Exp(-time / 1e-3)))), Output(circuit, transient), 1e-7);
        }

        Assert.True(transient.AdvanceTo(1), transient.Trouble);
        Assert.Equal(5, Output(circuit, transient), 1e-7);
    }

    [Fact] // A source across two capacitors in series shares its step at once by charge: C₁/(C₁ + C₂).
    public void AdvanceTo_StepAcrossCapacitors_DividesByCharge()
    {
        Circuit circuit = new Circuit().Add("V", "V1", ["in", "0"], 0).Add("C", "C1", ["in", "out"], 3e-9).Add("C", "C2", ["out", "0"], 1e-9);
        circuit.Solve();
        Transient transient = circuit.Solver.CreateTransient();
        transient.Drive(circuit.Slot("V1"), Waveform.Step(0, 4, 1e-3));
        Assert.True(transient.AdvanceTo(1e-3), transient.Trouble);
        Assert.Equal(0, Output(circuit, transient), 1e-9);
        Assert.True(transient.AdvanceTo(1.001e-3), transient.Trouble);
        Assert.Equal(3, Output(circuit, transient), 1e-6);
    }

    [Fact]
    public void AdvanceTo_AtAnOperatingPoint_StaysThere()
    {
        foreach ((string label, Circuit circuit) in NonlinearSet.All())
        {
            OperatingPoint point = circuit.Solver.Solve(circuit.Values, circuit.Kelvin);
            if (point.Status != SolveStatus.Solved)
                continue;
            OperatingPoint before = point.Snapshot();
            Transient transient = circuit.Solver.CreateTransient();
            Assert.True(transient.AdvanceTo(1), $"{label}: {transient.Trouble}");
            for (int node = 0; node < circuit.Network.NodeCount; node++)
            {
                double expected = before.Voltage(new NodeId(node), circuit.Node("0"));
                Assert.True(Math.Abs(expected - transient.Point.Voltage(new NodeId(node), circuit.Node("0"))) <= 1e-6 * (1 + Math.Abs(expected)), $"{label}, node {node}");
            }
        }
    }

    [Fact]
    public void AdvanceTo_AfterWarmUp_AllocatesNothing()
    {
        Circuit circuit = Follower(0.5e6, 1e6);
        circuit.Solve();
        Transient transient = circuit.Solver.CreateTransient();
        transient.Drive(circuit.Slot("V1"), Waveform.Sine(0, 5, 20e3));
        Assert.True(transient.AdvanceTo(200e-6));
        int steps = transient.StepsTaken;
        long before = GC.GetAllocatedBytesForCurrentThread();
        bool isDone = transient.AdvanceTo(400e-6);
        long after = GC.GetAllocatedBytesForCurrentThread();
        Assert.True(isDone);
        Assert.True(transient.StepsTaken > steps + 10);
        Assert.Equal(0, after - before);
    }

    [Fact]
    public void AdvanceTo_Backwards_Throws()
    {
        Circuit circuit = Follower(1e6, 1e6);
        Transient transient = circuit.Solver.CreateStartUp(circuit.Values);
        Assert.True(transient.AdvanceTo(1e-6));
        Assert.Throws<ArgumentOutOfRangeException>(() => transient.AdvanceTo(0));
        Assert.Throws<ArgumentOutOfRangeException>(() => transient.AdvanceTo(double.NaN));
        Assert.Throws<ArgumentException>(() => circuit.Solver.CreateStartUp([]));
        Assert.Throws<ArgumentException>(() => circuit.Solver.CreateStartUp(circuit.Values, settings: new TransientSettings { RelativeTolerance = 0 }));
    }

    /// <summary>ln(1 + x) without loss of digits (Kahan, as in Goldberg: What every computer scientist should know about floating-point arithmetic, theorem 4).</summary>
    private static double LogOnePlus(double x)
    {
        double sum = 1 + x;
        return sum == 1 ? x : x * Math.Log(sum) / (sum - 1);
    }

    private static double WorstDeviation(double slew, double peak, double hertz)
    {
        Circuit circuit = Follower(slew, double.PositiveInfinity);
        circuit.Solve();
        Transient transient = circuit.Solver.CreateTransient(Tight);
        transient.Drive(circuit.Slot("V1"), Waveform.Sine(0, peak, hertz));
        double worst = 0;
        for (int k = 1; k <= 200; k++)
        {
            double time = k / (100 * hertz);
            Assert.True(transient.AdvanceTo(time), transient.Trouble);
            worst = Math.Max(worst, Math.Abs(Output(circuit, transient) - (peak * Math.Sin(2 * Math.PI * hertz * time))));
        }

        return worst;
    }

    private static double Output(Circuit circuit, Transient transient) => transient.Point.Voltage(circuit.Node("out"), circuit.Node("0"));

    private static Circuit Follower(double slew, double bandwidth) => new Circuit().Add("V", "V1", ["in", "0"], 0).Add("OPAMP", "U1", ["in", "out", "out"])
        .Set("U1", slew, (int)OpAmpSlot.SlewRate).Set("U1", bandwidth, (int)OpAmpSlot.GainBandwidth).Add("R", "RL", ["out", "0"], 10e3);
}
