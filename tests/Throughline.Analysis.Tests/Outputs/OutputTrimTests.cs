using Throughline.Analysis.Tests.Corpus;
using Throughline.Analysis.Tests.Loops;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>
/// The trim of the output on a sink that passes V / 100 Ω, worked by hand: a straight line is taken away whole, the meter's error stays, by the line through two points.
/// Ohm's law and that line; a meter's digits are common practice, no source.
/// </summary>
public class OutputTrimTests
{
    private const string Dac = ", offset: ±2 mV, gain error: ±0.2 %";

    [Fact]
    public void OffsetAndGain_AreTakenAwayWhole()
    {
        // 2 mV over 100 Ω are 20 µA; 0.2 % of 20 mA are 40 µA.
        BudgetTable built = Table("", 100, BudgetMoment.AsBuilt);
        Assert.Equal(20e-6, Line(built, "writing offset").Effect, 0.1e-6);
        Assert.Equal(40e-6, Line(built, "writing gain error").Effect, 0.1e-6);
        BudgetTable trimmed = Table("trim: { low: 4 mA, high: 20 mA, meter: 6.5 digit, accept: ±1 mA }", 100, BudgetMoment.AfterAdjustment);
        Assert.DoesNotContain(trimmed.Lines, l => l.Name is "writing offset" or "writing gain error");

        // The code's steps: 2.5 V / 2^14 / 100 Ω, half of one.
        Assert.Equal(2.5 / 16384 / 100 / 2, Line(trimmed, "writing whole codes").Effect, 1e-9);
    }

    /// <summary>4.5 digits count to 19999: at 4, 8 and 12 mA the last is 1 µA, at 20 mA 10 µA.</summary>
    [Theory]
    [InlineData("4 mA", "20 mA", 0, 1e-6, 0)]
    [InlineData("4 mA", "20 mA", 50, 0.5e-6, 5e-6)]
    [InlineData("4 mA", "20 mA", 100, 0, 10e-6)]
    [InlineData("8 mA", "12 mA", 0, 2e-6, 1e-6)]
    [InlineData("8 mA", "12 mA", 100, 2e-6, 3e-6)]
    public void TheMetersDigits_GoOnByTheLineThroughBothCurrents(string low, string high, double kilopascals, double ofLow, double ofHigh)
    {
        BudgetTable table = Table($"trim: {{ low: {low}, high: {high}, meter: 4.5 digit, accept: ±1 mA }}", kilopascals, BudgetMoment.AfterAdjustment);
        Assert.Equal(ofLow, Effect(table, "low"), 1e-8);
        Assert.Equal(ofHigh, Effect(table, "high"), 1e-8);

        static double Effect(BudgetTable table, string which) => table.Lines.FirstOrDefault(l => l.Name.Contains($"digits at the {which} current", StringComparison.Ordinal))?.Effect ?? 0;
    }

    /// <summary>A share of what the meter reads is the same share of the trimmed current, everywhere.</summary>
    [Theory]
    [InlineData(0)]
    [InlineData(50)]
    [InlineData(100)]
    public void AMeterThatReadsAShareTooMuch_LeavesThatShare(double kilopascals)
    {
        BudgetTable table = Table("trim: { low: 5 mA, high: 18 mA, meter: 6.5 digit, accept: ±1 mA }", kilopascals, BudgetMoment.AfterAdjustment, "bench: { ammeter: { error: ±0.1 %, fixed: ±2 µA } }");
        Assert.Equal(0.001 * (4e-3 + (kilopascals / 100 * 16e-3)), Line(table, "bench ammeter error").Effect, 1e-8);
        Assert.Equal(2e-6, Line(table, "bench ammeter fixed error").Effect, 1e-8);
    }

    /// <summary>At 4 mA 20 µA and 0.2 %, 28 µA; at 20 mA 60 µA.</summary>
    [Theory]
    [InlineData("±0.1 mA", Outcome.Met)]
    [InlineData("±50 µA", Outcome.NotMet)]
    public void WhatIsShown_HasToBeAccepted(string accept, Outcome outcome)
    {
        Finding finding = Of("output trim reached", $"trim: {{ low: 4 mA, high: 20 mA, meter: 6.5 digit, step: 10 nA, accept: {accept} }}");
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(28e-6, Sketch.Figure(finding, "shown beside the lower current at most"), 1e-6);
        Assert.Equal(60e-6, Sketch.Figure(finding, "shown beside the higher current at most"), 1e-6);
    }

    /// <summary>60 µA without the trim. 4.5 digits at 4 and 20 mA leave 10 µA; 3 digits (10 µA at 8 mA, 100 µA at 12 mA) over 4 mA leave 2 × 10 µA + 3 × 100 µA.</summary>
    [Theory]
    [InlineData("low: 4 mA, high: 20 mA, meter: 4.5 digit", Outcome.Met, 10e-6)]
    [InlineData("low: 8 mA, high: 12 mA, meter: 3 digit", Outcome.NotMet, 320e-6)]
    public void TheTrim_HasToTakeAwayMoreThanItsMeterBrings(string trim, Outcome outcome, double ofMeter)
    {
        Finding finding = Of("output trim worth its meter", $"trim: {{ {trim}, accept: ±0.5 mA }}");
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(ofMeter, Sketch.Figure(finding, "of the meter"), 1e-8);
    }

    [Theory]
    [InlineData("low: 20 mA, high: 4 mA, meter: 4.5 digit, accept: ±0.5 mA", "4 mA", "not above the lower one")]
    [InlineData("low: 4 mA, high: 4 mA, meter: 4.5 digit, accept: ±0.5 mA", "4 mA", "not above the lower one")]
    [InlineData("low: 0.5 mA, high: 20 mA, meter: 4.5 digit, accept: ±0.5 mA", "0.5 mA", "never gives this current")]
    [InlineData("low: 4 mA, high: 25 mA, meter: 4.5 digit, accept: ±0.5 mA", "25 mA", "never gives this current")]
    [InlineData("low: 11 mA, high: 12 mA, meter: 4.5 digit, accept: ±0.6 mA", "±0.6 mA", "may be the same")]
    [InlineData("low: 4 mA, high: 20 mA, accept: ±0.5 mA", null, "meter")]
    [InlineData("low: 4 mA, high: 20 mA, meter: 4.5 digit", null, "accept")]
    public void ATrimThatMakesNoSense_IsAMistakeInTheFile(string trim, string? found, string says)
    {
        string text = LoopSketch.Sink($"trim: {{ {trim} }}", dac: Dac);
        Parsed<Instrument> parsed = InstrumentReader.ReadText("sink.yaml", text);
        Diagnostic mistake = Assert.Single(parsed.Diagnostics);
        Assert.Contains(says, mistake.Message, StringComparison.Ordinal);
        Assert.False(string.IsNullOrEmpty(mistake.Expected));
        if (found is not null)
        {
            Assert.Equal(found, text[mistake.Span.Start..mistake.Span.End]);
        }
    }

    /// <summary>6.5 digits count to 0.01 µA at 4 mA and 0.1 µA at 20 mA: entered in whole microamperes, half of one more is lost.</summary>
    [Theory]
    [InlineData("", 0.51e-6)]
    [InlineData(", step: 100 nA", 0.06e-6)]
    [InlineData(", step: 10 nA", 0.01e-6)]
    public void TheStepOfTheEntry_CountsWhereTheMeterTellsMoreApart(string step, double low)
    {
        BudgetTable table = Table($"trim: {{ low: 4 mA, high: 20 mA, meter: 6.5 digit, accept: ±1 mA{step} }}", 0, BudgetMoment.AfterAdjustment);
        Assert.Equal(low, Line(table, "bench meter digits at the low current of the trim").Effect, 1e-9);
    }

    [Fact]
    public void AUnitThatRefuses_WorksUntrimmed()
    {
        Evaluator evaluator = new(Model.Compile(Sketch.Read(LoopSketch.Sink("trim: { low: 4 mA, high: 20 mA, meter: 6.5 digit, accept: ±50 µA }", dac: Dac))));
        UnitState unit = evaluator.NewState();
        int offset = Enumerable.Range(0, evaluator.Model.Parameters.Count).Single(i => evaluator.Model.Parameters[i].ToString() == "writing offset");
        unit.Values[offset] = 2e-3;
        evaluator.TrimOutput(unit, limited: true);
        Assert.NotEqual(OutputTrim.Neutral, unit.OutputTrim);
        unit.Values[offset] = 6e-3;
        evaluator.TrimOutput(unit, limited: true);
        Assert.Equal(OutputTrim.Neutral, unit.OutputTrim);
    }

    private static Finding Of(string check, string loop) => Sketch.Finding(Sketch.Read(LoopSketch.Sink(loop, dac: Dac)), check);

    private static BudgetTable Table(string loop, double measurand, BudgetMoment moment, string more = "")
    {
        Evaluator evaluator = new(Model.Compile(Sketch.Read(LoopSketch.Sink(loop, dac: Dac) + "\n" + more)));
        return new BudgetBuilder(new CheckContext(evaluator)).At(measurand, moment, withFull: false).Single(t => t.Output == BudgetOutput.Loop);
    }

    private static BudgetLine Line(BudgetTable table, string name) => Assert.Single(table.Lines, l => l.Name == name);
}
