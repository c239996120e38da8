using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>A voltage as an instrument's output, against figures worked by hand.</summary>
public sealed class VoltageOutputTests
{
    private static Finding Of(string check, string text) => Sketch.Finding(Sketch.Read(text), check);

    private static LoopReport Report(string text) => Reviewer.Loop(Sketch.Read(text))!;

    private static LoopCondition Condition(string text, LoopConditionKind kind) => Assert.Single(Report(text).Conditions, c => c.Kind == kind);

    /// <summary>What the receiver gets of a whole chain, V.</summary>
    private static double At(string text, double measurand, double loadOhms)
    {
        Instrument instrument = Sketch.Read(text);
        Evaluator evaluator = new(Model.Compile(instrument));
        UnitState state = evaluator.NewState();
        state.Measurand = measurand;
        state.Burden = instrument.Loop!.BurdenOf(loadOhms);
        return evaluator.Chain(state).LoopValue;
    }

    // The voltage divider, V R / (R + r) (Thévenin's theorem; any textbook, such as Horowitz & Hill, section 1.2.5, from memory of the place). One code is 0.18 mV.
    [Theory]
    [InlineData("100 Ω", 10e3, 9.90099)]
    [InlineData("100 Ω", 1e6, 9.99900)]
    [InlineData("1 kΩ", 10e3, 9.09091)]
    public void Load_BehindAResistance_TakesTheDividersShare(string behind, double load, double volts) =>
        Assert.Equal(volts, At(VoltageSketch.Text(behind: behind), 100, load), 3e-3);

    [Fact] // IEC 60228:2004, table 3, class 5, 0.5 mm²: 39.0 Ω/km at 20 °C. Both cores of 100 m: 7.8 Ω of 10 007.8 Ω, 7.79 mV of 10 V
    public void Cable_IsACauseOfErrorAtTheReceiver()
    {
        Instrument instrument = Sketch.Read(VoltageSketch.Text(load: "10 kΩ", output: "cable: { length: 100 m, area: 0.5 mm², class: 5 }"));
        BudgetTable table = Reviewer.Budget(instrument, [100]).Tables.Single(t => t.Output == BudgetOutput.Loop && t.Moment == BudgetMoment.Rated);
        BudgetLine line = Assert.Single(table.Lines, l => l.Name == "output cable resistance");
        Assert.Equal(10 * 7.8 / 10007.8, line.Effect, 10e-6);
    }

    [Fact] // 100 Ω between 1 and 100 µS about the middle: 10 V · 100 Ω · 49.5 µS = 49.5 mV, less the square of the divider, 1 %
    public void Load_IsACauseOfErrorAtTheReceiver_BothWays()
    {
        Instrument instrument = Sketch.Read(VoltageSketch.Text(behind: "100 Ω"));
        BudgetTable table = Reviewer.Budget(instrument, [100]).Tables.Single(t => t.Output == BudgetOutput.Loop && t.Moment == BudgetMoment.Rated);
        BudgetLine line = Assert.Single(table.Lines, l => l.Name == "output load");
        Assert.Equal("S", line.Unit);
        Assert.Equal(49.5e-3, line.Effect, 0.6e-3);
    }

    // An amplifier that keeps 1 V from its supply gives 10.8 − 1 = 9.8 V of 12 V ±10 % and 11.7 − 1 = 10.7 V of 13 V ±10 %.
    [Theory]
    [InlineData("12 V ±10 %", 9.8, Outcome.NotMet)]
    [InlineData("13 V ±10 %", 10.7, Outcome.Met)]
    public void Drive_EndsWhereTheAmplifierDoes(string supply, double most, Outcome outcome)
    {
        Finding finding = Of(
            "output drive",
            VoltageSketch.Text("{ gain: 140 dB, output swing: { below positive: 1 V, above negative: 0 V } }", supply: supply, limits: "{ over: 10.1 V }"));
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(most, Sketch.Figure(finding, "greatest controlled voltage, worst case"), 0.02);
    }

    [Fact] // 5 mA at least, of which the feedback takes 11 V / 40 kΩ: 11 V / (5 − 0.275) mA = 2328 Ω
    public void Drive_ReachesDownToTheLoadThatTheCurrentAllows()
    {
        Finding finding = Of("output drive", VoltageSketch.Text("{ gain: 140 dB, output current: 5 mA min }"));
        Assert.Equal(Outcome.Met, finding.Outcome);
        Assert.Equal(11 / (5e-3 - (11 / 40e3)), Sketch.Figure(finding, "least load, worst case"), 10.0);
        Assert.Equal(Outcome.NotMet, Of("output drive", VoltageSketch.Text("{ gain: 140 dB, output current: 5 mA min }", load: "2 kΩ .. 1 MΩ")).Outcome);
    }

    // P = V I: 27.6 V · 30 mA = 0.828 W into a short; junction 45 °C + 0.828 W · 100 K/W = 127.8 °C (IEC 60747-1, from memory). Allowed (150 − 45) K over the thermal resistance.
    [Theory]
    [InlineData("100 K/W", Outcome.Met, 1.05)]
    [InlineData("200 K/W", Outcome.NotMet, 0.525)]
    public void ShortCircuit_HeatsTheAmplifier(string thermal, Outcome outcome, double allowed)
    {
        string text = VoltageSketch.Text($"{{ gain: 140 dB, output current: 25 mA typ 30 mA max, junction: {thermal}, junction limit: 150 °C }}", ambient: "0 .. 45 °C");
        LoopCondition shorted = Condition(text, LoopConditionKind.ShortCircuit);
        Assert.Equal("U1", shorted.Part);
        Assert.Equal(0.828, shorted.Watts, 0.001);
        Assert.Equal(30e-3, shorted.Amperes, 1e-4);
        Finding finding = Of("heat in the output", text);
        Assert.Equal(outcome, finding.Outcome);
        Assert.Equal(allowed, Sketch.Figure(finding, "allowed"), 1e-9);
    }

    // IEC 60381-2: 1 to 5 V, 0 to 5 V, 0 to 10 V, −10 to 10 V (from memory of the standard, not seen); 2 to 10 V is what 4 to 20 mA make across 500 Ω.
    [Theory]
    [InlineData("{ 0 kPa: 0 V, 100 kPa: 10 V }", Outcome.Met)]
    [InlineData("{ 0 kPa: 2 V, 100 kPa: 10 V }", Outcome.Met)]
    [InlineData("{ 0 kPa: 10 V, 100 kPa: 2 V }", Outcome.Met)]
    [InlineData("{ 0 kPa: 0 V, 100 kPa: 5 V }", Outcome.Met)]
    [InlineData("{ 0 kPa: 1 V, 100 kPa: 5 V }", Outcome.Met)]
    [InlineData("{ 0 kPa: 0 V, 100 kPa: 9 V }", Outcome.NotMet)]
    [InlineData("{ 0 kPa: 1 V, 100 kPa: 10 V }", Outcome.NotMet)]
    public void Scale_IsOneOfTheStandards(string scale, Outcome outcome) => Assert.Equal(outcome, Of("voltage scale agrees with the range", VoltageSketch.Text(scale: scale)).Outcome);

    [Fact] // 50 kPa by the scale: 5 V, through a gain of 4 from 1.25 V, which is 1.25 V / 3 V · 65 536 = code 27 307
    public void Chain_PutsOutVolts()
    {
        Assert.Equal(5.0, At(VoltageSketch.Text(), 50, 100e3), 5e-3);
        Assert.Equal(27307, Assert.Single(Report(VoltageSketch.Text()).Scale, r => Math.Abs(r.Percent - 0.5) < 1e-9).Code, 1.0);
    }

    [Fact] // Currents are said only where a current is meant: what is left to a load
    public void Findings_OfAVoltage_SayVolts()
    {
        Review review = Reviewer.Review(Sketch.Read(VoltageSketch.Text()));
        Assert.All(review.Findings, f => Assert.DoesNotContain("loop", f.Check, StringComparison.Ordinal));
        Assert.All(
            review.Findings.Where(f => f.Stage == "output"),
            f => Assert.DoesNotContain(f.Figures, g => g.Unit == "A" && !g.Name.StartsWith("left", StringComparison.Ordinal)));
        Assert.Equal("V", review.Readings.Columns[^1].Unit);
    }

    [Theory] // A dead zone has nothing below it: a failure lies above, further out than measuring (by the meaning of the words)
    [InlineData("{ over: 10.2 V, failure: 11 V }", Outcome.Met)]
    [InlineData("{ over: 10.2 V, failure: 10.1 V }", Outcome.NotMet)]
    [InlineData("{ over: 10.2 V, failure: 0 V }", Outcome.NotMet)]
    [InlineData("{ failure: 11 V }", Outcome.NotMet)]
    public void Failure_OfADeadZero_LiesAbove(string limits, Outcome outcome) => Assert.Equal(outcome, Of("failure voltage distinct", VoltageSketch.Text(limits: limits)).Outcome);

    [Theory] // With a live zero it may lie below
    [InlineData("{ under: 0.9 V, over: 5.1 V, failure: 0.5 V }", Outcome.Met)]
    [InlineData("{ under: 0.9 V, over: 5.1 V, failure: 5.5 V }", Outcome.Met)]
    [InlineData("{ under: 0.9 V, over: 5.1 V, failure: 0.95 V }", Outcome.NotMet)]
    public void Failure_OfALiveZero_LiesOnEitherSide(string limits, Outcome outcome) =>
        Assert.Equal(outcome, Of("failure voltage distinct", VoltageSketch.Text(scale: "{ 0 kPa: 1 V, 100 kPa: 5 V }", limits: limits)).Outcome);

    [Fact] // A supply put across the terminals drives the greatest current that the amplifier takes or gives: Kirchhoff
    public void ForeignSupply_OnTheTerminals_DrivesTheAmplifierToItsLimit()
    {
        const string Amplifier = "{ gain: 140 dB, output current: 20 mA min, dissipation: 2 W }";
        LoopCondition foreign = Condition(VoltageSketch.Text(Amplifier), LoopConditionKind.ForeignSupplyReversed);
        Assert.Equal("27.6 V on the terminals", foreign.Name.Replace('\u202F', ' ').Replace('\u00A0', ' '));
        Assert.InRange(Math.Abs(foreign.Amperes), 0.019, 0.022);
        LoopCondition open = Condition(VoltageSketch.Text(Amplifier), LoopConditionKind.Open);
        Assert.Equal(0, open.Amperes, 1e-6);
    }
}
