using System.Globalization;

namespace Throughline.Circuits.Tests;

internal static partial class ExampleNetworks
{
    private const double KOverQ = 1.380649e-23 / 1.602176634e-19;

    private static void AddNonlinear(Dictionary<string, Func<AnswerRow, double>> networks)
    {
        foreach (string example in (string[])["C1", "C2", "C3", "C4"])
            networks[example] = DiodeAnswer;
        networks["C0"] = static row => ThermalVoltage(ReferenceTables.Number(row.Condition[2..]));
        networks["C5: clamped node, 10 V via 10k into diode to 3.3 V"] = static _ => Clamp().Voltage("x");
        networks["C5: clamp current"] = static _ => Clamp().Current("D1");
        networks["C6: leakage error, 10 nA upper clamp only, 100k source, 1 V"] = static _ => Leakage(10e-9);
        networks["C6: same at 85 degC (x2 per 10 K from 25)"] = static _ => Leakage(10e-9 * Math.Pow(2, 6));
        networks["C7"] = ConstantBaseVoltage;
        networks["C8"] = EbersMoll;
        networks["C9"] = ForcedBeta;
        networks["C10"] = static _ => PairOffset();
        networks["C11"] = ZenerLine;
    }

    /// <summary>kT/q is what two equal currents through junctions of ratio e differ by.</summary>
    private static double ThermalVoltage(double kelvin)
    {
        Circuit circuit = new Circuit { Kelvin = kelvin }
            .Add("I", "I1", ["0", "a"], 1e-3).Add("I", "I2", ["0", "b"], 1e-3)
            .Add("D", "D1", ["a", "0"], 1e-14).Add("D", "D2", ["b", "0"], 1e-14 * Math.E);
        return circuit.Voltage("a", "b");
    }

    private static Circuit DiodeCircuit(AnswerRow row)
    {
        // "as C3 with 0.568 ohm series resistance" is the 5 V, 1 kΩ case.
        bool hasSeries = row.Example == "C4";
        Dictionary<string, string> given = hasSeries
            ? new() { ["Vs"] = "5", ["R"] = "1000" }
            : row.Condition.Split(' ').Select(static part => part.Split('=')).ToDictionary(static part => part[0], static part => part[1]);
        double kelvin = given.TryGetValue("T", out string? t) ? ReferenceTables.Number(t) : 300.15;
        double emission = given.TryGetValue("n", out string? n) ? ReferenceTables.Number(n) : 1.752;
        if (given.TryGetValue("nVT", out string? thermal))
            emission = (thermal == "0.1/ln10" ? 0.1 / Math.Log(10) : ReferenceTables.Number(thermal)) / (kelvin * KOverQ);
        double saturation = given.TryGetValue("Is", out string? stated) ? ReferenceTables.Number(stated) : 2.52e-9;
        return new Circuit { Kelvin = kelvin }
            .Add("V", "VS", ["s", "0"], ReferenceTables.Quantity(given["Vs"])).Add("R", "R", ["s", "x"], ReferenceTables.Quantity(given["R"]))
            .Add("D", "D1", ["x", "0"], saturation).Set("D1", emission, (int)DiodeSlot.Emission)
            .Set("D1", hasSeries ? 0.568 : 0, (int)DiodeSlot.SeriesResistance);
    }

    private static double DiodeAnswer(AnswerRow row)
    {
        Circuit circuit = DiodeCircuit(row);
        double current = circuit.Current("D1");
        double series = circuit.Values[circuit.Slot("D1", (int)DiodeSlot.SeriesResistance)];
        double[] ofCurrent = circuit.Sensitivities(Probe.Current(circuit.Element("D1")));
        double[] ofVoltage = circuit.Sensitivities(Probe.Voltage(circuit.Node("x"), circuit.Node("0")));
        return row.Quantity switch
        {
            "I" => current,
            // The table's voltage is that of the junction.
            "V(diode)" => circuit.Voltage("x") - (series * current),
            "dI/dVs" => ofCurrent[circuit.Slot("VS")],
            "dV/dVs" => ofVoltage[circuit.Slot("VS")] - (series * ofCurrent[circuit.Slot("VS")]),
            "relative sensitivity of I to R" => ofCurrent[circuit.Slot("R")] * circuit["R"] / current,
            "dI/d(ln Is)" => ofCurrent[circuit.Slot("D1")] * circuit["D1"],
            _ => throw new InvalidOperationException(row.Key),
        };
    }

    private static Circuit Clamp() => new Circuit { Kelvin = 300.15 }
        .Add("V", "VS", ["s", "0"], 10).Add("V", "VC", ["c", "0"], 3.3).Add("R", "R", ["s", "x"], 10e3)
        .Add("D", "D1", ["x", "c"], 2.52e-9).Set("D1", 1.752, 1);

    private static double Leakage(double saturation) => new Circuit()
        .Add("V", "VS", ["s", "0"], 1).Add("V", "VC", ["c", "0"], 3.3).Add("R", "R", ["s", "x"], 100e3).Add("D", "D1", ["x", "c"], saturation)
        .Voltage("x") - 1;

    /// <summary>The book's transistor: 0.7 V from base to emitter and 100 times the base current into the collector.</summary>
    private static double ConstantBaseVoltage(AnswerRow row)
    {
        Circuit circuit = new Circuit().Add("V", "VCC", ["vcc", "0"], 10).Add("R", "R1", ["vcc", "b"], 56e3).Add("R", "R2", ["b", "0"], 12.2e3)
            .Add("R", "RC", ["vcc", "c"], 2e3).Add("R", "RE", ["e", "0"], 400);
        if (row.Quantity.Contains("Rth", StringComparison.Ordinal))
            return Resistance(circuit.Set("VCC", 0).Set("RC", 1), "b", "0");
        if (row.Quantity.Contains("Vth", StringComparison.Ordinal))
            return circuit.Voltage("b");
        circuit.Add("V", "VBE", ["b", "e"], 0.7);
        // The current out of VBE's plus pin is the base current with its sign turned.
        circuit.Add("Q", circuit.Builder.ControlledCurrent("Q", circuit.Node("e"), circuit.Node("c"), circuit.Element("VBE")), 100);
        return row.Quantity[^3..] switch
        {
            " IB" => -circuit.Current("VBE"),
            " IC" => -circuit.Current("Q"),
            _ => circuit.Voltage("c", "e"),
        };
    }

    private static double EbersMoll(AnswerRow row)
    {
        double collectorOhms = ReferenceTables.Number(row.Condition.Split("RC=")[1]);
        Circuit circuit = new Circuit { Kelvin = 300 }.Add("V", "VCC", ["vcc", "0"], 10).Add("R", "R1", ["vcc", "b"], 56e3)
            .Add("R", "R2", ["b", "0"], 12.2e3).Add("R", "RC", ["vcc", "c"], collectorOhms).Add("R", "RE", ["e", "0"], 400)
            .Add("NPN", "Q1", ["c", "b", "e"], 1e-14).Set("Q1", 100, 1).Set("Q1", 1, 2);
        OperatingPoint point = circuit.Solve();
        string quantity = row.Quantity.Split(' ')[1];
        return quantity switch
        {
            "IB" => point.CurrentInto(circuit.Element("Q1"), 1),
            "IC" => point.Current(circuit.Element("Q1")),
            _ => point.Voltage(circuit.Node(quantity[1..].ToLowerInvariant())),
        };
    }

    private static double ForcedBeta(AnswerRow row)
    {
        double beta = double.Parse(row.Quantity.Split('=')[1], CultureInfo.InvariantCulture);
        Circuit circuit = new Circuit { Kelvin = 0.025 / KOverQ }.Add("I", "IB", ["0", "b"], 1e-4).Add("I", "IC", ["0", "c"], beta * 1e-4)
            .Add("NPN", "Q1", ["c", "b", "0"], 1e-18).Set("Q1", 50, 1).Set("Q1", 0.1, 2);
        return circuit.Voltage("c");
    }

    private static double PairOffset()
    {
        Circuit circuit = new Circuit { Kelvin = 0.026 / KOverQ }.Add("I", "I1", ["0", "a"], 1e-3).Add("I", "I2", ["0", "b"], 1e-3)
            .Add("D", "D1", ["a", "0"], 1e-14).Add("D", "D2", ["b", "0"], 1.05e-14);
        return circuit.Voltage("a", "b");
    }

    private static double ZenerLine(AnswerRow row)
    {
        Circuit circuit = new Circuit().Add("V", "VS", ["s", "0"], 10).Add("R", "R", ["s", "x"], 500).Add("R", "RZ", ["x", "z"], 20)
            .Add("V", "VZ", ["z", "0"], 6.7).Add("I", "IL", ["x", "0"], 0).Add("R", "RL", ["x", "0"], double.PositiveInfinity);
        double open = circuit.Voltage("x");
        double[] perSlot = circuit.Sensitivities(Probe.Voltage(circuit.Node("x"), circuit.Node("0")));
        return row.Quantity switch
        {
            "zener output" => open,
            "line regulation" => perSlot[circuit.Slot("VS")],
            "load regulation" => perSlot[circuit.Slot("IL")],
            _ => circuit.Set("RL", 2000).Voltage("x") - open,
        };
    }
}
