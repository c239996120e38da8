using System.Globalization;

namespace Throughline.Circuits.Tests;

/// <summary>Nonlinear networks that a solver must settle: clamps, transistor outputs, saturated amplifiers, diodes back to back, extreme values.</summary>
internal static class NonlinearSet
{
    private static readonly double[] Ohms = [1e-3, 1, 100, 10e3, 1e6, 100e6, 10e12];

    public static IEnumerable<(string Name, Circuit Circuit)> All() =>
    [
        .. Clamps(), .. BackToBack(), .. Bridges(), .. Sinks(), .. HighSideSources(), .. Saturated(), .. Comparators(), .. Rectifiers(), .. LogAmplifiers(),
        .. Mirrors(), .. Buffers(), .. Limiters(), .. Chains(), .. BreakdownStrings(), .. Pairs(),
    ];

    private static string Label(string family, params double[] numbers) =>
        family + " " + string.Join(" ", numbers.Select(static number => number.ToString("G4", CultureInfo.InvariantCulture)));

    private static IEnumerable<(string, Circuit)> Clamps() =>
        from volts in (double[])[-1000, -5, 0, 2, 12, 1000]
        from ohms in Ohms
        select (Label("clamp", volts, ohms), new Circuit()
            .Add("V", "VS", ["s", "0"], volts).Add("V", "VC", ["c", "0"], 5).Add("R", "R1", ["s", "x"], ohms)
            .Add("D", "D1", ["x", "c"], 1e-9).Set("D1", 1.9, 1).Set("D1", 0.5, 2).Add("D", "D2", ["0", "x"], 1e-9).Set("D2", 1.9, 1).Set("D2", 0.5, 2)
            .Add("R", "R2", ["x", "0"], 10e12));

    private static IEnumerable<(string, Circuit)> BackToBack() =>
        from volts in (double[])[-30, -0.3, 0, 0.3, 30]
        from ohms in (double[])[1, 10e3, 1e9]
        from isSeries in (bool[])[true, false]
        select (Label(isSeries ? "series diodes" : "parallel diodes", volts, ohms), new Circuit()
            .Add("V", "VS", ["s", "0"], volts).Add("R", "R1", ["s", "x"], ohms)
            .Add("D", "D1", isSeries ? ["x", "y"] : ["x", "0"], 1e-14)
            .Add("D", "D2", isSeries ? ["0", "y"] : ["0", "x"], 1e-12));

    private static IEnumerable<(string, Circuit)> Bridges() =>
        from volts in (double[])[-24, -0.5, 0, 10, 24]
        from ohms in (double[])[10, 1e3, 1e6]
        select (Label("bridge rectifier", volts, ohms), new Circuit()
            .Add("V", "VS", ["p", "0"], volts).Add("D", "D1", ["p", "a"], 1e-12).Add("D", "D2", ["0", "a"], 1e-12)
            .Add("D", "D3", ["b", "p"], 1e-12).Add("D", "D4", ["b", "0"], 1e-12).Add("R", "RL", ["a", "b"], ohms));

    private static IEnumerable<(string, Circuit)> Sinks() =>
        from volts in (double[])[0, 0.4, 1.1, 2, 2.2]
        from load in (double[])[0, 250, 500, 1e4]
        from supply in (double[])[10.8, 24]
        from stated in (double[])[0, 0.3]
        select (Label("npn sink", volts, load, supply, stated), new Circuit()
            .Add("V", "VI", ["in", "0"], volts).Add("V", "VP", ["vp", "0"], supply).Add("R", "RE", ["e", "0"], 100).Add("R", "RL", ["vp", "c"], load)
            .Add("OPAMP", "U1", ["in", "e", "b", "vp", "0"]).Set("U1", 1.5, (int)OpAmpSlot.SwingBelowPositive).Set("U1", 0.05, (int)OpAmpSlot.SwingAboveNegative)
            .Set("U1", 0.01, (int)OpAmpSlot.SourceCurrent).Set("U1", 0.01, (int)OpAmpSlot.SinkCurrent)
            .Add("NPN", "Q1", ["c", "b", "e"], 1e-14).Set("Q1", stated, 3));

    private static IEnumerable<(string, Circuit)> HighSideSources() =>
        from volts in (double[])[0.01, 0.4, 2]
        from load in (double[])[0, 250, 2e3]
        select (Label("pnp source", volts, load), new Circuit()
            .Add("V", "VP", ["vp", "0"], 24).Add("V", "VI", ["vp", "ref"], volts).Add("R", "RS", ["vp", "e"], 100).Add("R", "RB", ["b", "o"], 1e3)
            .Add("OPAMP", "U1", ["ref", "e", "o", "vp", "0"]).Add("PNP", "Q1", ["c", "b", "e"], 1e-14).Add("R", "RL", ["c", "0"], load));

    private static IEnumerable<(string, Circuit)> Saturated() =>
        from volts in (double[])[-3, -0.1, 0, 0.1, 3]
        from load in (double[])[1, 600, 1e6]
        from gain in (double[])[1e5, double.PositiveInfinity]
        select (Label("saturated amplifier", volts, load, gain), Amplifier("U1", new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12)
            .Add("V", "VI", ["in", "0"], volts).Add("R", "R1", ["m", "0"], 1e3).Add("R", "R2", ["m", "o"], 9e3).Add("R", "RL", ["o", "0"], load), ["in", "m", "o", "vp", "vn"], gain));

    private static IEnumerable<(string, Circuit)> Comparators() =>
        from volts in (double[])[-1, -1e-6, 1e-6, 1]
        from gain in (double[])[1e5, double.PositiveInfinity]
        select (Label("comparator", volts, gain), Amplifier("U1", new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("V", "VI", ["in", "0"], volts)
            .Add("R", "RL", ["o", "0"], 1e3), ["in", "0", "o", "vp", "0"], gain));

    private static IEnumerable<(string, Circuit)> Rectifiers() =>
        from volts in (double[])[-2, -1e-3, 0, 1e-3, 2]
        from gain in (double[])[1e5, double.PositiveInfinity]
        select (Label("precision rectifier", volts, gain), Amplifier("U1", new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12)
            .Add("V", "VI", ["in", "0"], volts).Add("D", "D1", ["o", "x"], 1e-14).Add("R", "RL", ["x", "0"], 1e4), ["in", "x", "o", "vp", "vn"], gain));

    private static IEnumerable<(string, Circuit)> LogAmplifiers() =>
        from amperes in (double[])[1e-12, 1e-9, 1e-6, 1e-3]
        from isTransistor in (bool[])[true, false]
        select (Label(isTransistor ? "log amplifier, transistor" : "log amplifier, diode", amperes), Log(amperes, isTransistor));

    private static Circuit Log(double amperes, bool isTransistor)
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12).Add("I", "I1", ["0", "m"], amperes).Add("R", "R1", ["m", "0"], 1e12);
        circuit.Add("OPAMP", "U1", ["0", "m", "o", "vp", "vn"]);
        return isTransistor ? circuit.Add("NPN", "Q1", ["m", "0", "o"], 1e-14) : circuit.Add("D", "D1", ["m", "o"], 1e-14);
    }

    private static IEnumerable<(string, Circuit)> Mirrors() =>
        from ohms in (double[])[1, 1e3, 1e6, 1e9]
        from load in (double[])[0, 1e4]
        select (Label("current mirror", ohms, load), new Circuit().Add("V", "VP", ["vp", "0"], 15).Add("R", "R1", ["vp", "b"], ohms)
            .Add("NPN", "Q1", ["b", "b", "0"], 1e-15).Add("NPN", "Q2", ["c", "b", "0"], 1e-15).Add("R", "RL", ["vp", "c"], load));

    private static IEnumerable<(string, Circuit)> Buffers() =>
        from volts in (double[])[-9, -1, 0, 1, 9]
        from load in (double[])[10, 1e3]
        select (Label("complementary buffer", volts, load), new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12)
            .Add("V", "VI", ["in", "0"], volts).Add("OPAMP", "U1", ["in", "x", "o", "vp", "vn"])
            .Add("NPN", "Q1", ["vp", "o", "x"], 1e-14).Add("PNP", "Q2", ["vn", "o", "x"], 1e-14).Add("R", "RL", ["x", "0"], load));

    /// <summary>Two transistors that hold a current by each other's base–emitter voltage.</summary>
    private static IEnumerable<(string, Circuit)> Limiters() =>
        from load in (double[])[0, 100, 1e3, 1e5]
        select (Label("two-transistor limiter", load), new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("R", "RB", ["vp", "b"], 10e3)
            .Add("NPN", "Q1", ["c", "b", "e"], 1e-14).Add("NPN", "Q2", ["b", "e", "0"], 1e-14).Add("R", "RE", ["e", "0"], 33).Add("R", "RL", ["vp", "c"], load));

    /// <summary>Three stages, the first of which drives the others into their limits.</summary>
    private static IEnumerable<(string, Circuit)> Chains() =>
        from volts in (double[])[-0.5, 0.01, 0.3, 2]
        from gain in (double[])[2e4, double.PositiveInfinity]
        select (Label("three stages", volts, gain), Chain(volts, gain));

    private static Circuit Chain(double volts, double gain)
    {
        Circuit circuit = new Circuit().Add("V", "VP", ["vp", "0"], 5).Add("V", "VI", ["s0", "0"], volts);
        for (int k = 0; k < 3; k++)
        {
            string input = $"s{k}";
            string output = $"s{k + 1}";
            string minus = $"m{k}";
            circuit.Add("R", $"RA{k}", [minus, "0"], 1e3).Add("R", $"RB{k}", [minus, output], 4e3);
            Amplifier($"U{k}", circuit, [input, minus, output, "vp", "0"], gain);
            circuit.Set($"U{k}", 0.02, (int)OpAmpSlot.SourceCurrent).Set($"U{k}", 0.02, (int)OpAmpSlot.SinkCurrent);
        }

        return circuit;
    }

    private static IEnumerable<(string, Circuit)> BreakdownStrings() =>
        from volts in (double[])[-200, -12, 3, 12, 200]
        from ohms in (double[])[10, 1e4]
        select (Label("breakdown", volts, ohms), new Circuit().Add("V", "VS", ["s", "0"], volts).Add("R", "R1", ["s", "x"], ohms)
            .Add("D", "D1", ["0", "x"], 1e-14).Set("D1", 5.1, (int)DiodeSlot.Breakdown).Set("D1", 2, (int)DiodeSlot.SeriesResistance).Add("D", "D2", ["y", "x"], 1e-14)
            .Set("D2", 33, (int)DiodeSlot.Breakdown).Add("R", "R2", ["y", "0"], 1e3));

    private static IEnumerable<(string, Circuit)> Pairs() =>
        from volts in (double[])[-1, -0.01, 0, 0.01, 1]
        select (Label("differential pair", volts), new Circuit().Add("V", "VP", ["vp", "0"], 12).Add("V", "VN", ["vn", "0"], -12).Add("V", "VI", ["a", "0"], volts)
            .Add("NPN", "Q1", ["c", "a", "e"], 1e-14).Add("NPN", "Q2", ["d", "0", "e"], 1e-14).Add("R", "R1", ["vp", "c"], 10e3).Add("R", "R2", ["vp", "d"], 10e3)
            .Add("R", "RE", ["e", "vn"], 10e3));

    private static Circuit Amplifier(string name, Circuit circuit, string[] nodes, double gain) => circuit.Add("OPAMP", name, nodes).Set(name, gain)
        .Set(name, 1, (int)OpAmpSlot.SwingBelowPositive).Set(name, 0.1, (int)OpAmpSlot.SwingAboveNegative)
        .Set(name, 0.025, (int)OpAmpSlot.SourceCurrent).Set(name, 0.02, (int)OpAmpSlot.SinkCurrent)
        .Set(name, 1e-3, (int)OpAmpSlot.Offset).Set(name, 1e-9, (int)OpAmpSlot.BiasPlus).Set(name, 2e-9, (int)OpAmpSlot.BiasMinus)
        .Set(name, 1e-3, (int)OpAmpSlot.SupplyCurrent).Set(name, 1e-4, (int)OpAmpSlot.CommonModeError);
}
