using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Dynamics;

/// <summary>A reference between two nodes, fed through a resistor from a rail, as a shunt reference is: it takes current and gives none (common practice, no source).</summary>
public sealed class FedReferenceTests
{
    [Theory]
    [InlineData("R6 open", FaultEffect.Hidden)] // without its feed it holds nothing
    [InlineData("R6 short", FaultEffect.Undefined)] // the rail and the reference both insist
    [InlineData("R5 short", FaultEffect.Hidden)] // the divider then takes more than the feed gives: (5 − 1.25) V / 10 kΩ = 375 µA
    [InlineData("C1 open", FaultEffect.Harmless)]
    public void Faults_AboutAReferenceThatTheCircuitFeeds_FollowItsFeed(string fault, FaultEffect expected)
    {
        Instrument instrument = InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml")).Value!;
        FaultRow row = Assert.Single(Reviewer.Faults(instrument).Rows, r => r.Fault == fault);
        Assert.Equal(expected, row.Effect);
    }

    [Fact] // with nothing that feeds the divider its amplifier has 0 V to follow
    public void Circuit_WithoutTheFeed_StandsAtTheDividersReturn()
    {
        Instrument instrument = InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml")).Value!;
        FaultRow row = Assert.Single(Reviewer.Faults(instrument).Rows, r => r.Fault == "R6 open");
        Assert.Contains("U2 at its negative limit", row.Remark, StringComparison.Ordinal);
    }
}
