using CsCheck;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Checks;

/// <summary>Properties that follow from physics, whatever the values.</summary>
public sealed class CheckPropertyTests
{
    private static string Ohms(double value) => FormattableString.Invariant($"{value:0.######} Ω");

    /// <summary>A voltage divider's ratio depends on the ratio of its resistors alone.</summary>
    [Fact]
    public void Intent_EveryResistorScaled_GivesTheSameFinding() => Gen.Select(Gen.Double[0.5, 2], Gen.Double[-2, 2]).Sample(
        (ratio, exponent) =>
        {
            double factor = Math.Pow(10, exponent);
            Finding plain = Intent(1, ratio);
            Finding scaled = Intent(factor, ratio);
            Assert.Equal(plain.Outcome, scaled.Outcome);
            Assert.Equal(plain.Margin, scaled.Margin, 1e-6);
            Assert.Equal(plain.Figures[2].Value, scaled.Figures[2].Value, 1e-8);
        },
        iter: 60,
        seed: "0N0XIzNsQ0O2");

    /// <summary>Every unit of the narrow tolerance is also one of the wide one.</summary>
    [Fact]
    public void WorstCase_WiderTolerance_ContainsTheNarrowerOne() => Gen.Select(Gen.Double[0, 5], Gen.Double[0, 5], Gen.Double[0.5, 2]).Sample(
        (a, b, ratio) =>
        {
            WorstCase narrow = Range(Math.Min(a, b), ratio);
            WorstCase wide = Range(Math.Max(a, b), ratio);
            Assert.True(wide.Low <= narrow.Low + 1e-12, $"{wide.Low} > {narrow.Low}");
            Assert.True(wide.High >= narrow.High - 1e-12, $"{wide.High} < {narrow.High}");

            // By hand: the upper end is 1 V times R2 high over R2 high plus R1 low.
            double t = Math.Max(a, b) / 100;
            Assert.Equal(ratio * (1 + t) / ((ratio * (1 + t)) + 1 - t), wide.High, 1e-5);
        },
        iter: 60,
        seed: "0N0XIzNsQ0O2");

    /// <summary>With the ends of the scale exchanged the loop carries 24 mA less what it carried.</summary>
    [Fact]
    public void Loop_ScaleReversed_MirrorsTheReadings() => Gen.Double[0, 100].Sample(
        x =>
        {
            double forward = Loop("{ 0 kPa: 4 mA, 100 kPa: 20 mA }", x);
            double reversed = Loop("{ 0 kPa: 20 mA, 100 kPa: 4 mA }", x);

            // One code of 12 bits is 6 µA; both round their own way.
            Assert.Equal(24e-3, forward + reversed, 13e-6);
            Assert.Equal(4e-3 + (16e-3 * x / 100), forward, 20e-6);
        },
        iter: 40,
        seed: "0N0XIzNsQ0O2");

    private static Finding Intent(double factor, double ratio) => Sketch.Finding(
        Sketch.Read(Sketch.Divider(Ohms(10e3 * factor), Ohms(10e3 * factor * ratio))), "stage does what its intent says", "input");

    private static WorstCase Range(double percent, double ratio)
    {
        string tolerance = FormattableString.Invariant($" ±{percent:0.####} %");
        Instrument instrument = Sketch.Read(Sketch.Divider(Ohms(10e3) + tolerance, Ohms(10e3 * ratio) + tolerance));
        return Assert.Single(Reviewer.Review(instrument).WorstCases, w => w.Name == "TP1");
    }

    private static double Loop(string scale, double measurand)
    {
        Instrument instrument = Sketch.Read(Sketch.Divider(more: $$"""
              - writing: { kind: dac, output: dac, bits: 12, reference: 2.5 V }
              - output:
                  parts:
                    U1: { op amp: {}, plus: dac, minus: loop-, out: loop+, supply: [A5, 0V] }
                    R9: { resistor: 100 Ω, between: [loop-, 0V] }
                  from: dac
                  to: loop
                  intent: { 0.4 V: 4 mA, 2 V: 20 mA }
            loop:
              through: [loop+, loop-]
              scale: {{scale}}
              load: 50 Ω
            """));
        ReadingsTable table = Reviewer.Readings(instrument, [measurand]);
        int column = table.Columns.Select((c, i) => (c, i)).Single(p => p.c.Name == "loop").i;
        return table.Rows[0].Values[column];
    }
}
