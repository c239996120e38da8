using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Corpus;

/// <summary>Small instruments written for one test each.</summary>
internal static class Sketch
{
    /// <summary>Reads a text that has to be readable.</summary>
    public static Instrument Read(string text)
    {
        Parsed<Instrument> read = InstrumentReader.ReadText("sketch.yaml", text);
        Assert.True(read.Diagnostics.IsEmpty, string.Join("\n", read.Diagnostics.Select(d => $"{d.Span.Line}: {d.Message} {d.Found}")) + "\n" + text);
        return read.Value!;
    }

    public static Finding Finding(Instrument instrument, string check, string? subject = null) =>
        Assert.Single(Reviewer.Review(instrument).Findings, f => f.Check == check && (subject is null || f.Subject == subject));

    public static double Figure(Finding finding, string name) => Assert.Single(finding.Figures, f => f.Name == name).Value;

    /// <summary>Sensor, first stage, converter and arithmetic of 0 to 100 kPa as 0.5 to 2 V, without error; the stages of an output go on behind it.</summary>
    /// <param name="arithmetic">Further keys of the arithmetic, with a comma in front.</param>
    public static string Pressure(int bits = 12, string arithmetic = "") => $$"""
        sensor: { kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 2.0 V }, between: [s, 0V] }
        stages:
          - input:
              parts:
                R9: { resistor: 1 kΩ, between: [s, adc] }
              from: [s, 0V]
              to: adc
              intent: { 0.5 V: 0.5 V, 2.0 V: 2.0 V }
          - reading: { kind: adc, input: adc, bits: {{bits}}, reference: 2.5 V }
          - arithmetic: { from: reading, to: measurand{{arithmetic}} }
        """;

    /// <summary>A pressure sensor of 0 to 1 V behind a divider, 12 bits of 2.5 V, and a loop by a sense resistor; pieces can be put in each part.</summary>
    public static string Divider(
        string upper = "10 kΩ", string lower = "10 kΩ", string intent = "{ 0 V: 0 V, 1 V: 0.5 V }", string supply = "5 V", string adc = "reference: 2.5 V", string more = "") => $$"""
        instrument: Divider
        specification: { measurand: pressure, range: 0 .. 100 kPa, display: { step: 0.1 kPa, error: ±1 kPa } }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 1 V }, between: [s, 0V] }
        supplies:
          A5: { kind: dc, voltage: {{supply}}, return: 0V }
        stages:
          - input:
              parts:
                R1: { resistor: {{upper}}, between: [s, adc] }
                R2: { resistor: {{lower}}, between: [adc, 0V] }
                R3: { resistor: 10 kΩ, between: [A5, 0V] }
              from: [s, 0V]
              to: adc
              intent: {{intent}}
              test points: { TP1: adc }
          - reading: { kind: adc, input: adc, bits: 12, {{adc}} }
          - arithmetic: { from: reading, to: measurand }
        {{more}}
        """;
}
