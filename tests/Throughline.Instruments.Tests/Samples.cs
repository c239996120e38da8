using System.Collections.Immutable;
using Throughline.Testing;

namespace Throughline.Instruments.Tests;

/// <summary>Instrument files to read and to spoil.</summary>
internal static class Samples
{
    /// <summary>A small sound instrument that uses most of what may be said.</summary>
    public const string Small = """
        instrument: Pressure transmitter
        revision: 2
        specification:
          measurand: pressure
          range: 0 .. 100 kPa
          display: { step: 0.1 kPa, error: ±0.5 }
          loop: { error: ±0.6 % of span }
          ambient: 5 .. 45 °C
          process: 25 °C
          response: 2 s
          calibrated: every 30 days
        sensor: { kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 4.5 V }, resistance: 1 kΩ ±10 %, error: ±5 mV, between: [sense, 0V] }
        supplies:
          input: { kind: dc, voltage: 24 V ±15 %, return: 0V }
          A5: { kind: linear regulator, from: input, voltage: 5.0 V ±2 %, limit: 100 mA, dropout: 2 V, junction: 65 K/W }
          L15: { kind: isolated converter, from: input, voltage: 15 V ±5 %, efficiency: 80 %, withstands: 1 kV, return: L0 }
        networks: { RN1: { tolerance: ±1 % ±100 ppm/K, tracking: ±0.05 % ±5 ppm/K } }
        stages:
          - input:
              parts:
                U1: { op amp: cmos low bias, plus: sense, minus: fb, out: amp, supply: [A5, 0V] }
                R1: { resistor: 20.0 kΩ ±1 % ±100 ppm/K, between: [amp, wiper] }
                VR1: { trimmer: 2 kΩ ±10 % ±100 ppm/K, turns: 12, between: [wiper, fb] }
                R2: { resistor: 4k7, between: [fb, 0V], ages: ±0.1 %/year }
                F1: { block: rc filter, in: amp, out: adc, common: 0V, R: 10 kΩ ±1 %, C: 1 µF ±10 % }
                J1: { jumper: run, positions: { run: [adc, hold], test: [hold, 0V] } }
              from: sense
              to: adc
              intent: { 0.5 V: 0.25 V, 4.5 V: 2.25 V ±1 mV }
              test points: { TP1: amp, TP2: [adc, 0V] }
          - reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V ±0.2 %, inl: ±2 LSB, input current: 10 nA max, linear: 0.05 .. 2.45 V, absolute: 3.6 V max, average: 64, every: 5 ms }
          - arithmetic: { from: reading, to: measurand, scaling: { 409: 0.5 V, 3686: 4.5 V }, calibration: two-point, compensation: { fixed: 25 °C }, words: 32 bit }
          - writing: { kind: dac, output: [dac, L0], bits: 12, reference: 2.5 V, link: { kind: digital isolator, withstands: 2.5 kV } }
          - output:
              parts:
                U2: { op amp: bipolar general purpose, plus: dac, minus: emitter, out: base, supply: [L15, L0] }
                Q1: { transistor: npn medium power, collector: loop-, base: base, emitter: emitter }
                R3: { resistor: 100 Ω, of: RN1, between: [emitter, L0] }
                W1: { link: [L15, loop+] }
              from: dac
              to: loop
              intent: { 0.4 V: 4 mA, 2.0 V: 20 mA }
        loop:
          through: [loop+, loop-]
          scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }
          limits: { under: 3.8 mA, over: 20.5 mA, failure: 3.6 mA }
          test: 1 .. 22 mA
          load: 0 .. 250 Ω
        calibration:
          standards: { first: 0 kPa, second: 100 kPa, settable: true }
          accept: { slope: 85 .. 105 %, zero: ±10 mV }
          steady: { within: 0.5 mV, for: 10 s }
        adjustment:
          - span: { with: { sense: 4.5 V }, turn: VR1, until: { TP2: 2.25 V ±2 mV }, meter: 4.5 digit }
        spread: { values: sorted normal 2 σ, drifts: triangular, conditions: rectangular, of: { R1: normal 3 sigma, F1 drift: two-point, ambient temperature: arcsine } }
        memory: { size: 256 B, endurance: 100 k writes, order: little endian, items: [{ name: zero, kind: i16, factory: 0 }] }
        panel: { display: 20 x 4, keys: 4, screens: { measuring: ["P ###.# kPa", ""] } }

        """;

    /// <summary>A few lines, for tests that read very many files.</summary>
    public const string Tiny = """
        instrument: T
        specification: { measurand: pressure, range: 0 .. 1 kPa }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 1 kPa: 1 V }, between: [s, 0V] }
        supplies: { A5: { kind: dc, voltage: 5 V ±2 %, return: 0V } }
        stages:
          - in: { parts: { R1: { resistor: 4k7, between: [s, a] }, C9: { capacitor: 100 nF ±10 %, between: [a, 0V] } }, to: a, test points: { TP1: a } }

        """;

    /// <summary>The files of the repository: demos with their flawed revisions, and the cases from practice.</summary>
    public static ImmutableArray<string> Files { get; } =
    [
        .. new[] { "demo", Path.Combine("tests", "cases") }
            .Select(f => Repository.PathOf(f)).Where(Directory.Exists)
            .SelectMany(f => Directory.EnumerateFiles(f, "*.yaml", SearchOption.AllDirectories))
            .Where(f => Path.GetFileName(f) != "parts.yaml").Order(StringComparer.Ordinal),
    ];
}
