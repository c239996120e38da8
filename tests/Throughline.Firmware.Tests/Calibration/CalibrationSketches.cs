using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;

namespace Throughline.Firmware.Tests.Calibration;

/// <summary>Instruments that the tests of the calibration share.</summary>
internal static class CalibrationSketches
{
    public static readonly string[] All =
        ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", "three buffers", "five buffers", "one buffer", "apart", "fixed temperature", "three weights", "three weights in 64 bits", "ice and steam", "wide", "coarse gain", "zero in pH", "at once"];

    public static Instrument Named(string name) => name switch
    {
        "three buffers" => Electrode("", "{ first: 7.00, second: 4.00, third: 10.01, settable: true, follows temperature: true }", arithmetic: "calibration: n-point"),
        "five buffers" => Electrode("", "{ first: 6.86, second: 4.01, third: 9.18, fourth: 1.68, fifth: 12.45, follows temperature: true }", arithmetic: "calibration: n-point"),
        "one buffer" => Electrode("", "{ first: 7.00, settable: true }", arithmetic: "calibration: one-point"),
        "apart" => Electrode(", apart: 1 pH", "{ first: 7.00, second: 4.00, settable: true }", entries: "2.00 .. 12.00"),
        "at once" => Electrode(", entered values: used at once", "{ first: 7.00, second: 4.00, settable: true }"),
        "fixed temperature" => Electrode("", "{ first: 7.00, second: 4.00, settable: true }", arithmetic: "calibration: two-point, compensation: { fixed: 25 °C }"),
        "zero in pH" => Electrode("", "{ first: 7.00, second: 10.01, settable: true }", zero: "±0.5 pH"),
        "wide" => Electrode("", "{ first: 7.00, second: 4.00, settable: true, follows temperature: true }", arithmetic: "calibration: two-point, words: 64 bit"),
        "coarse gain" => Electrode(", arithmetic: { gain step: 0.02 % }", "{ first: 7.00, second: 4.00 }"),
        "three weights" => Weight("{ first: 0 kg, second: 400 kg, third: 800 kg, settable: true }", "n-point"),
        "three weights in 64 bits" => Weight("{ first: 0 kg, second: 400 kg, third: 800 kg, settable: true }", "n-point", ", arithmetic: { product: 64 bit }"),
        "ice and steam" => Platinum(),
        _ => Sketches.Demo(name),
    };

    /// <summary>A glass electrode on a converter of 16 bits.</summary>
    public static Instrument Electrode(string more, string buffers, string arithmetic = "calibration: two-point", string? entries = null, string zero = "±30 mV", string slope = "85 .. 105 %") => Sketches.Read($$"""
        instrument: Electrode
        specification: { measurand: pH, range: 2.00 .. 12.00, display: { step: 0.01, error: ±0.10 }, process: 5 .. 45 °C }
        sensor: { kind: glass electrode, zero: 7.00 ±0.3 pH, slope: 90 .. 102 %, resistance: 100 MΩ, between: [probe, bias] }
        supplies:
          A5: { kind: dc, voltage: 5.0 V, return: 0V }
        stages:
          - input:
              parts:
                VREF: { reference: 1.024 V, between: [bias, 0V] }
                U1:   { op amp: cmos low bias, plus: probe, minus: follower, out: follower, supply: [A5, 0V] }
              from: [probe, bias]
              to: follower
              intent: { 0 mV: 1.024 V ±2 mV, 200 mV: 1.224 V ±2 mV }
          - reading: { kind: adc, input: follower, bits: 16, reference: 2.048 V }
          - arithmetic: { from: reading, to: measurand, {{arithmetic}} }
        calibration:
          { buffers: {{buffers}}, at: 15 .. 30 °C, accept: { slope: {{slope}}, zero: {{zero}} }, steady: { within: 0.5 mV, for: 10 s }{{(more.StartsWith(',') ? more : "")}} }
        {{(entries is null ? "" : $$"""
        panel:
          display: 16 x 2
          keys: 0
          entries: { first standard: { range: {{entries}} pH, step: 0.01 pH }, second standard: { range: {{entries}} pH, step: 0.01 pH } }
          screens: { measuring: ["pH", ""] }
        """)}}
        """);

    public static Instrument Weight(string standards, string points, string more = "") => Sketches.Read($$"""
        instrument: Weight
        specification: { measurand: mass, unit: kg, range: 0 .. 1000 kg, display: { step: 0.5 kg, error: ±4 kg } }
        sensor: { kind: strain-gauge bridge, resistance: 350 Ω, rated output: 2.000 mV/V ±2 %, rated load: 1000 kg, zero balance: ±1 %, excitation: [exc, 0V], signal: [sp, sm] }
        supplies:
          exc: { kind: dc, voltage: 5 V, return: 0V }
        stages:
          - input:
              parts: { R1: { resistor: 1 MΩ, between: [sp, 0V] }, R2: { resistor: 1 MΩ, between: [sm, 0V] } }
              from: [sp, sm]
              to: sp
          - reading: { kind: adc, input: sp, bits: 24, reference: 5 V }
          - arithmetic: { from: reading, scaling: { 0: −0.5 mV/V, 16777215: 2.5 mV/V }, calibration: {{points}} }
        calibration: { standards: {{standards}}, accept: { slope: 95 .. 105 %, zero: ±40 kg }, steady: { within: 0.5 kg, for: 5 s }{{more}} }
        """);

    public static Instrument Platinum(string calibration = "{ standards: { first: 0.0 °C, second: 100.0 °C, settable: true }, accept: { slope: 95 .. 105 %, zero: ±2 °C } }") => Sketches.Read($$"""
        instrument: Platinum
        specification: { measurand: temperature, unit: °C, range: −100 .. 200 °C, display: { step: 0.1 °C, error: ±1 °C } }
        sensor: { kind: platinum resistance, element: Pt100, wires: 2, between: [s, 0V] }
        supplies:
          A5: { kind: dc, voltage: 5 V, return: 0V }
        stages:
          - input:
              parts: { R1: { resistor: 1 kΩ, between: [A5, s] } }
              from: [s, 0V]
              to: s
          - reading: { kind: adc, input: s, bits: 16, reference: 5 V }
          - arithmetic: { from: reading, scaling: { 0: 50 Ω, 65535: 190 Ω }, calibration: two-point }
        calibration: {{calibration}}
        """);
}
