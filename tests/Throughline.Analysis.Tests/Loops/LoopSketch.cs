namespace Throughline.Analysis.Tests.Loops;

/// <summary>A loop of few parts, whose figures can be worked by hand.</summary>
internal static class LoopSketch
{
    /// <summary>
    /// A sink fed from outside: operational amplifier without errors, transistor of gain 100 000 that keeps 0.3 V, 100 Ω in its emitter. It passes at most
    /// (V − 0.3 V) / (R + 100 Ω).
    /// </summary>
    /// <param name="loop">Further keys of the loop.</param>
    /// <param name="transistor">Further figures of the transistor, with a comma in front.</param>
    /// <param name="supply">The loop's supply.</param>
    /// <param name="dac">Further figures of the output converter, with a comma in front.</param>
    /// <param name="series">A part between the terminal and the collector; its nodes are loop+ and c.</param>
    public static string Sink(
        string loop = "", string transistor = "", string supply = "24 V ±10 %", string dac = "", string load = "0 .. 250 Ω", string series = "W2: { link: [loop+, c] }",
        string ambient = "25 °C", string test = "1 .. 22 mA", string limits = "{ under: 3.8 mA, over: 20.5 mA, failure: 21 mA }") => $$"""
        instrument: Sink
        specification: { measurand: pressure, unit: kPa, range: 0 .. 100 kPa, display: { step: 0.1 kPa }, loop: { error: ±1 % of span }, ambient: {{ambient}} }
        supplies:
          A5: { kind: dc, voltage: 5.0 V, return: 0V }
        {{Corpus.Sketch.Pressure()}}
          - writing: { kind: dac, output: dac, bits: 14, reference: 2.5 V{{dac}} }
          - output:
              parts:
                U1: { op amp: { bias current: 0 A, input range: { below positive: 1.5 V, above negative: 0 V }, output swing: { below positive: 50 mV, above negative: 20 mV } }, plus: dac, minus: sense, out: drive, supply: [A5, 0V] }
                R2: { resistor: 1 kΩ, between: [drive, base] }
                {{series}}
                Q1: { transistor: { polarity: npn, current gain: 100000, saturation voltage: 0.3 V{{transistor}} }, collector: c, base: base, emitter: sense }
                R3: { resistor: 100 Ω, between: [sense, loop-] }
                W1: { link: [loop-, 0V] }
              from: dac
              to: loop
              intent: { 0.4 V: 4 mA ±20 µA, 2.0 V: 20 mA ±20 µA }
        loop:
          through: [loop+, loop-]
          scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }
          limits: {{limits}}
          test: {{test}}
          load: {{load}}
          supply: {{supply}}
          {{loop}}
        """;
}
