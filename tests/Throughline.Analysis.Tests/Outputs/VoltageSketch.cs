namespace Throughline.Analysis.Tests.Outputs;

/// <summary>A voltage output of few parts, whose figures can be worked by hand: an amplifier without errors makes four times the converter's 2.5 V.</summary>
internal static class VoltageSketch
{
    /// <param name="amplifier">Figures of the amplifier.</param>
    /// <param name="behind">Resistance between the place where the feedback is taken and the terminal.</param>
    /// <param name="output">Further keys of the output, each on a line of its own.</param>
    /// <param name="scale">Ends of the scale.</param>
    public static string Text(
        string amplifier = "{ gain: 140 dB }", string behind = "1 mΩ", string supply = "24 V ±15 %", string load = "10 kΩ .. 1 MΩ", string output = "", string scale = "{ 0 kPa: 0 V, 100 kPa: 10 V }",
        string limits = "{ over: 10.2 V, failure: 11 V }", string ambient = "25 °C", string further = "") => $$"""
        instrument: Voltage
        specification: { measurand: pressure, unit: kPa, range: 0 .. 100 kPa, display: { step: 0.1 kPa }, output: { error: ±1 % of span }, ambient: {{ambient}} }
        supplies:
          P: { kind: dc, voltage: {{supply}}, return: 0V }
        {{Corpus.Sketch.Pressure(arithmetic: further)}}
          - writing: { kind: dac, output: dac, bits: 16, reference: 3 V }
          - driver:
              parts:
                U1: { op amp: {{amplifier}}, plus: dac, minus: back, out: drive, supply: [P, 0V] }
                R2: { resistor: 10 kΩ, between: [back, 0V] }
                R3: { resistor: 30 kΩ, between: [back, drive] }
                R4: { resistor: {{behind}}, between: [drive, out] }
              from: dac
              to: [out, 0V]
              intent: { 0.25 V: 1 V ±20 mV, 2.5 V: 10 V ±20 mV }
        voltage output:
          between: [out, 0V]
          scale: {{scale}}
          limits: {{limits}}
          load: {{load}}
          {{output}}
        """;
}
