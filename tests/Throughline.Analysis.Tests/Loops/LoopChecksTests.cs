using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>The loop's checks on a sink whose figures can be worked by hand: each met, and each not met for one reason.</summary>
public class LoopChecksTests
{
    private const string Hot = ", dissipation: 1 W, junction: 250 K/W, junction limit: 150 °C";

    private static Finding Of(string check, string text) => Sketch.Finding(Sketch.Read(text), check);

    // (150 − 45) K / 250 K/W = 0.42 W allowed against 0.5324 W into a short (worked as in the conditions).
    [Theory]
    [InlineData(", dissipation: 1 W, junction: 125 K/W, junction limit: 150 °C", Outcome.Met, 0.84)]
    [InlineData(Hot, Outcome.NotMet, 0.42)]
    public void HeatInTheOutput_IsJudgedAtTheGreatestAmbient(string grade, Outcome outcome, double allowed)
    {
        Finding finding = Of("heat in the output", LoopSketch.Sink(transistor: grade, ambient: "5 .. 45 °C"));
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(0.5324, Sketch.Figure(finding, "heat"), 0.0005);
        Assert.Equal(allowed, Sketch.Figure(finding, "allowed"), 1e-9);
    }

    // Offset of 0.5 mV over 100 Ω: 5 µA at code 0. One code is 2.5 V / 2^14 / 100 Ω = 1.526 µA.
    [Theory]
    [InlineData("1 .. 22 mA", Outcome.Met)]
    [InlineData("0 .. 22 mA", Outcome.NotMet)]
    [InlineData("1 .. 25.2 mA", Outcome.NotMet)]
    public void OutputTest_NeedsBothEndsOnEveryUnit(string test, Outcome outcome)
    {
        Finding finding = Of("output test range", LoopSketch.Sink(dac: ", offset: ±0.5 mV", test: test));
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(5e-6, Sketch.Figure(finding, "least current that can be set, worst case"), 0.1e-6);
        Assert.Equal((2.5 * 16383 / 16384 - 0.5e-3) / 100, Sketch.Figure(finding, "greatest current that can be set, worst case"), 1e-6);
        Assert.Equal(2.5 / 16384 / 100, Sketch.Figure(finding, "one code"), 1e-9);
    }

    // 230 Ω at least, 1100 Ω at most: loop-signals.json.
    [Theory]
    [InlineData("230 .. 500 Ω", Outcome.Met)]
    [InlineData("250 .. 1100 Ω", Outcome.Met)]
    [InlineData("0 .. 500 Ω", Outcome.NotMet)]
    [InlineData("250 .. 1200 Ω", Outcome.NotMet)]
    public void Communication_NeedsItsLoad(string load, Outcome outcome) =>
        Assert.Equal(outcome, Of("load for communication", LoopSketch.Sink("communication: { least load: 230 Ω, greatest load: 1100 Ω }", load: load)).Outcome);

    // A tenth of 1 % of 16 mA is 16 µA; 5 µA doubled twice are 20 µA.
    [Theory]
    [InlineData("1 µA", Outcome.Met, 4e-6)]
    [InlineData("5 µA", Outcome.NotMet, 20e-6)]
    public void ClampLeakage_MayTakeATenthOfTheError(string leakage, Outcome outcome, double amperes)
    {
        Finding finding = Of("clamp leakage at the loop", LoopSketch.Sink($"clamps: {{ leakage: {leakage} max, doubles every: 10 K }}", ambient: "5 .. 45 °C"));
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(amperes, Sketch.Figure(finding, "leakage when hot"), 1e-12);
    }

    // NE 43: measuring from 3.8 to 20.5 mA.
    [Theory]
    [InlineData("{ under: 3.8 mA, over: 20.5 mA, failure: 21 mA }", Outcome.Met)]
    [InlineData("{ under: 3.7 mA, over: 20.5 mA, failure: 21 mA }", Outcome.NotMet)]
    [InlineData("{ under: 3.8 mA, over: 21.5 mA, failure: 3.5 mA }", Outcome.NotMet)]
    [InlineData("{ under: 3.8 mA, over: 19 mA, failure: 3.5 mA }", Outcome.NotMet)]
    public void LimitsOfMeasuring_AreThoseOfNe43(string limits, Outcome outcome) =>
        Assert.Equal(outcome, Of("measured values read as such", LoopSketch.Sink(limits: limits)).Outcome);

    [Fact] // 12 V the wrong way round through 100 Ω and no load: the transistor without a diode carries tens of milliampere, more than 0.1 W stands
    public void Reversed_IsJudgedWhereALimitIsStated()
    {
        Assert.Equal(Outcome.NotMet, Of("loop connected in reverse", LoopSketch.Sink(transistor: ", dissipation: 5 mW")).Outcome);
        Assert.Equal(
            Outcome.Met,
            Of("loop connected in reverse", LoopSketch.Sink(transistor: ", dissipation: 1 W", series: "D1: { diode: small signal, anode: loop+, cathode: c }")).Outcome);
        Assert.DoesNotContain(Reviewer.Review(Sketch.Read(LoopSketch.Sink())).Findings, f => f.Check == "loop connected in reverse");
    }

    // Thermal noise of 100 Ω at 298 K is 1.283 nV/√Hz (4 kTR; 4 nV per root kilohm at 290 K: AD8421 data sheet): 12.8 pA/√Hz, 1.28 nA in 10 kHz.
    [Fact]
    public void Noise_OfTheSenseResistor_IsJohnsons()
    {
        LoopNoise noise = Reviewer.Loop(Sketch.Read(LoopSketch.Sink()))!.Noise!;
        NoiseCause sense = Assert.Single(noise.Causes, c => c.Part == "R3");
        Assert.Equal(1.283e-9 / 100 * Math.Sqrt(10e3 - 0.01), sense.Rms, 0.003e-9);
        Assert.Equal(0.01, noise.FromHertz);
    }

    [Theory]
    [InlineData("1 mA", Outcome.Met)]
    [InlineData("0.1 nA", Outcome.NotMet)]
    public void Noise_IsJudgedAgainstItsLimit(string limit, Outcome outcome) =>
        Assert.Equal(outcome, Of("noise of the loop", LoopSketch.Sink($"noise: {limit}")).Outcome);
}
