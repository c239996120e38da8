namespace Throughline.Circuits.Tests;

/// <summary>The networks behind the rows of answers.csv that its element file does not give whole.</summary>
internal static partial class ExampleNetworks
{
    private static readonly Dictionary<string, Func<AnswerRow, double>> Networks = CreateNetworks();

    /// <summary>Rows that are no network, by the beginning of their key, and why.</summary>
    public static Dictionary<string, string> NotNetworks { get; } = new()
    {
        ["A17: tolerance for 80 dB"] = "a rule of thumb turned round",
        ["B2: worst |Ro| 1% (rule"] = "a rule of thumb; the exact corner is solved",
        ["B2: tolerance for 50 Mohm"] = "a rule of thumb turned round",
        ["B6: "] = "a transmitter's stated transfer formula",
        ["B7: largest transistor dissipation"] = "a product of two ratings",
        ["C6: bias current"] = "a rule for the growth of a leakage with temperature",
        ["D8: R for 50 Hz"] = "the rule R = 1/(2πfC) itself",
        ["D9: attenuation for 1/2 LSB"] = "a count of bits in decibels",
        ["D10: full-power bandwidth"] = "a slew rate over an amplitude",
        ["E3: "] = "a piecewise spectrum that no network is given for",
        ["E12: "] = "an approximate model, flat between corners",
        ["G2: "] = "quantisation: a converter's arithmetic",
        ["G3: "] = "code widths: a converter's arithmetic",
        ["G6: "] = "a sum of stated errors",
        ["G7: "] = "oversampling: a converter's arithmetic",
        ["H1: "] = "heat: the laws of the supplies, tested with them",
        ["H2: "] = "heat: the laws of the supplies, tested with them",
        ["H3: "] = "heat: the laws of the supplies, tested with them",
        ["H4: "] = "efficiency: the laws of the supplies, tested with them",
        ["H5: "] = "charge pump: the laws of the supplies, tested with them",
        ["H6: "] = "data-sheet figures divided; the rejection is tested with the laws of the supplies",
    };

    public static bool IsNetwork(AnswerRow row) => !NotNetworks.Keys.Any(key => row.Key.StartsWith(key, StringComparison.Ordinal));

    public static double Compute(AnswerRow row) => (Find(row) ?? throw new InvalidOperationException($"No network answers {row.Key}."))(row);

    /// <summary>Rows whose published rule is first order in an error are met to that order only.</summary>
    public static double Tolerance(AnswerRow row) => row.Example switch
    {
        // The rule leaves out the square of the common-mode error: 6e-4 at 57 dB, 1.4e-5 at 90 dB.
        "A20" when row.Quantity.Contains("57 dB", StringComparison.Ordinal) => 1e-3,
        "A20" when row.Quantity.Contains("CMRR", StringComparison.Ordinal) => 2e-5,
        // The closed form leaves the saturation current out beside the base current: 1e-18 A of 1e-4 A, and the rounding of the published 12 digits.
        "C9" => 1e-9,
        // Beside a band of 3e-8 the rounding of 1 is 4e-9 of the band, and that in the exponent.
        "D11" when row.Quantity.Contains("24 bits", StringComparison.Ordinal) => 1e-9,
        // Richardson's extrapolation of differences over 2e-4 of the part.
        "D4" or "D5" when row.Quantity.StartsWith("relative sensitivity", StringComparison.Ordinal) => 1e-8,
        // The book ends the 1/f part where the white one ends, the network lets it fall with the pole.
        "E4" when row.Quantity.Contains("exact", StringComparison.Ordinal) => 2e-7,
        // The book takes 1.57 for π/2 in every bandwidth: 2.5e-4 of an amplitude, twice that in a resistance.
        "E4" => 3e-4,
        "E5" => 6e-4,
        // The rule leaves out the square of the common-mode error, as above.
        "H7" when row.Quantity.Contains("self-regulated", StringComparison.Ordinal) => 2e-5,
        _ => row.RelativeTolerance,
    };

    private static Func<AnswerRow, double>? Find(AnswerRow row)
    {
        if (Networks.TryGetValue(row.Key, out Func<AnswerRow, double>? network) || Networks.TryGetValue($"{row.Example}: {row.Quantity}", out network)
            || Networks.TryGetValue(row.Example, out network))
        {
            return network;
        }

        return row.Probe.Length > 0 && ReferenceTables.Elements.Any(element => element.Example == row.Example) ? FromElementFile : null;
    }

    private static double FromElementFile(AnswerRow row)
    {
        string condition = row.Condition is "gain->infinity" or "any RL" ? "" : row.Condition;
        Circuit circuit = Circuit.Example(row.Example, condition);
        if (row.Condition == "gain->infinity")
            circuit.Set("A", 1e18);
        if (row.Probe == "I into Vload")
            return -circuit.Current("Vload");
        // "I(R5) A to B" names the direction that the element file already has.
        string probe = row.Probe.Contains('(', StringComparison.Ordinal) && row.Probe.Contains(" to ", StringComparison.Ordinal)
            ? row.Probe[..row.Probe.IndexOf(' ', StringComparison.Ordinal)]
            : row.Probe;
        return new Expression(probe, node => circuit.Voltage(node), name => Current(circuit, name), name => circuit[name]).Evaluate();
    }

    /// <summary>The table counts every current in the direction in which it flows.</summary>
    private static double Current(Circuit circuit, string name) => Math.Abs(circuit.Current(name));

    /// <summary>Resistance seen by a source or load: slope of its voltage against its current.</summary>
    private static double Slope(Circuit circuit, string source, Func<double> reading)
    {
        double low = circuit[source];
        double first = reading();
        circuit.Set(source, low + 1);
        double second = reading();
        circuit.Set(source, low);
        return second - first;
    }

    /// <summary>Greatest of a figure over every combination of the named parts moved by ± a fraction.</summary>
    private static double Worst(Circuit circuit, string[] parts, double fraction, Func<Circuit, double> figure, bool smallest)
    {
        double worst = smallest ? double.PositiveInfinity : double.NegativeInfinity;
        double[] nominal = [.. parts.Select(part => circuit[part])];
        for (int corner = 0; corner < 1 << parts.Length; corner++)
        {
            for (int k = 0; k < parts.Length; k++)
                circuit.Set(parts[k], nominal[k] * (1 + ((corner >> k & 1) == 1 ? fraction : -fraction)));
            double value = figure(circuit);
            worst = smallest ? Math.Min(worst, value) : Math.Max(worst, value);
        }

        for (int k = 0; k < parts.Length; k++)
            circuit.Set(parts[k], nominal[k]);
        return worst;
    }
}
