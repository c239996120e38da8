namespace Throughline.Circuits.Tests;

internal static partial class ExampleNetworks
{
    private const double Boltzmann = 1.380649e-23;

    // Sources that write k = 1.38e-23 and T = 298 K have this temperature with the exact constant.
    private const double OldRoom = 1.38e-23 * 298 / Boltzmann;

    private static void AddNoise(Dictionary<string, Func<AnswerRow, double>> networks)
    {
        foreach (AnswerRow row in ReferenceTables.Answers.Where(static row => row.Quantity.StartsWith("thermal noise density of", StringComparison.Ordinal)))
            networks[row.Key] = static row => Density(Resistor(ReferenceTables.Number(row.Quantity.Split(' ')[4])), "out");
        networks["E1: thermal noise current of 10k"] = static _ =>
        {
            Circuit circuit = new Circuit().Add("V", "V1", ["a", "0"], 0).Add("R", "R1", ["a", "0"], 10e3);
            return Linearise(circuit).NoiseDensity(Probe.Current(circuit.Element("V1")), 1e3).Value;
        };
        networks["E1: 10k, 20 Hz to 20 kHz"] = static _ => Band(Resistor(10e3), 20, 20e3);
        networks["E2"] = static row => Flicker(row);
        networks["E4"] = static row => OpAmpBudget(row);
        networks["E5"] = static row => Budget(OldRoom, row.Value) is var total ? row.Value * (50e-6 / total.Value) * (50e-6 / total.Value) : 0;
        networks["E6"] = ResistorLevel;
        networks["E7"] = InstrumentationNoise;
        networks["E8"] = EveryTerm;
        networks["E9"] = HighSource;
        foreach (AnswerRow row in ReferenceTables.Answers.Where(static row => row.Quantity.StartsWith("kT/C", StringComparison.Ordinal)))
            networks[row.Key] = static row => TotalNoise(LowPass(ReferenceTables.Number(row.Quantity.Split(' ')[3])), "out");
        networks["E10: noise bandwidth of a single pole"] = static _ =>
        {
            // A noiseless pole of 1 Hz after a source of 1 V/√Hz.
            Circuit circuit = Filtered(new Circuit().Add("V", "VN", ["src", "0"], 0).Set("VN", 1, (int)SourceSlot.Noise), "src", 1);
            double total = Linearise(circuit).Noise(Output(circuit), 1e-12, 1e12).Value;
            return total * total;
        };
        networks["E11"] = ShotNoise;
    }

    private static Circuit Resistor(double ohms) => new Circuit().Add("R", "R1", ["out", "0"], ohms);

    private static Circuit LowPass(double farads) => new Circuit().Add("R", "R1", ["out", "0"], 1e3).Add("C", "C1", ["out", "0"], farads);

    private static double Density(Circuit circuit, string node, double hertz = 1e3) => Linearise(circuit).NoiseDensity(Output(circuit, node), hertz).Value;

    private static double Band(Circuit circuit, double from, double to) => Linearise(circuit).Noise(Output(circuit), from, to).Value;

    /// <summary>From so low to so high that nothing is left outside: a millionth of a millionth of the power on either side.</summary>
    private static double TotalNoise(Circuit circuit, string node)
    {
        SmallSignal signal = Linearise(circuit);
        double slow = -signal.Poles[0].Real / (2 * Math.PI);
        double fast = -signal.Poles[^1].Real / (2 * Math.PI);
        return signal.Noise(Output(circuit, node), 1e-9 * slow, 1e9 * fast).Value;
    }

    private static Circuit Filtered(Circuit circuit, string node, double hertz)
    {
        circuit.Add("F", circuit.Builder.InstrumentationAmplifier("F", circuit.Node(node), circuit.Node("0"), circuit.Node("out"), circuit.Node("0")), 1);
        return circuit.Set("F", hertz, (int)InstrumentationAmplifierSlot.Bandwidth);
    }

    private static double Flicker(AnswerRow row)
    {
        bool isFirst = row.Quantity.StartsWith("input noise", StringComparison.Ordinal);
        Circuit circuit = new Circuit().Add("OPAMP", "U1", ["0", "out", "out"])
            .Set("U1", isFirst ? 20e-9 : 10e-9, (int)OpAmpSlot.Noise).Set("U1", isFirst ? 200 : 3, (int)OpAmpSlot.NoiseCorner);
        if (!isFirst)
            return Band(circuit, 0.1, 10) * (row.Quantity.Contains("6.6", StringComparison.Ordinal) ? 6.6 : 1);
        string[] ends = row.Quantity.Split(' ')[^2].Split("..");
        return Band(circuit, ReferenceTables.Number(ends[0]), ReferenceTables.Number(ends[1]));
    }

    /// <summary>Inverting amplifier, R1 : R2 : R3 = 1.5 : 3 : 1 of the budget's values or scaled to another R3.</summary>
    private static NoiseReading Budget(double kelvin, double? third = null)
    {
        double r1 = third is null ? 100e3 : 1.5 * third.Value;
        double r2 = third is null ? 200e3 : 3 * third.Value;
        Circuit circuit = new Circuit { Kelvin = kelvin }.Add("R", "R1", ["m", "0"], r1).Add("R", "R2", ["m", "out"], r2).Add("R", "R3", ["p", "0"], third ?? 68e3)
            .Add("OPAMP", "U1", ["p", "m", "out"]).Set("U1", 1e6, (int)OpAmpSlot.GainBandwidth).Set("U1", 20e-9, (int)OpAmpSlot.Noise)
            .Set("U1", 200, (int)OpAmpSlot.NoiseCorner).Set("U1", 0.5e-12, (int)OpAmpSlot.NoiseCurrent).Set("U1", 2e3, (int)OpAmpSlot.NoiseCurrentCorner);
        return Linearise(circuit).Noise(Output(circuit), 0.1, 1e12);
    }

    private static double OpAmpBudget(AnswerRow row)
    {
        NoiseReading reading = Budget(row.Quantity.Contains("exact", StringComparison.Ordinal) ? 298.15 : OldRoom);
        double Part(string kind) => Math.Sqrt(reading.Contributions.Where(part => part.Kind.StartsWith(kind, StringComparison.Ordinal)).Sum(static part => part.Value * part.Value));
        return row.Quantity switch
        {
            "voltage-noise part" => Part("voltage"),
            "current-noise part" => Part("current"),
            "resistor part" => Part("thermal"),
            "peak to peak x6.6" => 6.6 * reading.Value,
            "SNR for 0.5 V peak input" => 20 * Math.Log10(0.5 * 2 / Math.Sqrt(2) / reading.Value),
            _ => reading.Value,
        };
    }

    private static double ResistorLevel(AnswerRow row)
    {
        bool isHigh = row.Condition.StartsWith("RF=10M", StringComparison.Ordinal);
        double ground = isHigh ? 100e3 : 100;
        double feedback = isHigh ? 10e6 : 10e3;
        Circuit circuit = new Circuit { Kelvin = OldRoom }.Add("R", "RG", ["m", "0"], ground).Add("R", "RF", ["m", "out"], feedback)
            .Add("OPAMP", "U1", ["0", "m", "out"]).Set("U1", 20e-9, (int)OpAmpSlot.Noise);
        NoiseReading reading = Linearise(circuit).NoiseDensity(Output(circuit), 1e3);
        double resistors = Math.Sqrt(reading.Contributions.Where(static part => part.Kind == "thermal noise").Sum(static part => part.Value * part.Value)) / 101;
        return row.Quantity switch
        {
            "Req" => resistors * resistors / (4 * Boltzmann * OldRoom),
            "resistor noise" => resistors,
            "input total" => reading.Value / 101,
            _ => reading.Value,
        };
    }

    private static double InstrumentationNoise(AnswerRow row)
    {
        bool isSecond = row.Quantity.StartsWith("AD8428", StringComparison.Ordinal);
        bool hasAmplifier = row.Quantity.StartsWith("in-amp", StringComparison.Ordinal) || row.Quantity.StartsWith("total", StringComparison.Ordinal) || isSecond;
        bool hasCurrent = row.Quantity.StartsWith("current", StringComparison.Ordinal) || row.Quantity.StartsWith("total", StringComparison.Ordinal) || isSecond;
        bool hasSource = row.Quantity.StartsWith("source", StringComparison.Ordinal) || row.Quantity.StartsWith("total", StringComparison.Ordinal) || isSecond;
        // The second note takes 4 nV per root kilohm; the first counts the 100 Ω that sets the gain to the amplifier.
        double kelvin = isSecond ? 16e-18 / (4 * Boltzmann * 1e3) : 298.15;
        Circuit circuit = new Circuit { Kelvin = kelvin }.Add("R", "R1", ["p", "0"], 4e3).Add("R", "R2", ["n", "x"], 1e3)
            .Add("R", "RG", ["x", "0"], hasAmplifier && !isSecond ? 100 : 0);
        circuit.Add("U1", circuit.Builder.InstrumentationAmplifier("U1", circuit.Node("p"), circuit.Node("n"), circuit.Node("out"), circuit.Node("0")), 100);
        if (hasAmplifier)
            circuit.Set("U1", isSecond ? 1.5e-9 : 3.2e-9, (int)InstrumentationAmplifierSlot.InputNoise).Set("U1", isSecond ? 0 : 60e-9, (int)InstrumentationAmplifierSlot.OutputNoise);
        if (hasCurrent)
            circuit.Set("U1", isSecond ? 1.5e-12 : 0.2e-12, (int)InstrumentationAmplifierSlot.NoiseCurrent);
        NoiseReading reading = Linearise(circuit).NoiseDensity(Output(circuit), 1e3);
        double sum = 0;
        foreach (NoiseContribution part in reading.Contributions)
        {
            string name = circuit.Network.ElementName(part.Element);
            bool counts = name is "R1" or "R2" ? hasSource
                : name == "RG" || part.Kind is "voltage noise" or "output noise" ? hasAmplifier
                // The 100 Ω beside the minus input carries its noise current too, which the note leaves out.
                : hasCurrent;
            double value = part.Kind == "current noise at the minus input" && !isSecond && hasAmplifier ? part.Value * 1000 / 1100 : part.Value;
            sum += counts ? value * value : 0;
        }

        return Math.Sqrt(sum) / 100;
    }

    private static double EveryTerm(AnswerRow row)
    {
        Circuit circuit = new Circuit().Add("R", "R1", ["m", "0"], 1e3).Add("R", "Rf", ["m", "amp"], 99e3).Add("R", "Rs", ["p", "0"], 10e3)
            .Add("OPAMP", "U1", ["p", "m", "amp"]).Set("U1", 10e-9, (int)OpAmpSlot.Noise).Set("U1", 0.4e-12, (int)OpAmpSlot.NoiseCurrent);
        if (row.Quantity.StartsWith("rms", StringComparison.Ordinal))
            return Linearise(Filtered(circuit, "amp", 10e3)).Noise(Output(circuit), 1e-4, 1e13).Value;
        NoiseReading reading = Linearise(circuit).NoiseDensity(Output(circuit, "amp"), 1e3);
        double Part(string element, string kind) => reading.Contributions.Single(part => circuit.Network.ElementName(part.Element) == element && part.Kind == kind).Value;
        return row.Quantity switch
        {
            "amplifier voltage noise" => Part("U1", "voltage noise"),
            "Rs=10k" => Part("Rs", "thermal noise"),
            "current noise in Rs" => Part("U1", "current noise at the plus input"),
            "R1=1k" => Part("R1", "thermal noise"),
            "Rf=99k" => Part("Rf", "thermal noise"),
            "current noise in Rf" => Part("U1", "current noise at the minus input"),
            _ => reading.Value,
        };
    }

    private static double HighSource(AnswerRow row)
    {
        Circuit circuit = new Circuit().Add("R", "R1", ["p", "0"], 10e6).Add("OPAMP", "U1", ["p", "amp", "amp"])
            .Set("U1", 20e-9, (int)OpAmpSlot.Noise).Set("U1", 10e-15, (int)OpAmpSlot.NoiseCurrent);
        if (row.Quantity.StartsWith("rms", StringComparison.Ordinal))
            return Linearise(Filtered(circuit, "amp", 10)).Noise(Output(circuit), 1e-7, 1e10).Value;
        NoiseReading reading = Linearise(circuit).NoiseDensity(Output(circuit, "amp"), 1e3);
        return row.Quantity switch
        {
            "thermal 10M" => reading.Contributions.Single(static part => part.Kind == "thermal noise").Value,
            "10 fA x 10M" => reading.Contributions.Single(static part => part.Kind == "current noise at the plus input").Value,
            _ => reading.Value,
        };
    }

    /// <summary>A junction forward at a given current, its noise voltage over its slope.</summary>
    private static double ShotNoise(AnswerRow row)
    {
        double amperes = ReferenceTables.Number(row.Quantity.Split(' ')[3]);
        Circuit circuit = new Circuit().Add("I", "I1", ["0", "out"], amperes).Add("D", "D1", ["out", "0"], 1e-25);
        double volts = Density(circuit, "out");
        double density = volts * amperes / (KOverQ * 298.15);
        return 20 * Math.Log10(amperes / (density * Math.Sqrt(1e6)));
    }
}
