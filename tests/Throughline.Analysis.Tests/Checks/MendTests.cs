using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Checks;

/// <summary>What a finding offers as its mend mends it, and findings about the same mistake agree.</summary>
public class MendTests
{
    /// <summary>A type K thermocouple amplifier: gain 1 + (R1 + VR1)/R2 about 0.5 V.</summary>
    private const string Oven = """
        instrument: Oven
        specification: { measurand: temperature, range: 0 .. 400 °C, display: { step: 1, error: ±4 °C } }
        sensor: { kind: thermocouple, type: K, cold junction: { measured: true }, between: [tc+, tc-] }
        supplies:
          input: { kind: dc, voltage: 24 V ±15 %, return: 0V }
          A5: { kind: linear regulator, from: input, voltage: 5 V ±2 % }
        stages:
          - input:
              parts:
                VB: { reference: 0.5 V, between: [tc-, 0V] }
                U1: { op amp: { supply: 2.7 .. 5.5 V, output swing: { below positive: 50 mV, above negative: 50 mV } }, plus: tc+, minus: fb, out: amp, supply: [A5, 0V] }
                R1: { resistor: 100 kΩ, between: [amp, span] }
                VR1: { trimmer: 20 kΩ, between: [span, fb] }
                R2: { resistor: 1 kΩ, between: [fb, tc-] }
              from: [tc+, tc-]
              to: amp
              intent: { 0 mV: 0.5 V, 16.4 mV: 2.3 V }
          - reading: { kind: adc, input: amp, bits: 12, reference: 2.5 V }
          - arithmetic: { from: reading, to: measurand }
        adjustment:
          - span: { with: { tc+: 16.4 mV }, turn: VR1, until: { amp: 2.3 V ±2 mV } }
        """;

    private static Review Review(string sound = "", string mistake = "")
    {
        Assert.Contains(sound, Oven, StringComparison.Ordinal);
        Parsed<Instrument> read = InstrumentReader.ReadText("oven.yaml", sound.Length == 0 ? Oven : Oven.Replace(sound, mistake, StringComparison.Ordinal));
        Assert.Empty(read.Diagnostics);
        return Reviewer.Review(read.Value!);
    }

    private static Finding Of(Review review, string check) => Assert.Single(review.Findings, f => f.Check == check);

    [Fact]
    public void SoundFile_MeetsAllThree()
    {
        Review review = Review();
        Assert.Equal(Outcome.Met, Of(review, "stage does what its intent says").Outcome);
        Assert.Equal(Outcome.Met, Of(review, "adjustment target within the trimmer's reach").Outcome);
        Assert.Equal(Outcome.Met, Of(review, "amplifier supply within its rating").Outcome);
    }

    [Fact] // Gain 1.8 V / 16.4 mV = 109.756 asks for R1 + VR1 = 108.756 kΩ; half of 20 kΩ from it leaves 98.76 kΩ
    public void FixedResistorTooGreat_BothFindingsNameTheValueThatCentresTheTrimmer()
    {
        Review review = Review("R1: { resistor: 100 kΩ", "R1: { resistor: 110 kΩ");
        Assert.Equal("R1 of 98.76\u202FkΩ instead of 110\u202FkΩ gives 2.3\u202FV there with VR1 in the middle of its travel.", Of(review, "stage does what its intent says").Mend);
        Assert.StartsWith("R1 of 98.8\u202FkΩ instead of 110\u202FkΩ centres VR1", Of(review, "adjustment target within the trimmer's reach").Mend, StringComparison.Ordinal);
    }

    [Fact] // IEC 60584-1, type K with its terminals at 25 °C: 16.397 mV − 1.000 mV at 400 °C
    public void StepThatSetsVoltForMillivolt_SaysWhatTheSensorGives() => Assert.Equal(
        "Step span sets 16.4\u202FV, but the sensor gives −1.0 .. 15.4\u202FmV over the range: set a value of that size.",
        Of(Review("tc+: 16.4 mV", "tc+: 16.4 V"), "adjustment target within the trimmer's reach").Mend);

    [Fact]
    public void IntentInVoltForMillivolt_SaysWhatTheSensorGives() => Assert.StartsWith(
        "The intent has 16.4\u202FV, but the sensor gives −1.0 .. 15.4\u202FmV",
        Of(Review("16.4 mV: 2.3 V", "16.4 V: 2.3 V"), "stage does what its intent says").Mend,
        StringComparison.Ordinal);

    [Fact] // 24 V and 15 % of it
    public void AmplifierForFiveVolt_OnTwentyFour_IsNotMet()
    {
        Finding finding = Of(Review("supply: [A5, 0V]", "supply: [input, 0V]"), "amplifier supply within its rating");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Equal(27.6, finding.Figures[0].Value, 1e-9);
    }

    [Fact]
    public void AmplifierForFifteenVolt_OnFive_IsNotMet()
    {
        Finding finding = Of(Review("supply: 2.7 .. 5.5 V", "supply: 6 .. 36 V"), "amplifier supply within its rating");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Equal(4.9, finding.Figures[0].Value, 1e-9);
    }

    [Fact] // R1 + VR2 = 4.5 × 10 kΩ for the gain of 5.5; half of VR2's 5 kΩ from it leaves 42.5 kΩ
    public void FlawedGainOfTheNutrientLine_IsMendedByTheValueOfTheSoundOne()
    {
        Parsed<Instrument> read = InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "flawed", "01-gain.yaml"));
        Review review = Reviewer.Review(read.Value!);
        Assert.Contains("R1 of 42.50\u202FkΩ", Assert.Single(review.Findings, f => f is { Check: "stage does what its intent says", Stage: "input" }).Mend, StringComparison.Ordinal);
    }
}
