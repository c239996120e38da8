using System.Globalization;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>Small instruments about a tree of supplies.</summary>
internal static class Trees
{
    /// <summary>An instrument with further supplies beside <c>input</c> (24 V) and further parts.</summary>
    public static string Text(string supplies, string parts = "", string input = "kind: dc, voltage: 24 V, return: 0V") => $$"""
        instrument: Tree
        specification: { measurand: pressure, range: 0 .. 100 kPa, display: { step: 0.1 kPa, error: ±1 kPa }, ambient: 0 .. 50 °C }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 2 V }, between: [s, 0V] }
        supplies:
          input: { {{input}} }
          {{supplies.Replace("\n", "\n  ", StringComparison.Ordinal)}}
        stages:
          - input:
              parts:
                RS: { resistor: 100 kΩ, between: [s, adc] }
                RL: { resistor: 100 kΩ, between: [adc, 0V] }
                {{parts.Replace("\n", "\n        ", StringComparison.Ordinal)}}
              from: [s, 0V]
              to: adc
              intent: { 0 V: 0 V, 2 V: 1 V }
          - reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V }
          - arithmetic: { from: reading, to: measurand }
        """;

    public static Instrument Instrument(string supplies, string parts = "") => Sketch.Read(Text(supplies, parts));

    public static SupplyReport Report(string supplies, string parts = "") => Reviewer.Supplies(Instrument(supplies, parts))!;

    public static RailPoint Rail(SupplyPoint? point, string name) => point!.Rails.Single(r => r.Supply.Name.Value == name);

    /// <summary>A tree of up to nine supplies of every kind with a resistor and a draw on each; its resistors by their rail.</summary>
    public static (string Supplies, string Parts, Dictionary<string, double> Ohms) Random(int seed)
    {
        Random random = new(seed);
        List<(string Name, double Volts, string Return)> rails = [("input", 24, "0V")];
        List<string> supplies = [];
        List<string> parts = [];
        Dictionary<string, double> ohms = [];
        int count = random.Next(2, 10);
        for (int i = 0; i < count; i++)
        {
            (string from, double input, string back) = rails[random.Next(rails.Count)];
            string name = string.Create(CultureInfo.InvariantCulture, $"S{i}");
            double volts = Math.Round(input * (0.3 + (0.5 * random.NextDouble())), 2);
            string own = "";
            string kind = random.Next(7) switch
            {
                0 => "linear regulator",
                1 => "switching converter",
                2 => "isolated converter",
                3 => "charge pump",
                4 => "protection diode",
                5 => "fuse",
                _ => "voltage reference",
            };
            switch (kind)
            {
                case "protection diode":
                    own = ", drop: 0.4 V";
                    volts = input;
                    break;
                case "fuse":
                    own = ", resistance: 1.5 Ω";
                    volts = input;
                    break;
                case "isolated converter":
                    back = name + "-return";
                    own = Invariant($", voltage: {volts} V, efficiency: {50 + random.Next(50)} %, quiescent: {random.Next(5)} mA, return: {back}");
                    break;
                case "charge pump":
                    volts = -input;
                    own = Invariant($", voltage: {volts} V, output resistance: {5 + random.Next(60)} Ω, quiescent: 0.2 mA");
                    break;
                case "switching converter":
                    volts = random.Next(2) == 0 ? volts : -volts;
                    own = Invariant($", voltage: {volts} V, efficiency: {50 + random.Next(50)} %, quiescent: {random.Next(5)} mA");
                    break;
                default:
                    own = Invariant($", voltage: {volts} V, quiescent: {random.Next(5)} mA");
                    break;
            }

            double load = 5000 + random.Next(20000);
            ohms[name] = load;
            supplies.Add(Invariant($"{name}: {{ kind: {kind}, from: {from}{own}, draws: {{ load: {random.Next(4)} mA typ 4 mA max }} }}"));
            parts.Add(Invariant($"RR{i}: {{ resistor: {load} Ω, between: [{name}, {back}] }}"));
            rails.Add((name, volts, back));
        }

        return (string.Join("\n", supplies), string.Join("\n", parts), ohms);

        static string Invariant(FormattableString text) => FormattableString.Invariant(text);
    }
}
