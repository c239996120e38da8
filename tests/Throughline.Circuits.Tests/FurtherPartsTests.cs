using Xunit;

namespace Throughline.Circuits.Tests;

public sealed class FurtherPartsTests
{
    private static readonly double[] Loads = [0, 1e3, 10e3, 1e6];

    [Fact] // A zener is what its data sheet says at the test current: the voltage, and the slope by the derivative.
    public void Zener_AtItsTestCurrent_HasItsVoltageAndSlope()
    {
        Circuit circuit = ZenerCircuit(5e-3);
        Assert.Equal(6.8, circuit.Voltage("k"), 1e-9);
        double[] perSlot = circuit.Sensitivities(Probe.Voltage(circuit.Node("k"), circuit.Node("0")));
        Assert.Equal(8, perSlot[circuit.Slot("I1")], 1e-6);
        Assert.True(ZenerCircuit(-1e-3).Voltage("k") is < -0.6 and > -0.8);
    }

    [Theory]
    [InlineData(2e-5)]
    [InlineData(5e-3)]
    [InlineData(0.05)]
    [InlineData(-2e-3)]
    public void Zener_Sensitivities_MatchCentralDifferences(double amperes)
    {
        Circuit circuit = ZenerCircuit(amperes);
        SensitivityCheck.Run(circuit, Probe.Voltage(circuit.Node("k"), circuit.Node("0")));
    }

    [Fact] // Self-bias of a depletion type: I = k (−I R − Vth)², the smaller root of the quadratic.
    public void FieldEffect_SelfBias_IsTheRootOfItsQuadratic()
    {
        const double K = 2e-3;
        const double Threshold = -2;
        const double Ohms = 680;
        Circuit circuit = Fet(new Circuit().Add("V", "VP", ["vp", "0"], 15).Add("R", "RS", ["s", "0"], Ohms).Add("R", "RD", ["vp", "d"], 1e3), "d", "0", "s", true, Threshold, K, 0);
        double b = (2 * Ohms * Threshold) - (1 / K);
        double expected = (-b - Math.Sqrt((b * b) - (4 * Ohms * Ohms * Threshold * Threshold))) / (2 * Ohms * Ohms);
        Assert.Equal(expected, circuit.Current("Q1"), 1e-12);
    }

    [Fact] // On as a switch it is 1/(2k (vGS − Vth)) for small drain voltages; off it carries nothing.
    public void FieldEffect_AsASwitch_HasItsOnResistance()
    {
        Circuit circuit = Fet(new Circuit().Add("V", "VG", ["g", "0"], 5).Add("V", "VD", ["d", "0"], 1e-6), "d", "g", "0", true, 1, 5e-3, 0);
        Assert.Equal(1 / (2 * 5e-3 * 4), 1e-6 / circuit.Current("Q1"), 1e-4);
        Assert.Equal(-circuit.Current("Q1"), circuit.Set("VD", -1e-6).Current("Q1"), 1e-11);
        Assert.Equal(0, circuit.Set("VG", 0.5).Set("VD", 10).Current("Q1"));
    }

    [Fact]
    public void FieldEffect_OverItsRegions_SettlesWithTheRightDerivatives()
    {
        foreach (bool isNChannel in (bool[])[true, false])
        {
            foreach (double gate in (double[])[0, 1.5, 3, 9])
            {
                foreach (double load in Loads)
                {
                    double sign = isNChannel ? 1 : -1;
                    Circuit circuit = Fet(
                        new Circuit().Add("V", "VG", ["g", "0"], sign * gate).Add("V", "VP", ["vp", "0"], sign * 12).Add("R", "RD", ["vp", "d"], load), "d", "g", "0", isNChannel, 1, 1e-3, 0.02);
                    SensitivityCheck.Run(circuit, Probe.Voltage(circuit.Node("d"), circuit.Node("0")));
                    SensitivityCheck.Run(circuit, Probe.Current(circuit.Element("VP")));
                }
            }
        }
    }

    [Fact]
    public void With_OpenResistor_LeavesTheDividerAtItsEnd()
    {
        Circuit circuit = Divider();
        OperatingPoint point = Solve(circuit, Fault.Open(circuit.Element("R2")));
        Assert.Equal(5, point.Voltage(circuit.Node("x")), 1e-12);
        Assert.Equal(0, point.Current(circuit.Element("R2")));
    }

    [Fact]
    public void With_ShortedResistor_CarriesTheCurrentInTheShort()
    {
        Circuit circuit = Divider();
        Network failed = circuit.Network.With(Fault.Short(circuit.Element("R2"), 0, 1));
        OperatingPoint point = failed.CreateSolver().Solve(circuit.Values);
        Assert.Equal(0, point.Voltage(circuit.Node("x")), 1e-12);
        Assert.Equal(5e-3, point.Current(failed.FindElement("R2 short")!.Value), 1e-12);
        // The sound network is as it was.
        Assert.Equal(2.5, circuit.Voltage("x"), 1e-12);
    }

    [Fact]
    public void With_EveryFaultOfATransmittersOutput_IsSolvedOrRefusedByName()
    {
        (_, Circuit circuit) = NonlinearSet.All().First(static pair => pair.Name == "npn sink 1.1 250 24 0.3");
        int solved = 0;
        var refused = new List<string>();
        for (int k = 0; k < circuit.Network.ElementCount; k++)
        {
            foreach (Fault fault in circuit.Network.FaultsOf(new ElementId(k)))
            {
                Network failed = circuit.Network.With(fault);
                Assert.Equal(circuit.Network.SlotCount, failed.SlotCount);
                OperatingPoint point = failed.CreateSolver().Solve(circuit.Values);
                if (point.Status == SolveStatus.Solved)
                {
                    Conservation.Check(failed, point);
                    solved++;
                    continue;
                }

                refused.Add($"{circuit.Network.ElementName(fault.Element)}: {point.Trouble}");
            }
        }

        // A shorted part that is an ideal source's only company is a contradiction, and it is the source that is named.
        Assert.All(refused, static text => Assert.Contains("V", text, StringComparison.Ordinal));
        Assert.True(solved >= 12, string.Join("\n", refused));
    }

    [Fact]
    public void With_OpenAmplifier_LeavesItsOutputToTheRest()
    {
        Circuit circuit = new Circuit().Add("V", "VI", ["in", "0"], 1).Add("OPAMP", "U1", ["in", "o", "o"]).Add("R", "R1", ["o", "0"], 1e3);
        OperatingPoint point = Solve(circuit, Fault.Open(circuit.Element("U1")));
        Assert.Equal(0, point.Voltage(circuit.Node("o")), 1e-15);
        Assert.Equal(AmplifierState.Linear, point.State(circuit.Element("U1")));
    }

    [Fact]
    public void With_PinsThatAreNot_Throws()
    {
        Circuit circuit = Divider();
        Assert.Throws<ArgumentException>(() => circuit.Network.With(Fault.Short(circuit.Element("R2"), 0, 2)));
    }

    private static Circuit Divider() => new Circuit().Add("V", "V1", ["in", "0"], 5).Add("R", "R1", ["in", "x"], 1e3).Add("R", "R2", ["x", "0"], 1e3);

    private static OperatingPoint Solve(Circuit circuit, Fault fault)
    {
        Network failed = circuit.Network.With(fault);
        OperatingPoint point = failed.CreateSolver().Solve(circuit.Values);
        Assert.True(point.Status == SolveStatus.Solved, point.Trouble);
        return point;
    }

    private static Circuit ZenerCircuit(double amperes)
    {
        Circuit circuit = new Circuit().Add("I", "I1", ["0", "k"], amperes).Add("R", "R1", ["k", "0"], 1e12);
        return circuit.Add("Z1", circuit.Builder.Zener("Z1", circuit.Node("0"), circuit.Node("k")), 6.8, 5e-3, 8, 1e-14);
    }

    private static Circuit Fet(Circuit circuit, string drain, string gate, string source, bool isNChannel, double threshold, double factor, double modulation) =>
        circuit.Add("Q1", circuit.Builder.FieldEffect("Q1", circuit.Node(drain), circuit.Node(gate), circuit.Node(source), isNChannel), threshold, factor, modulation);
}
