using Throughline.Analysis.Tests.Corpus;
using Throughline.Analysis.Tests.Outputs;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>What values of the output mean to a receiver, and the findings of a current that begins at nothing.</summary>
public sealed class OutputStatesTests
{
    private const string DeadLimits = "{ over: 20.5 mA, failure: 22 mA }";

    private static OutputStates States(string text) => new(Sketch.Read(text).Loop!);

    private static string Dead(string limits = DeadLimits) =>
        LoopSketch.Sink(limits: limits).Replace("scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }", "scale: { 0 kPa: 0 mA, 100 kPa: 20 mA }", StringComparison.Ordinal);

    [Fact] // A live zero of current is judged as NAMUR NE 43 says (loop-signals.json), whatever the instrument says of itself
    public void Classify_OfALiveZeroCurrent_IsTheRecommendations()
    {
        OutputStates states = States(LoopSketch.Sink());
        Assert.True(states.IsByRecommendation);
        for (int i = 0; i <= 2400; i++)
        {
            double amperes = i * 1e-5;
            Assert.Equal(LoopSignals.Classify(amperes), states.Classify(amperes));
        }
    }

    // Half way between the limit of measuring and the failure level: (20.5 + 22) / 2 = 21.25 mA, (10.2 + 11) / 2 = 10.6 V, (0.9 + 0.5) / 2 = 0.7 V. Common practice, no source.
    [Fact]
    public void Classify_OfOtherSignals_IsByTheirOwnLevels()
    {
        OutputStates dead = States(Dead());
        Assert.False(dead.IsByRecommendation);
        Assert.True(dead.IsDead);
        Assert.Equal(LoopState.Measuring, dead.Classify(0));
        Assert.Equal(LoopState.OverRange, dead.Classify(20.3e-3));
        Assert.Equal(LoopState.Undecided, dead.Classify(21.2e-3));
        Assert.Equal(LoopState.FailureHigh, dead.Classify(21.3e-3));

        OutputStates volts = States(VoltageSketch.Text());
        Assert.Equal(LoopState.Measuring, volts.Classify(10));
        Assert.Equal(LoopState.OverRange, volts.Classify(10.1));
        Assert.Equal(LoopState.Undecided, volts.Classify(10.5));
        Assert.Equal(LoopState.FailureHigh, volts.Classify(10.7));

        OutputStates live = States(VoltageSketch.Text(scale: "{ 0 kPa: 1 V, 100 kPa: 5 V }", limits: "{ under: 0.9 V, over: 5.1 V, failure: 0.5 V }"));
        Assert.Equal(LoopState.FailureLow, live.Classify(0.69));
        Assert.Equal(LoopState.Undecided, live.Classify(0.71));
        Assert.Equal(LoopState.UnderRange, live.Classify(0.95));
    }

    [Fact] // Nothing tells 0 mA from no power: it is never false; a current in the middle is, one beyond the failure level is not
    public void Falseness_OfADeadZero_LeavesTheBeginningAlone()
    {
        OutputStates dead = States(Dead());
        Assert.True(dead.Falseness(0) < 0);
        Assert.True(dead.Falseness(10e-3) > 0);
        Assert.True(dead.Falseness(23e-3) < 0);
        Assert.Equal(1, dead.Falseness(double.NaN));
    }

    [Theory] // IEC 60381-1 lists 0 to 20 mA; its failure current lies above, for nothing lies below
    [InlineData(DeadLimits, Outcome.Met)]
    [InlineData("{ over: 20.5 mA, failure: 0 mA }", Outcome.NotMet)]
    [InlineData("{ over: 20.5 mA, failure: 20.2 mA }", Outcome.NotMet)]
    public void FailureCurrent_OfZeroToTwenty_LiesAbove(string limits, Outcome outcome)
    {
        Instrument instrument = Sketch.Read(Dead(limits));
        Assert.Equal(Outcome.Met, Sketch.Finding(instrument, "scale agrees with the range").Outcome);
        Finding finding = Sketch.Finding(instrument, "failure current distinct");
        Assert.Equal(outcome, finding.Outcome);
        Assert.DoesNotContain("NE 43", finding.Statement, StringComparison.Ordinal);
        Assert.DoesNotContain("3.6", finding.Mend ?? "", StringComparison.Ordinal);
    }
}
