using System.Globalization;
using System.Numerics;

namespace Throughline.Circuits.Tests;

internal static partial class ExampleNetworks
{
    private static void AddDynamic(Dictionary<string, Func<AnswerRow, double>> networks)
    {
        foreach (AnswerRow row in ReferenceTables.Answers.Where(static row => row.Example[0] == 'D'))
        {
            if (row.Condition.StartsWith("f=", StringComparison.Ordinal) || row.Condition.StartsWith("omega=", StringComparison.Ordinal))
                networks[row.Key] = Frequency;
            else if (row.Condition.StartsWith("t=", StringComparison.Ordinal))
                networks[row.Key] = StepAt;
            else if (row.Quantity is "f0" or "f0 (rounded values)" or "f0 with 15.8k, 17.8k")
                networks[row.Key] = static row => Resonance(Circuit.Example(row.Example)).Hertz;
            else if (row.Quantity is "Q" or "Q (rounded values)" or "Q with K=2.78")
                networks[row.Key] = static row => Resonance(Circuit.Example(row.Example)).Q;
            else if (row.Quantity.StartsWith("relative sensitivity of Q", StringComparison.Ordinal))
                networks[row.Key] = SensitivityOfQ;
            else if (row.Example == "D11")
                networks[row.Key] = SinglePoleSettling;
            else if (row.Example == "D12" && row.Quantity.StartsWith("second-order", StringComparison.Ordinal))
                networks[row.Key] = SecondOrderSettling;
        }

        networks["D1: corner frequency"] = static _ => Corner(Circuit.Example("D1"), 1, 1e5, Math.Sqrt(0.5));
        networks["D2: -3 dB frequency"] = static _ => Corner(Circuit.Example("D2"), 1, 1e5, Math.Sqrt(0.5));
        networks["D2: settling to 0.1 %"] = static _ => StepOf(Circuit.Example("D2")).SettlingTime(1e-3);
        networks["D2: settling to 1/2 LSB of 12 bits"] = static _ => StepOf(Circuit.Example("D2")).SettlingTime(Math.Pow(2, -13));
        networks["D2: integrated thermal noise at out, 298.15 K"] = static _ => TotalNoise(Circuit.Example("D2"), "out");
        networks["D5: step overshoot for Q=2"] = static _ => 100 * StepOf(SallenKey(1, 2)).Overshoot();
        // f0 goes as 1/R: what it would be with 1 Ω, over what it should be.
        networks["D6: R for 10 kHz Butterworth"] = static _ => Resonance(Circuit.Example("D6").Set("R1", 1).Set("R2", 1)).Hertz / 1e4;
        networks["D7: dc gain"] = static _ => Circuit.Example("D7").Voltage("out");
        networks["D8: lower -3 dB"] = static _ => Corner(Circuit.Example("D8"), 1, 49, Math.Sqrt(0.5));
        networks["D8: upper -3 dB"] = static _ => Corner(Circuit.Example("D8"), 51, 1e4, Math.Sqrt(0.5));
        networks["D8: residual at 50 Hz, R2 +1%"] = static _ => Decibels(Circuit.Example("D8", "R2=32149.298504562858"), 50);
        networks["D8: residual at 50 Hz, C3 +5%"] = static _ => Decibels(Circuit.Example("D8", "C3=210n"), 50);
        networks["D8: attenuation at 50 Hz with 31.6k/31.6k/15.8k"] = static _ => Decibels(Circuit.Example("D8", "R1=31.6k R2=31.6k R3=15.8k"), 50);
        networks["D8: Q with foot driven by 0.9*Vout"] = static _ =>
            50 / (Corner(DrivenTwinT(), 51, 1e4, Math.Sqrt(0.5)) - Corner(DrivenTwinT(), 1, 49, Math.Sqrt(0.5)));
        networks["D8: |H| at 49 Hz with foot driven by 0.9*Vout"] = static _ => Decibels(DrivenTwinT(), 49);
        foreach (int order in (int[])[1, 2, 4])
        {
            networks[$"D9: attenuation of 90 Hz alias (fs=100, fc=10), Butterworth order {order}"] =
                _ => -Decibels(Butterworth(order, 10), 90);
        }

        networks["D10: 1 % magnitude error frequency (fB=100k)"] = static _ => Corner(ClosedLoop(10, 1), 10, 1e6, 9.9);
        networks["D10: 5 deg phase error frequency"] = static _ => Find(ClosedLoop(10, 1), 10, 1e6, static value => -value.Phase * 180 / Math.PI, 5);
        networks["D10: two cascaded stages 31.6x, GBW 1 MHz"] = static _ => Corner(ClosedLoop(Math.Sqrt(1000), 2), 10, 1e6, 1000 * Math.Sqrt(0.5));
        networks["D10: gain for 20 kHz bandwidth, a0=2e5 fp=5 Hz"] = static _ => 10 * Corner(ClosedLoop(10, 1), 10, 1e6, 10 * Math.Sqrt(0.5)) / 20e3;
        networks["D10: inverting gain -10 bandwidth, GBW 1 MHz"] = static _ => Corner(Inverting(), 10, 1e6, 10 * Math.Sqrt(0.5));
        networks["D12: 10 Hz Butterworth overshoot"] = static _ => 100 * StepOf(Butterworth(2, 10)).Overshoot();
        foreach (AnswerRow row in ReferenceTables.Answers.Where(static row => row.Example == "G5"))
            networks[row.Key] = ChargeShare;
    }

    internal static SmallSignal Linearise(Circuit circuit)
    {
        circuit.Solve();
        return circuit.Solver.Linearise();
    }

    private static Probe Output(Circuit circuit, string node = "out") => Probe.Voltage(circuit.Node(node), circuit.Node("0"));

    private static Complex Response(Circuit circuit, double hertz, string source = "Vi") =>
        Linearise(circuit).Transfer(circuit.Slot(source), Output(circuit), hertz) * circuit[source];

    private static double Frequency(AnswerRow row)
    {
        string[] parts = row.Condition.Split('=');
        double value = ReferenceTables.Number(parts[1].Split(' ')[0]);
        Complex response = Response(Circuit.Example(row.Example), parts[0] == "f" ? value : value / (2 * Math.PI));
        return row.Unit == "deg" ? response.Phase * 180 / Math.PI : Complex.Abs(response);
    }

    private static double Decibels(Circuit circuit, double hertz) => 20 * Math.Log10(Complex.Abs(Response(circuit, hertz)));

    private static double Corner(Circuit circuit, double low, double high, double level) => Find(circuit, low, high, Complex.Abs, level);

    private static double Find(Circuit circuit, double low, double high, Func<Complex, double> figure, double level)
    {
        SmallSignal signal = Linearise(circuit);
        bool atLow = figure(signal.Transfer(circuit.Slot("Vi"), Output(circuit), low)) > level;
        for (int k = 0; k < 200; k++)
        {
            double middle = Math.Sqrt(low * high);
            if (figure(signal.Transfer(circuit.Slot("Vi"), Output(circuit), middle)) > level == atLow)
                low = middle;
            else
                high = middle;
        }

        return low;
    }

    private static (double Hertz, double Q) Resonance(Circuit circuit)
    {
        Complex pole = Linearise(circuit).Poles.First(static pole => pole.Imaginary != 0);
        double omega = Complex.Abs(pole);
        return (omega / (2 * Math.PI), omega / (-2 * pole.Real));
    }

    internal static StepResponse StepOf(Circuit circuit, string source = "Vi") =>
        Linearise(circuit).Step(circuit.Slot(source), 1, Output(circuit));

    private static double StepAt(AnswerRow row)
    {
        double seconds = ReferenceTables.Number(row.Condition[2..].Split(' ')[0]);
        return StepOf(row.Example == "D12" ? Butterworth(2, 10) : Circuit.Example(row.Example)).At(seconds);
    }

    private static double SensitivityOfQ(AnswerRow row)
    {
        string part = row.Quantity.Split(' ')[^1];
        Circuit circuit = row.Example == "D4" ? IdealGain() : IdealRatio();
        double value = circuit[part];
        double Q(double factor) => Resonance(circuit.Set(part, value * factor)).Q;
        double q = Q(1);
        double coarse = (Q(1.0002) - Q(0.9998)) / (4e-4 * q);
        double fine = (Q(1.0001) - Q(0.9999)) / (2e-4 * q);
        return ((4 * fine) - coarse) / 3;
    }

    /// <summary>D4's ideal design: K = 2.8, equal resistors and capacitors, Q = 5.</summary>
    private static Circuit IdealGain() => new Circuit()
        .Add("V", "Vi", ["in", "0"], 1).Add("R", "R1", ["in", "m"], 15.9155e3).Add("R", "R2", ["m", "p"], 15.9155e3)
        .Add("C", "C1", ["m", "out"], 10e-9).Add("C", "C2", ["p", "0"], 10e-9).Add("VCVS", "K", ["out", "0", "p", "0"], 2.8);

    /// <summary>D5's design before its parts were rounded: C1 = 20 C2 and Q = 2 ask for R1/R2 with m² − 3m + 1 = 0.</summary>
    private static Circuit IdealRatio() => Circuit.Example("D5").Set("R2", 2.2e3).Set("R1", 2.2e3 * (3 + Math.Sqrt(5)) / 2);

    /// <summary>Unity-gain Sallen–Key low-pass with equal resistors: the ratio of the capacitors is 4 Q².</summary>
    private static Circuit SallenKey(double omega, double q)
    {
        var circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1);
        AddSallenKey(circuit, "", "in", "out", omega, q);
        return circuit;
    }

    private static void AddSallenKey(Circuit circuit, string suffix, string input, string output, double omega, double q)
    {
        const double Ohms = 10e3;
        circuit.Add("R", "R1" + suffix, [input, "m" + suffix], Ohms).Add("R", "R2" + suffix, ["m" + suffix, "p" + suffix], Ohms)
            .Add("C", "C1" + suffix, ["m" + suffix, output], 2 * q / (Ohms * omega)).Add("C", "C2" + suffix, ["p" + suffix, "0"], 1 / (2 * q * Ohms * omega))
            .Add("OPAMP", "U" + suffix, ["p" + suffix, output, output]);
    }

    private static Circuit Butterworth(int order, double hertz)
    {
        double omega = 2 * Math.PI * hertz;
        if (order == 1)
            return new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("R", "R", ["in", "out"], 1e4).Add("C", "C", ["out", "0"], 1 / (1e4 * omega));
        if (order == 2)
            return SallenKey(omega, Math.Sqrt(0.5));
        var circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1);
        AddSallenKey(circuit, "a", "in", "half", omega, 0.5 / Math.Cos(Math.PI / 8));
        AddSallenKey(circuit, "b", "half", "out", omega, 0.5 / Math.Cos(3 * Math.PI / 8));
        return circuit;
    }

    private static Circuit DrivenTwinT()
    {
        const double Ohms = 31830.988618379067;
        return new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("R", "R1", ["in", "a"], Ohms).Add("R", "R2", ["a", "out"], Ohms)
            .Add("C", "C3", ["a", "foot"], 200e-9).Add("C", "C1", ["in", "b"], 100e-9).Add("C", "C2", ["b", "out"], 100e-9)
            .Add("R", "R3", ["b", "foot"], Ohms / 2).Add("VCVS", "K", ["foot", "0", "out", "0"], 0.9);
    }

    /// <summary>Non-inverting stages of one gain-bandwidth product, 1 MHz.</summary>
    private static Circuit ClosedLoop(double gain, int stages)
    {
        var circuit = new Circuit().Add("V", "Vi", ["s0", "0"], 1);
        for (int k = 0; k < stages; k++)
        {
            string output = k == stages - 1 ? "out" : $"s{k + 1}";
            circuit.Add("R", $"RA{k}", [$"m{k}", "0"], 1e3).Add("R", $"RB{k}", [$"m{k}", output], 1e3 * (gain - 1))
                .Add("OPAMP", $"U{k}", [$"s{k}", $"m{k}", output]).Set($"U{k}", 1e6, (int)OpAmpSlot.GainBandwidth);
        }

        return circuit;
    }

    private static Circuit Inverting() => new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("R", "R1", ["in", "m"], 1e3).Add("R", "R2", ["m", "out"], 10e3)
        .Add("OPAMP", "U1", ["0", "m", "out"]).Set("U1", 1e6, (int)OpAmpSlot.GainBandwidth);

    private static double Band(string text)
    {
        if (text.Contains('%', StringComparison.Ordinal))
            return ReferenceTables.Number(text.Split('%')[0].Trim().Split(' ')[^1]) / 100;
        int bits = int.Parse(text.Split("LSB")[1].Replace("of", "", StringComparison.Ordinal).Replace("bits", "", StringComparison.Ordinal).Replace("bit", "", StringComparison.Ordinal).Trim(), CultureInfo.InvariantCulture);
        return Math.Pow(2, -bits) * (text.Contains("1/4", StringComparison.Ordinal) ? 0.25 : 0.5);
    }

    private static double SinglePoleSettling(AnswerRow row)
    {
        static double Settle(double ohms, double farads, double band) => StepOf(new Circuit().Add("V", "Vi", ["in", "0"], 1)
            .Add("R", "R", ["in", "out"], ohms).Add("C", "C", ["out", "0"], farads)).SettlingTime(band);
        if (row.Quantity.StartsWith("minimum sample time", StringComparison.Ordinal))
            return Settle(12e3, 40e-12, Math.Pow(2, -13)) + 800e-9;
        return row.Quantity.StartsWith("settle to 1/4", StringComparison.Ordinal)
            ? Settle(1e3, 120e-12, Math.Pow(2, -14))
            : Settle(1e3, 1e-9, Band(row.Quantity.Split(" to ")[1])) / 1e-6;
    }

    private static double SecondOrderSettling(AnswerRow row)
    {
        string q = row.Quantity.Split("Q=")[1].Split(' ')[0];
        // The table prints 1/√2 and 1/√3 to four and five digits.
        double value = q switch { "0.7071" => Math.Sqrt(0.5), "0.57735" => 1 / Math.Sqrt(3), _ => ReferenceTables.Number(q) };
        return StepOf(SallenKey(1, value)).SettlingTime(Band(row.Quantity.Contains("0.1 %", StringComparison.Ordinal) ? "0.1 %" : row.Quantity[row.Quantity.IndexOf("1/2", StringComparison.Ordinal)..]));
    }

    /// <summary>The charge that the sampling capacitor takes is what a capacitive divider loses.</summary>
    private static double ChargeShare(AnswerRow row)
    {
        string[] words = row.Quantity.Split(' ');
        double reservoir = ReferenceTables.Number(words[^2]) * (words[^1] == "nF" ? 1e-9 : 1e-6);
        Circuit circuit = new Circuit().Add("V", "Vi", ["in", "0"], 1).Add("C", "CR", ["in", "out"], reservoir).Add("C", "CS", ["out", "0"], 40e-12);
        return 4096 * (1 - Complex.Abs(Response(circuit, 1e6)));
    }
}
