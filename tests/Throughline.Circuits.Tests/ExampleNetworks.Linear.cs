namespace Throughline.Circuits.Tests;

internal static partial class ExampleNetworks
{
    private static readonly string[] FourResistors = ["R1", "R2", "R3", "R4"];

    private static Dictionary<string, Func<AnswerRow, double>> CreateNetworks()
    {
        var networks = new Dictionary<string, Func<AnswerRow, double>>
        {
            ["A1: Thevenin voltage (Rg open)"] = _ => Circuit.Example("A1").Set("Rg", double.PositiveInfinity).Voltage("B", "D"),
            ["A1: Thevenin resistance"] = _ => Resistance(Circuit.Example("A1").Set("Rg", double.PositiveInfinity).Set("E", 0), "B", "D"),
            ["A10: input resistance"] = _ => 1 / Circuit.Example("A10").Current("Vi"),
            ["A10: output resistance"] = _ => Resistance(Circuit.Example("A10").Set("Vi", 0), "out", "0"),
            ["A18: gain 1+49400/RG"] = _ => Circuit.Example("A18", "Vp=1 Vn=0").Voltage("x", "y"),
            ["A18: CMRR, R4 +0.1%"] = _ => CommonModeRejection(Circuit.Example("A18", "R4=10010")),
            ["A20: output change, CMRR 90 dB, 10 V common mode, G=10"] = _ => CommonModeChange(90),
            ["A20: same at CMRR 57 dB"] = _ => CommonModeChange(57),
            ["A20: output ripple, PSRR 30 uV/V, 0.1 V, gain 1001"] = _ => SupplyRipple(30e-6),
            ["A20: output ripple, PSRR 150 uV/V"] = _ => SupplyRipple(150e-6),
            ["A21: gain for 0.1 V/degC (small-signal)"] = _ => SensorGain(),
            ["A21: reading error at 100 degC"] = _ =>
                (Circuit.Example("A21").Voltage("a", "b") * SensorGain() / 0.1) - 100,
            ["A22: full bridge output"] = row => Circuit.Example("A22", row.Condition).Voltage("p", "n"),
            ["B1: largest RL for 13 V output"] = _ => LargestLoad(),
            ["B2: output current"] = _ => -Circuit.Example("B2").Current("Vload"),
            ["B2: op amp output at 10 V load"] = _ => Circuit.Example("B2", "Vload=10").Voltage("out"),
            ["B2: worst-corner Ro 1% exact"] = _ => HowlandOutput(0.01, 1),
            ["B2: opposite corner Ro 1%"] = _ => HowlandOutput(0.01, -1),
            ["B2: worst-corner Ro 0.1% exact"] = _ => HowlandOutput(0.001, 1),
            ["B2: Ro from finite gain 2e5, R2=R4=3k"] = _ => OutputResistance(Circuit.Example("B2", "R2=3000 R4=3000").Set("U1", 2e5)),
            ["B3: output resistance R1 +0.1%"] = row => OutputResistance(Circuit.Example("B3", row.Condition)),
            ["B3: worst |Ro| with 0.1 % on R1..R4"] = _ =>
                Worst(Circuit.Example("B3"), FourResistors, 0.001, static circuit => Math.Abs(OutputResistance(circuit)), smallest: true),
            ["B4: sense resistor 100 mA from 2.5 V"] = _ => 2.5 / HighSideSource(25).Current("RS"),
            ["B4: compliance"] = _ => Compliance(15, 2.5, 0.2),
            ["B4: op amp output"] = _ => HighSideSource(25).Voltage("drive"),
            ["B5"] = ReferenceSource,
            ["B7: resistor for 4 mA from 2.5 V"] = _ => 2.5 / Math.Abs(Circuit.Example("B7", "Iin=40e-6").Current("Iin")),
            ["B8: largest loop resistance"] = LoopResistance,
            ["B9: collector current of NPN sink, beta=100, 2 V over 100 ohm"] = _ => CurrentSink(),
            ["G4: ratiometric code 2 mV/V x100, Vref=Vexc/2"] = _ => 4096 * BridgeRatio(5, ratiometric: true),
            ["G4: non-ratiometric code, excitation +5 %"] = _ => 4096 * BridgeRatio(5.25, ratiometric: false),
        };
        foreach (AnswerRow row in ReferenceTables.Answers.Where(static row => row.Example == "A17" && row.Probe.StartsWith('|')))
            networks[row.Key] = WorstDifferenceAmplifier;
        AddSupplies(networks);
        AddNonlinear(networks);
        AddDynamic(networks);
        AddNoise(networks);
        return networks;
    }

    private static double Resistance(Circuit circuit, string plus, string minus)
    {
        circuit.Add("probe", circuit.Builder.CurrentSource("probe", circuit.Node(minus), circuit.Node(plus)), 1e-3);
        return circuit.Voltage(plus, minus) / 1e-3;
    }

    private static double OutputResistance(Circuit circuit) => 1 / Slope(circuit, "Vload", () => circuit.Current("Vload"));

    private static double CommonModeRejection(Circuit circuit)
    {
        double common = circuit.Set("Vp", 1).Set("Vn", 1).Voltage("out");
        double difference = circuit.Set("Vp", 0.5).Set("Vn", -0.5).Voltage("out");
        return 20 * Math.Log10(Math.Abs(difference / common));
    }

    private static Circuit DifferenceAmplifier(double gain) => new Circuit()
        .Add("V", "V1", ["1", "0"], 0).Add("V", "V2", ["2", "0"], 0)
        .Add("R", "R1", ["1", "m"], 10e3).Add("R", "R2", ["m", "out"], gain * 10e3)
        .Add("R", "R3", ["2", "p"], 10e3).Add("R", "R4", ["p", "0"], gain * 10e3)
        .Add("OPAMP", "U1", ["p", "m", "out"]);

    private static double WorstDifferenceAmplifier(AnswerRow row)
    {
        double gain = ReferenceTables.Number(row.Quantity.Split("G=")[1].Split(' ')[0]);
        double fraction = ReferenceTables.Number(row.Condition.Split('=')[1]);
        return 20 * Math.Log10(Worst(
            DifferenceAmplifier(gain), FourResistors, fraction, static circuit =>
            {
                double first = -circuit.Set("V1", 1).Set("V2", 0).Voltage("out");
                double second = circuit.Set("V1", 0).Set("V2", 1).Voltage("out");
                return Math.Abs((first + second) / 2 / (second - first));
            },
            smallest: true));
    }

    private static double CommonModeChange(double decibels)
    {
        Circuit circuit = DifferenceAmplifier(10).Set("U1", Math.Pow(10, -decibels / 20), (int)OpAmpSlot.CommonModeError);
        return circuit.Set("V1", 10).Set("V2", 10).Voltage("out");
    }

    private static double SupplyRipple(double error)
    {
        Circuit circuit = new Circuit()
            .Add("V", "VP", ["vp", "0"], 15).Add("V", "VN", ["vn", "0"], -15)
            .Add("R", "R1", ["m", "0"], 100).Add("R", "R2", ["m", "out"], 100e3)
            .Add("OPAMP", "U1", ["0", "m", "out", "vp", "vn"])
            .Set("U1", error, (int)OpAmpSlot.SupplyError).Set("U1", 30, (int)OpAmpSlot.NominalSupply);
        double rest = circuit.Voltage("out");
        return circuit.Set("VP", 15.1).Voltage("out") - rest;
    }

    private static double SensorGain()
    {
        // The sensor is 0.392 Ω/K at 0 °C: 100 Ω and 0.00392/K.
        Circuit circuit = Circuit.Example("A21").Set("Rt", 100);
        double[] perSlot = circuit.Sensitivities(Probe.Voltage(circuit.Node("a"), circuit.Node("b")));
        return 0.1 / (perSlot[circuit.Slot("Rt")] * 0.392);
    }

    private static double LargestLoad()
    {
        Circuit circuit = Circuit.Example("B1");
        double[] perSlot = circuit.Sensitivities(Probe.Voltage(circuit.Node("out"), circuit.Node("0")));
        return circuit["RL"] + ((13 - circuit.Voltage("out")) / perSlot[circuit.Slot("RL")]);
    }

    private static double HowlandOutput(double fraction, double sign)
    {
        Circuit circuit = Circuit.Example("B2");
        circuit.Set("R1", 15e3 * (1 + (sign * fraction))).Set("R2", 4.5e3 * (1 - (sign * fraction)))
            .Set("R3", 15e3 * (1 - (sign * fraction))).Set("R4", 4.5e3 * (1 + (sign * fraction)));
        return OutputResistance(circuit);
    }

    /// <summary>Op amp, sense resistor on top, pnp of gain 100 with 0.7 V from emitter to base, 1 kΩ in the base as the book draws it.</summary>
    private static Circuit HighSideSource(double sense)
    {
        var circuit = new Circuit();
        circuit.Add("V", "VCC", ["vcc", "0"], 15).Add("V", "VREF", ["vcc", "ref"], 2.5).Add("R", "RS", ["vcc", "e"], sense)
            .Add("V", "VEB", ["e", "b"], 0.7).Add("R", "RB", ["b", "drive"], 1e3).Add("V", "Vload", ["load", "0"], 0)
            .Add("OPAMP", "U1", ["ref", "e", "drive"]);
        // 100 mA of collector current, as the book counts it: the base takes 1 mA out of the op amp beside it.
        circuit.Add("IC", circuit.Builder.CurrentSource("IC", circuit.Node("e"), circuit.Node("load")), 0.1);
        circuit.Add("IB", circuit.Builder.CurrentSource("IB", circuit.Node("vcc"), circuit.Node("e")), 0.001);
        return circuit;
    }

    private static double Compliance(double supply, double reference, double saturation) => new Circuit()
        .Add("V", "VCC", ["vcc", "0"], supply).Add("V", "VREF", ["vcc", "e"], reference).Add("V", "VEC", ["e", "c"], saturation)
        .Add("R", "RL", ["c", "0"], 100).Voltage("c");

    /// <summary>Reference of 5 V on 500 Ω with a follower that returns it to the load; a three-terminal regulator of 1.25 V on 1.25 Ω.</summary>
    private static double ReferenceSource(AnswerRow row)
    {
        if (row.Quantity.StartsWith("3-terminal", StringComparison.Ordinal))
            return 1 / SupplySlope(1.25, 1.25, 1.25 * 0.0007, Math.Pow(10, -3.5));
        return row.Quantity switch
        {
            "R" => 5 / 0.01,
            "dI/dV" => SupplySlope(5, 500, 10e-6, 50e-6),
            _ => 1 / SupplySlope(5, 500, 10e-6, 50e-6),
        };
    }

    private static double SupplySlope(double reference, double ohms, double lineOne, double lineTwo)
    {
        var circuit = new Circuit();
        circuit.Add("V", "VS", ["vs", "0"], 15).Add("V", "VREF", ["c", "b"], reference).Add("R", "R", ["c", "d"], ohms).Add("V", "VL", ["d", "0"], 0);
        circuit.Add("E1", circuit.Builder.ControlledVoltage("E1", circuit.Node("b"), circuit.Node("a"), circuit.Node("vs"), circuit.Node("0")), lineOne);
        circuit.Add("E2", circuit.Builder.ControlledVoltage("E2", circuit.Node("a"), circuit.Node("d"), circuit.Node("vs"), circuit.Node("0")), lineTwo);
        double[] perSlot = circuit.Sensitivities(Probe.Current(circuit.Element("R")));
        return perSlot[circuit.Slot("VS")];
    }

    private static double LoopResistance(AnswerRow row)
    {
        double[] values = [.. row.Condition.Split(' ').Select(static part => ReferenceTables.Number(part.Split('=')[1]))];
        // The current that the transmitter sends through whatever voltage the supply leaves it: their ratio is the most it may be.
        Circuit circuit = new Circuit().Add("V", "VS", ["s", "0"], values[0]).Add("V", "VT", ["s", "t"], values[1]).Add("I", "IL", ["t", "0"], values[2]);
        return circuit.Voltage("t") / values[2];
    }

    private static double CurrentSink()
    {
        Circuit circuit = new Circuit().Add("V", "VI", ["in", "0"], 2).Add("V", "VP", ["vp", "0"], 24).Add("R", "RE", ["e", "0"], 100)
            .Add("R", "RL", ["vp", "c"], 250).Add("OPAMP", "U1", ["in", "e", "b", "vp", "0"]).Add("NPN", "Q1", ["c", "b", "e"]);
        return circuit.Set("Q1", 1e-14).Set("Q1", 100, 1).Set("Q1", 1, 2).Current("Q1");
    }

    /// <summary>Full bridge of 2 mV/V, gain 100, over a reference of half the excitation or a fixed 2.5 V.</summary>
    private static double BridgeRatio(double excitation, bool ratiometric)
    {
        var circuit = new Circuit();
        circuit.Add("V", "VE", ["e", "0"], excitation).Add("R", "R1", ["e", "p"], 349.3).Add("R", "R2", ["p", "0"], 350.7)
            .Add("R", "R3", ["e", "n"], 350.7).Add("R", "R4", ["n", "0"], 349.3);
        circuit.Add("U1", circuit.Builder.InstrumentationAmplifier("U1", circuit.Node("p"), circuit.Node("n"), circuit.Node("out"), circuit.Node("0")), 100);
        circuit.Add("R", "RA", ["e", "half"], 10e3).Add("R", "RB", ["half", "0"], 10e3);
        return circuit.Voltage("out") / (ratiometric ? circuit.Voltage("half") : 2.5);
    }
}
