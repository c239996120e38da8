using Throughline.Analysis.Tests.Corpus;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

public class LoopConditionsTests
{
    private const string Rated = ", dissipation: 1 W, junction: 125 K/W, junction limit: 150 °C";

    private static LoopCondition Of(string text, LoopConditionKind kind) => Assert.Single(Reviewer.Loop(Sketch.Read(text))!.Conditions, c => c.Kind == kind);

    // Power P = (V − I R) I, as loop-examples.json has it (24 V into a short at 22 mA: 0.528 W), here less the emitter's 100 Ω: (26.4 V − 2.2 V) 22 mA = 0.5324 W.
    // Thermal resistance as Sedra & Smith, example 14.4: junction = ambient + P · Rth = 25 + 0.5324 · 125 = 91.6 °C.
    [Fact]
    public void ShortCircuit_WarmsTheTransistor_AsWorked()
    {
        LoopCondition shorted = Of(LoopSketch.Sink(transistor: Rated), LoopConditionKind.ShortCircuit);
        Assert.Equal("Q1", shorted.Part);
        Assert.Equal(0.5324, shorted.Watts, 0.0005);
        Assert.Equal(91.55, shorted.JunctionCelsius, 0.1);
        Assert.Equal(1.0, shorted.AllowedWatts, 1e-9);
        Assert.Equal(LoopHarm.None, shorted.Harm);
    }

    [Fact] // Through 250 Ω of least load: (26.4 − 22 mA · 350 Ω) 22 mA = 0.4114 W, and less current is less heat: its top is at 26.4 V / 700 Ω = 37.7 mA
    public void RatedLoad_IsWarmestAtTheGreatestCurrent()
    {
        LoopCondition rated = Of(LoopSketch.Sink(transistor: Rated, load: "250 .. 500 Ω"), LoopConditionKind.RatedLoad);
        Assert.Equal(0.4114, rated.Watts, 0.0005);
        Assert.Equal(0.022, rated.Amperes, 1e-5);
    }

    [Fact] // 26.4 V / (2 · 1100 Ω) = 12.0 mA is where (V − I R) I has its top, 26.4² / (4 · 1100) = 0.1584 W: not at the end of the scale
    public void RatedLoad_ThatTakesMostOfTheVoltage_IsWarmestInTheMiddle()
    {
        LoopCondition rated = Of(LoopSketch.Sink(transistor: Rated, load: "1000 Ω"), LoopConditionKind.RatedLoad);
        Assert.Equal(0.1584, rated.Watts, 0.001);
        Assert.InRange(rated.Amperes, 0.011, 0.013);
    }

    [Fact]
    public void Open_LeavesTheAmplifierAtItsLimit_AndTheDisplayAsItWas()
    {
        LoopCondition open = Of(LoopSketch.Sink(), LoopConditionKind.Open);
        Assert.InRange(Math.Abs(open.Amperes), 0, 1e-6);
        Assert.Contains("U1 at its positive limit", open.Remark, StringComparison.Ordinal);
        Assert.Contains("goes on showing 50", open.Remark!.Replace('\u202F', ' '), StringComparison.Ordinal);
    }

    // The wrong way round the transistor's collector junction conducts; a diode in front blocks.
    [Fact]
    public void Reversed_IsBlockedByADiode_AndNotWithout()
    {
        LoopCondition bare = Of(LoopSketch.Sink(), LoopConditionKind.Reversed);
        LoopCondition blocked = Of(LoopSketch.Sink(series: "D1: { diode: small signal, anode: loop+, cathode: c }"), LoopConditionKind.Reversed);
        Assert.Equal("Q1", bare.Part);
        Assert.InRange(bare.Amperes, -0.3, -0.005);
        Assert.InRange(Math.Abs(blocked.Amperes), 0, 1e-6);
    }

    [Fact] // 1 µA at 25 °C, doubled every 10 K: 4 µA at 45 °C, 0.025 % of 16 mA. Doubling by a fixed step: common practice
    public void Clamps_LeakWhatTheFileSays_WhenHot()
    {
        LoopCondition hot = Of(LoopSketch.Sink("clamps: { leakage: 1 µA max, doubles every: 10 K }", ambient: "5 .. 45 °C"), LoopConditionKind.ClampLeakage);
        Assert.Equal(4e-6, hot.Amperes, 1e-12);
        Assert.Contains("0.025", hot.Remark, StringComparison.Ordinal);
    }

    [Fact] // The leakage is part of the worst case: a sink's receiver sees it on top
    public void Clamps_AddToTheBudgetOfTheLoop()
    {
        Throughline.Instruments.Instrument leaky = Sketch.Read(LoopSketch.Sink("clamps: { leakage: 1 µA max, doubles every: 10 K }", ambient: "5 .. 45 °C"));
        BudgetTable table = Reviewer.Budget(leaky, [50]).Tables.Single(t => t.Output == BudgetOutput.Loop && t.Moment == BudgetMoment.Rated);
        BudgetLine line = Assert.Single(table.Lines, l => l.Owner == "loop");
        Assert.Equal(4e-6, line.Effect, 1e-9);
    }

    [Fact] // One wire of the receiver and the sensor's side at the same earth: the receiver of a loop that is not isolated is bridged. By Kirchhoff
    public void Grounded_OnALoopThatIsNotIsolated_BridgesTheReceiver()
    {
        LoopCondition grounded = Of(LoopSketch.Sink(), LoopConditionKind.ReceiverGrounded);
        Assert.Equal(-0.012, grounded.Shift, 20e-6);
    }
}
