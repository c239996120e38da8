using Throughline.Analysis.Tests.Corpus;
using Throughline.Analysis.Tests.Loops;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>A source that falls and rises: at which of its voltages what happens is the sum of dropouts and drops by hand, what the loop then carries Ohm's law.</summary>
public sealed class BrownOutTests
{
    /// <summary>V, how finely an event is found and how much below its voltage a rail sags.</summary>
    private const double Fine = 7e-3;

    [Fact] // 18 V is the least input of the converter; 5 V and 2 V of dropout are 7 V; 4.4 V of reset and 2 V are 6.4 V
    public void Stretches_OfTheElectrodesTransmitter_BeginWhereTheFileSays()
    {
        BrownOut brownOut = Single(Demo("nutrient-ph"));
        Assert.Equal([24, 18, 7, 6.4], brownOut.Stretches.Select(s => s.High), Within);
        Assert.Equal(["runs", "runs", "runs", "in reset"], brownOut.Stretches.Select(s => s.Processor));
        Assert.Equal([[], ["L18", "L5"], ["L18", "L5"], ["L18", "L5"]], brownOut.Stretches.Select(s => s.Gone.ToArray()));
        Assert.Equal([[], [], ["A5"], ["A5"]], brownOut.Stretches.Select(s => s.Sagging.ToArray()));
        Assert.All(brownOut.Stretches.Skip(1), s => Assert.Equal(0, s.Falling.Greatest, 1e-6));
    }

    [Fact] // 4 mA through 200 Ω of load and 24.9 Ω of sense, 0.7 V of diodes, 0.5 V of dropout: 2.1 V above the rail
    public void Stretches_OnTwoWires_BeginWhereTheLoopLeavesTheRailItsVoltage()
    {
        BrownOut brownOut = Single(Demo("loop-powered-level"));
        double above = (4e-3 * 224.9) + 0.7 + 0.5;
        Assert.Equal("loop supply", brownOut.Source);
        Assert.Equal([24, 3.3 + above, 2.7 + above], brownOut.Stretches.Select(s => s.High), (a, b) => Math.Abs(a - b) < 0.02);
        Assert.Equal(4e-3, brownOut.Stretches[1].Falling.Least, 50e-6);
        Assert.InRange(brownOut.Stretches[2].Falling.Greatest, 1e-3, 3.6e-3);
    }

    [Fact] // diode 0.4 V, converter from 10 V, regulator 5 V + 1 V, charge pump from nothing; reset at 4.1 V
    public void Stretches_OfATree_FollowItsDropsAndRanges()
    {
        BrownOut brownOut = Single(Sink("""
            input: { kind: dc, voltage: 24 V, return: 0V }
              D: { kind: protection diode, from: input, drop: 0.4 V }
              C: { kind: switching converter, from: D, voltage: 12 V, input: 10 .. 30 V }
              P: { kind: charge pump, from: C, voltage: −12 V }
              A5: { kind: linear regulator, from: D, voltage: 5.0 V, dropout: 1 V, draws: { arithmetic: 1 mA, writing: 1 mA } }
            """, "resets below: 4.1 V"));

        // Behind a diode the rail follows the source from the beginning: nothing happens until a regulator is short of it.
        Assert.Equal([24, 10.4, 6.4, 5.5], brownOut.Stretches.Select(s => s.High), Within);
        Assert.Equal(["P"], brownOut.Unstated);
    }

    [Theory] // a converter of which nothing is said keeps its code: from 4.4 V of rail downwards the loop follows the rail through the whole scale
    [InlineData(true, "code 0", false)]
    [InlineData(false, "keeps its last code", true)]
    public void Falling_BelowTheResetThreshold_DependsOnWhatTheOutputConverterDoes(bool resets, string words, bool isFalse)
    {
        string text = File.ReadAllText(Repository.PathOf("demo", "cold-store-pt100", "instrument.yaml"));
        const string Key = "resets with processor: true";
        Assert.Contains(Key, text, StringComparison.Ordinal);
        Instrument instrument = InstrumentReader.ReadText("instrument.yaml", resets ? text : text.Replace(Key, "resets with processor: false", StringComparison.Ordinal), Repository.PathOf("demo", "cold-store-pt100")).Value!;
        BrownOut brownOut = Single(instrument);
        BrownOutStretch last = brownOut.Stretches[^1];
        Assert.Equal((words, isFalse), (last.Falling.Output, last.Falling.Falseness > 0));
        Assert.Equal("code 0", last.Rising.Output);
        Assert.True(last.Rising.Falseness < 0);
        Finding finding = Sketch.Finding(instrument, "loop steady at brown-out", "input");
        Assert.Equal(isFalse ? Outcome.NotMet : Outcome.Met, finding.Outcome);
        if (isFalse)
        {
            double amperes = Sketch.Figure(finding, "current");
            Assert.InRange(amperes, LoopSignals.FailureLow, LoopSignals.FailureHigh);
            Assert.Contains("resets with processor", finding.Mend, StringComparison.Ordinal);
        }
    }

    [Fact] // without a stated threshold the processor may be in reset anywhere below the voltage that its rail should have
    public void Processor_WithoutAResetThreshold_MayBeInResetBelowItsRail()
    {
        BrownOut brownOut = Single(Sink("""
            input: { kind: dc, voltage: 24 V, return: 0V }
              A5: { kind: linear regulator, from: input, voltage: 5.0 V, dropout: 1 V, draws: { arithmetic: 1 mA } }
            """, "starts in: 10 ms"));
        Assert.Equal(["runs", "may be in reset"], brownOut.Stretches.Select(s => s.Processor));
        Assert.Equal("as written or keeps its last code", brownOut.Stretches[1].Falling.Output);
    }

    [Fact] // 5 V · 20 mA sink: U1's output stands 50 mV below its rail; with 100 Ω and a diode's voltage it can't set 20 mA below 2.0 V + 0.7 V of rail
    public void Falling_WhileTheProcessorRuns_FindsTheCurrentThatTheRailNoLongerGives()
    {
        Instrument instrument = Sink("input: { kind: dc, voltage: 24 V, return: 0V }\n  A5: { kind: linear regulator, from: input, voltage: 5.0 V, dropout: 1 V, draws: { arithmetic: 1 mA } }", "resets below: 1.5 V");
        BrownOut brownOut = Single(instrument);
        BrownOutStretch sagging = brownOut.Stretches.Single(s => s.Processor == "runs" && s.Sagging.Contains("A5"));
        Assert.True(sagging.Falling.Falseness > 0);

        // At 1.5 V of rail: (1.45 V − V_BE) / 100 Ω.
        Assert.InRange(Sketch.Figure(Sketch.Finding(instrument, "loop steady at brown-out"), "current"), 5e-3, 18e-3);
    }

    [Fact] // Property: in every demo the stretches join from the stated voltage down to nothing, and no rail comes back on the way
    public void Stretches_OfEveryDemo_JoinAndOnlyLose()
    {
        foreach (string demo in new[] { "nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level" })
        {
            foreach (BrownOut brownOut in Reviewer.Supplies(Demo(demo))!.BrownOuts)
            {
                Assert.Equal(0, brownOut.Stretches[^1].Low);
                foreach ((BrownOutStretch above, BrownOutStretch below) in brownOut.Stretches.Zip(brownOut.Stretches.Skip(1)))
                {
                    Assert.Equal(above.Low, below.High, 0.01);
                    Assert.Empty(above.Gone.Except(below.Gone));
                    Assert.Empty(above.Sagging.Except(below.Gone).Except(below.Sagging));
                }
            }
        }
    }

    private static bool Within(double a, double b) => Math.Abs(a - b) <= Fine;

    private static BrownOut Single(Instrument instrument) => Assert.Single(Reviewer.Supplies(instrument)!.BrownOuts);

    private static Instrument Demo(string name) => InstrumentReader.ReadFile(Repository.PathOf("demo", name, "instrument.yaml")).Value!;

    private static Instrument Sink(string supplies, string arithmetic) => Sketch.Read(
        LoopSketch.Sink().Replace("A5: { kind: dc, voltage: 5.0 V, return: 0V }", supplies, StringComparison.Ordinal)
            .Replace("to: measurand }", "to: measurand, " + arithmetic + " }", StringComparison.Ordinal));
}
