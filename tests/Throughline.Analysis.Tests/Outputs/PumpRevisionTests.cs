using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>
/// An output by the improved current pump, and its revision in which the resistor to the load does not allow for the sense resistor. By hand (data/circuits, B3,
/// the circuit after National Semiconductor AN-1515): with 100 kΩ instead of 99.9 kΩ the output resistance is 200 kΩ and the current without load 0.05 % high.
/// </summary>
public sealed class PumpRevisionTests
{
    [Fact]
    public void Review_OfTheSoundPump_MeetsEveryCheck() =>
        Assert.Empty(Reviewer.Review(Pump("99.9 kΩ")).Findings.Where(f => f.Outcome != Outcome.Met).Select(f => $"{f.Check}: {f.Statement}"));

    [Fact]
    public void Review_OfTheFlawedPump_TurnsAccuracyForTheLoad()
    {
        Review review = Reviewer.Review(Pump("100 kΩ"));
        Assert.Equal(["accuracy at loop", "loop compliance"], review.Findings.Where(f => f.Outcome == Outcome.NotMet).Select(f => f.Check).Order(StringComparer.Ordinal));
        Finding accuracy = Assert.Single(review.Findings, f => f.Check == "accuracy at loop");
        Assert.Contains("Greatest causes: loop load", accuracy.Statement, StringComparison.Ordinal);

        // 20 mA × 400 Ω through 200 kΩ are 40 µA, half of them to either side of the middle of the load; the drawn line hides 0.05 % less 4 V / 200 kΩ.
        Assert.Equal(20e-6, Math.Abs(Sketch.Figure(accuracy, "loop load")), 0.1e-6);
        Assert.Equal((20e-3 * 0.0005) - (4 / 200e3), Sketch.Figure(accuracy, "nominal error"), 0.2e-6);
    }

    private static Instrument Pump(string back) => Sketch.Read($$"""
        instrument: Pump output
        specification: { measurand: pressure, unit: kPa, range: 0 .. 100 kPa, display: { step: 0.1 kPa, error: ±1 kPa }, loop: { error: ±0.2 % of span }, ambient: 10 .. 40 °C }
        supplies:
          P15: { kind: dc, voltage: 15 V, return: 0V }
          N15: { kind: dc, voltage: −15 V, return: 0V }
        {{Sketch.Pressure(bits: 14)}}
          - writing: { kind: dac, output: dac, bits: 14, reference: 2.5 V }
          - output:
              parts:
                U1: { op amp: { gain: 120 dB, offset: 20 µV max, bias current: 1 nA max, common-mode rejection: 120 dB, supply rejection: 120 dB, output swing: { below positive: 2 V, above negative: 2 V }, output current: 40 mA, supply: 10 .. 36 V }, plus: plus, minus: fb, out: out, supply: [P15, N15] }
                R1: { resistor: 100 kΩ ±0.005 %, between: [dac, plus] }
                R2: { resistor: 100 kΩ ±0.005 %, between: [fb, 0V] }
                R3: { resistor: 100 kΩ ±0.005 %, between: [fb, out] }
                R4: { resistor: {{back}} ±0.005 %, between: [loop+, plus] }     # what the sense resistor adds is taken off here
                R5: { resistor: 100 Ω ±0.01 %, between: [out, loop+] }
                W1: { link: [loop-, 0V] }
              from: dac
              to: loop
              intent: { 0.4 V: 4 mA ±20 µA, 2.0 V: 20 mA ±20 µA }
        loop:
          through: [loop+, loop-]
          scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }
          limits: { under: 3.8 mA, over: 20.5 mA, failure: 3.6 mA }
          load: 0 .. 400 Ω
        """);
}
