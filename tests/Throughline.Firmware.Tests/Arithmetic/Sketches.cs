using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>Instruments that the tests of the arithmetic share.</summary>
internal static class Sketches
{
    public static readonly string[] Demos = ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", "duct-temperature"];

    /// <summary>Those that keep settings: the user of the others calibrates nothing.</summary>
    public static readonly string[] DemosWithMemory = [.. Demos.Where(name => Demo(name).Memory is not null)];

    public static Instrument Demo(string name) => Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", name, "instrument.yaml")).Value);

    /// <summary>A demo, or one of the sketches.</summary>
    public static Instrument Named(string name) => name switch
    {
        "platinum" => Platinum(),
        "wide" => Platinum(", words: 64 bit"),
        "truncating" => Platinum(", divisions: truncate"),
        "turning" => Couple("B", "400 .. 1800 °C", "1 °C"),
        "couple" => Couple("K", "−100 .. 1200 °C"),
        _ => Demo(name),
    };

    public static Instrument Read(string text)
    {
        Parsed<Instrument> read = InstrumentReader.ReadText("sketch.yaml", text);
        Assert.True(read.Diagnostics.IsEmpty, string.Join("\n", read.Diagnostics.Select(d => $"{d.Span.Line}: {d.Message} {d.Found}")) + "\n" + text);
        return read.Value!;
    }

    /// <summary>A platinum thermometer whose code is its resistance: 24 bits for 0 to 400 Ω.</summary>
    public static Instrument Platinum(string arithmetic = "") => Read($$"""
        instrument: Platinum
        specification: { measurand: temperature, unit: °C, range: −200 .. 800 °C, display: { step: 0.1 °C, error: ±1 °C } }
        sensor: { kind: platinum resistance, element: Pt100, wires: 2, between: [s, 0V] }
        supplies:
          A5: { kind: dc, voltage: 5 V, return: 0V }
        stages:
          - input:
              parts: { R1: { resistor: 1 kΩ, between: [A5, s] } }
              from: [s, 0V]
              to: s
          - reading: { kind: adc, input: s, bits: 24, reference: 5 V }
          - arithmetic: { from: reading, scaling: { 0: 0 Ω, 16777215: 400 Ω } {{arithmetic}} }
        """);

    /// <summary>A thermocouple whose code is its voltage: 24 bits for −10 to 80 mV, terminals measured.</summary>
    public static Instrument Couple(string type, string range, string step = "0.1 °C") => Read($$"""
        instrument: Couple
        specification: { measurand: temperature, unit: °C, range: {{range}}, ambient: 0 .. 50 °C, display: { step: {{step}}, error: ±1 °C } }
        sensor: { kind: thermocouple, type: {{type}}, cold junction: { measured: true }, between: [s, 0V] }
        supplies:
          A5: { kind: dc, voltage: 5 V, return: 0V }
        stages:
          - input:
              parts: { R1: { resistor: 1 MΩ, between: [A5, s] } }
              from: [s, 0V]
              to: s
          - reading: { kind: adc, input: s, bits: 24, reference: 5 V }
          - arithmetic: { from: reading, scaling: { 0: −10 mV, 16777215: 80 mV }, words: 64 bit }
        """);
}
