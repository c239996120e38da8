namespace Throughline.Circuits.Tests;

/// <summary>Typical stages of a transmitter, every kind of element among them.</summary>
internal static class BatchStages
{
    public static IEnumerable<(string Name, Circuit Circuit)> All() =>
    [
        ("electrode amplifier", ElectrodeAmplifier()), ("gain of 10", Gain10()), ("current sink", CurrentSink()), ("current sink with stated saturation", CurrentSink(0.3)),
        ("bridge", Bridge()), ("isolated loop", Isolated()), ("zener supply", ZenerSupply()), ("rectifier and filter", Filter()), ("controlled sources", Controlled()),
        ("source followers", Followers()), ("amplifier at its limit", AtLimit()), ("amplifier that sources all it can", Sourcing()),
    ];

    /// <summary>Loads and trimmers change, sources drive, everything else is fixed.</summary>
    public static BatchSlots Slots(Circuit circuit)
    {
        BatchSlots all = BatchCheck.AllSlots(circuit);
        int[] changing = [.. all.Fixed.Where(slot => circuit.Network.Slots[slot].ElementName is ['R', 'L', ..] or ['V', 'R', ..] or ['R', 'E', ..])];
        return all with { Fixed = [.. all.Fixed.Except(changing)], Changing = [.. changing] };
    }

    public static Circuit Gain10() => new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("V", "VI", ["i", "0"], 0.3)
        .Add("OPAMP", "U1", ["i", "m", "o", "vp", "0"]).Set("U1", 0.1, (int)OpAmpSlot.SwingBelowPositive).Set("U1", 0.05, (int)OpAmpSlot.SwingAboveNegative)
        .Add("R", "R1", ["m", "0"], 1e3).Add("R", "R2", ["o", "m"], 9e3);

    /// <summary>An electrode of 100 MΩ on a biased reference, gain of 5.5 with a trimmer.</summary>
    public static Circuit ElectrodeAmplifier()
    {
        Circuit circuit = new Circuit().Add("V", "VA", ["a5", "0"], 5).Add("V", "VREF", ["vref", "0"], 1.25).Add("R", "R6", ["a5", "vref"], 1e4)
            .Add("R", "R4", ["vref", "top"], 1e3).Add("R", "VR1a", ["top", "zero"], 500).Add("R", "VR1b", ["zero", "bottom"], 500).Add("R", "R5", ["bottom", "0"], 10.2e3)
            .Add("C", "C1", ["zero", "0"], 1e-7);
        Real(circuit, "U2", ["zero", "ret", "ret", "a5", "0"]);
        circuit.Add("V", "VE", ["e", "ret"], 0.15).Add("R", "RE", ["e", "probe"], 1e8).Add("R", "R7", ["probe", "in"], 1e6).Add("R", "LK1", ["in", "ret"], 5e12)
            .Add("C", "C2", ["in", "ret"], 1e-10);
        Real(circuit, "U1", ["in", "fb", "amp", "a5", "0"]);
        return circuit.Add("R", "R1", ["amp", "span"], 42.2e3).Add("R", "VR2", ["span", "fb"], 2.5e3).Add("R", "R2", ["fb", "ret"], 1e4)
            .Add("R", "R3", ["amp", "adc"], 1e4).Add("C", "C3", ["adc", "0"], 1e-6).Add("I", "IADC", ["adc", "0"], 1e-9);
    }

    /// <summary>0.1 V for each milliampere into a loop that has its own supply.</summary>
    public static Circuit CurrentSink(double statedSaturation = 0)
    {
        Circuit circuit = new Circuit().Add("V", "VL", ["l18", "0"], 18).Add("V", "V5", ["l5", "0"], 5).Add("V", "VD", ["dac", "0"], 1.2)
            .Add("R", "R11", ["dac", "set"], 2e3).Add("R", "R12", ["set", "m"], 16.9e3).Add("R", "VR3", ["m", "0"], 5e3);
        Real(circuit, "U3", ["set", "sense", "drive", "l5", "0"]);
        return circuit.Add("R", "R14", ["drive", "base"], 1e3).Add("NPN", "Q1", ["c", "base", "sense"], 5e-14).Set("Q1", 200, (int)BipolarSlot.ForwardGain)
            .Set("Q1", statedSaturation, (int)BipolarSlot.SaturationVoltage)
            .Add("R", "R15", ["sense", "0"], 90.9).Add("R", "R13", ["l18", "p"], 10).Add("R", "RL", ["p", "c"], 250);
    }

    private static Circuit Bridge()
    {
        Circuit circuit = new Circuit().Add("V", "VX", ["x", "0"], 5).Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12)
            .Add("R", "R1", ["x", "a"], 350).Add("R", "R2", ["a", "0"], 351).Add("R", "R3", ["x", "b"], 350.5).Add("R", "R4", ["b", "0"], 350);
        circuit.Add("U1", circuit.Builder.InstrumentationAmplifier("U1", circuit.Node("a"), circuit.Node("b"), circuit.Node("o"), circuit.Node("r"), circuit.Node("vp"), circuit.Node("vn")),
            100, 1e-4, 1e-3, 1e-8, 2e-8, 1e-5, 1e-6, 24, 1.5, 1.5, 0.02, 0.02);
        return circuit.Add("V", "VR", ["r", "0"], 2.5).Add("R", "RL", ["o", "0"], 2e3).Add("L", "L1", ["o", "f"], 1e-3).Add("R", "R5", ["f", "0"], 1e4);
    }

    private static Circuit Isolated()
    {
        Circuit circuit = new Circuit().Add("V", "VI", ["i", "0"], 1.1).Add("R", "R1", ["i", "p"], 1e3);
        circuit.Builder.Return(circuit.Node("L0"));
        circuit.Add("U1", circuit.Builder.IsolationAmplifier("U1", circuit.Node("p"), circuit.Node("0"), circuit.Node("o"), circuit.Node("L0")), 2, 1e-3, 2e-3, 1e6, 50, -3, 3, -4.9, 4.9);
        return circuit.Add("R", "R2", ["o", "s"], 1e3).Add("R", "RL", ["s", "L0"], 5e3);
    }

    private static Circuit ZenerSupply()
    {
        Circuit circuit = new Circuit().Add("V", "VS", ["s", "0"], 12).Add("R", "R1", ["s", "z"], 680);
        circuit.Add("DZ1", circuit.Builder.Zener("DZ1", circuit.Node("0"), circuit.Node("z")), 5.1, 5e-3, 12, 1e-14);
        return circuit.Add("R", "RL", ["z", "0"], 2.2e3).Add("D", "D1", ["z", "x"], 1e-9).Set("D1", 1.8, 1).Set("D1", 0.5, 2).Set("D1", 75, 3).Add("R", "R2", ["x", "0"], 1e4)
            .Add("D", "D2", ["0", "x"], 1e-12).Set("D2", 33, 3);
    }

    private static Circuit Filter() => new Circuit().Add("V", "VI", ["i", "0"], 3).Add("L", "L1", ["i", "a"], 1e-3).Add("D", "D1", ["a", "b"], 1e-12)
        .Add("C", "C1", ["b", "0"], 1e-6).Add("R", "RL", ["b", "0"], 1e3).Add("I", "I1", ["b", "0"], 1e-3);

    private static Circuit Controlled()
    {
        Circuit circuit = new Circuit().Add("V", "VI", ["i", "0"], 1).Add("R", "R1", ["i", "a"], 1e3).Add("R", "R2", ["a", "s"], 2e3);
        ElementId sense = circuit.Builder.Link("LK", circuit.Node("s"), circuit.Node("0"));
        circuit.Add("LK", sense).Add("VCVS", "E1", ["b", "0", "a", "0"], 3).Add("R", "R3", ["b", "c"], 1e3).Add("R", "R4", ["c", "0"], 1e3);
        circuit.Add("G1", circuit.Builder.ControlledCurrent("G1", circuit.Node("0"), circuit.Node("c"), circuit.Node("a"), circuit.Node("0")), 1e-4);
        circuit.Add("F1", circuit.Builder.ControlledCurrent("F1", circuit.Node("0"), circuit.Node("c"), sense), 0.5);
        circuit.Add("H1", circuit.Builder.ControlledVoltage("H1", circuit.Node("d"), circuit.Node("0"), sense), 100);
        circuit.Add("H2", circuit.Builder.ControlledVoltage("H2", circuit.Node("h"), circuit.Node("0"), circuit.Element("VI")), 10);
        return circuit.Add("R", "R5", ["d", "c"], 1e3).Add("R", "RL", ["h", "c"], 1e3);
    }

    private static Circuit Followers()
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VI", ["i", "0"], 6);
        circuit.Add("M1", circuit.Builder.FieldEffect("M1", circuit.Node("vp"), circuit.Node("i"), circuit.Node("a"), true), 1.5, 2e-3, 0.01);
        circuit.Add("R", "R1", ["a", "0"], 2e3);
        circuit.Add("M2", circuit.Builder.FieldEffect("M2", circuit.Node("0"), circuit.Node("a"), circuit.Node("b"), false), 1.2, 1e-3, 0.02);
        circuit.Add("R", "R2", ["vp", "b"], 3e3);
        // Used as a switch: drain and source a few millivolts apart.
        circuit.Add("M3", circuit.Builder.FieldEffect("M3", circuit.Node("c"), circuit.Node("vp"), circuit.Node("a"), true), 1, 5e-3, 0);
        return circuit.Add("R", "R3", ["b", "c"], 1e5).Add("PNP", "Q1", ["0", "b", "e"], 1e-14).Add("R", "RL", ["vp", "e"], 5e3);
    }

    private static Circuit AtLimit() => Gain10().Set("VI", 0.8).Add("R", "RL", ["o", "0"], 1e4);

    private static Circuit Sourcing() => Gain10().Set("U1", 5e-3, (int)OpAmpSlot.SourceCurrent).Set("U1", 5e-3, (int)OpAmpSlot.SinkCurrent).Add("R", "RL", ["o", "0"], 100);

    private static void Real(Circuit circuit, string name, string[] nodes) => circuit.Add("OPAMP", name, nodes).Set(name, 2e5)
        .Set(name, 5e-4, (int)OpAmpSlot.Offset).Set(name, 1e-12, (int)OpAmpSlot.BiasPlus).Set(name, 1.2e-12, (int)OpAmpSlot.BiasMinus)
        .Set(name, 1e-4, (int)OpAmpSlot.CommonModeError).Set(name, 1e-4, (int)OpAmpSlot.SupplyError).Set(name, 5, (int)OpAmpSlot.NominalSupply)
        .Set(name, 100, (int)OpAmpSlot.OutputResistance).Set(name, 0.05, (int)OpAmpSlot.SwingBelowPositive).Set(name, 0.05, (int)OpAmpSlot.SwingAboveNegative)
        .Set(name, 0.01, (int)OpAmpSlot.SourceCurrent).Set(name, 0.01, (int)OpAmpSlot.SinkCurrent).Set(name, 1e-3, (int)OpAmpSlot.SupplyCurrent);
}
