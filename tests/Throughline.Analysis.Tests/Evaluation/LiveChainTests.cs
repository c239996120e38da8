using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests;

/// <summary>What the nomogram is drawn from.</summary>
public sealed class LiveChainTests
{
    public static TheoryData<string> Demos => ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level"];

    private static Instrument Read(string file) => InstrumentReader.ReadFile(Repository.PathOf("demo", file)).Value!;

    // The property that gives the tool its name: on a sound instrument a value of the measurand lies at one height on every scale.
    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("hopper-bridge")]
    [InlineData("loop-powered-level")]
    public void Review_OfAChainThatWasRead_IsThatOfItsFile(string demo)
    {
        Instrument instrument = Read(demo + "/instrument.yaml");
        LiveChain chain = LiveChain.Of(instrument);
        chain.Read(instrument.Specification.Range.High, chain.Reference with { SupplyShift = -1 });
        Review afresh = Reviewer.Review(instrument);
        Review review = Reviewer.Review(chain, [], TestContext.Current.CancellationToken);
        Assert.Equal(afresh.Findings.Select(f => (f.Check, f.Subject, f.Statement)), review.Findings.Select(f => (f.Check, f.Subject, f.Statement)));
        Assert.All(afresh.Findings.Zip(review.Findings), p => Assert.Equal(p.First.Margin, p.Second.Margin, 1e-9));
        Assert.All(afresh.Readings.Rows.Zip(review.Readings.Rows), p => Assert.All(p.First.Values.Zip(p.Second.Values), v => Assert.Equal(v.First, v.Second, 1e-9 * Math.Max(1, Math.Abs(v.First)))));
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void Scales_OfASoundInstrument_LieLevel(string demo)
    {
        LiveChain chain = LiveChain.Of(Read(demo + "/instrument.yaml"));
        QuantityRange range = chain.Instrument.Specification.Range;
        System.Collections.Immutable.ImmutableArray<ChainScale> scales = chain.Scales(chain.Reference.Process);
        Assert.True(scales.Length >= 3);
        Assert.Equal(0, scales[0].Column);
        for (int i = 0; i <= 20; i++)
        {
            double x = range.Low + (range.Width * i / 20);
            LiveReading reading = chain.Read(x, chain.Reference);
            foreach (ChainScale scale in scales)
            {
                // Codes and the display are rounded, and the intents' own tolerances are a few parts in a thousand.
                Assert.Equal(x, scale.LevelOf(reading.Values[scale.Column]), range.Width * 0.01);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void Level_OfTheValueAtALevel_IsThatLevel(string demo)
    {
        LiveChain chain = LiveChain.Of(Read(demo + "/instrument.yaml"));
        foreach (ChainScale scale in chain.Scales(chain.Reference.Process))
        {
            double width = scale.Measurands[^1] - scale.Measurands[0];
            for (double level = scale.Measurands[0] - (0.1 * width); level < scale.Measurands[^1] + (0.1 * width); level += width / 23)
            {
                Assert.Equal(level, scale.LevelOf(scale.ValueAt(level)), width * 1e-9);
            }

            Assert.True(double.IsNaN(scale.LevelOf(double.NaN)));
        }
    }

    // The wrong gain is a bend at the very stage: before it everything lies level.
    [Fact]
    public void Scales_OfAWrongGain_BendAtThatStage()
    {
        LiveChain chain = LiveChain.Of(Read("nutrient-ph/flawed/01-gain.yaml"));
        LiveReading reading = chain.Read(8.5, chain.Reference);
        foreach (ChainScale scale in chain.Scales(chain.Reference.Process))
        {
            double off = Math.Abs(scale.LevelOf(reading.Values[scale.Column]) - 8.5);
            if (scale.Stage == "sensor")
            {
                Assert.InRange(off, 0, 0.01);
            }
            else
            {
                Assert.InRange(off, 0.05, 1);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Demos))]
    public void Read_AtTheReference_IsTheReadingsTable(string demo)
    {
        Instrument instrument = Read(demo + "/instrument.yaml");
        ReadingsTable table = Reviewer.Readings(instrument);
        LiveChain chain = LiveChain.Of(instrument);
        foreach (ReadingsRow row in table.Rows)
        {
            LiveReading reading = chain.Read(row.Values[0], table.Conditions);
            for (int c = 0; c < row.Values.Length; c++)
            {
                Assert.Equal(row.Values[c], reading.Values[c], 1e-9 * Math.Max(1, Math.Abs(row.Values[c])));
            }

            Assert.NotEmpty(reading.Nodes);
        }
    }

    [Fact]
    public void Spread_OfABatch_HoldsTheNominalUnit()
    {
        LiveChain chain = LiveChain.Of(Read("nutrient-ph/instrument.yaml"));
        foreach (ChainSpread spread in chain.Spread(chain.Reference, points: 3, cancel: TestContext.Current.CancellationToken))
        {
            LiveReading nominal = chain.Read(spread.Measurand, chain.Reference);
            for (int c = 0; c < nominal.Values.Length; c++)
            {
                Assert.InRange(nominal.Values[c], spread.Low[c] - 1e-12, spread.High[c] + 1e-12);
            }
        }
    }

    [Fact]
    public void Spread_OfAnotherChainOfTheUnit_IsTheSame()
    {
        LiveChain chain = LiveChain.Of(Read("hopper-bridge/instrument.yaml"));
        CancellationToken cancel = TestContext.Current.CancellationToken;
        ChainSpread[] own = [.. chain.Spread(chain.Reference, points: 3, cancel: cancel)];
        ChainSpread[] other = [.. chain.Another().Spread(chain.Reference, points: 3, cancel: cancel)];
        Assert.Equal(own.Select(s => s.Measurand), other.Select(s => s.Measurand));
        Assert.Equal(own.SelectMany(s => s.Low.Concat(s.High)), other.SelectMany(s => s.Low.Concat(s.High)));
    }

    [Fact]
    public void Spread_ThatIsGivenUp_Ends()
    {
        LiveChain chain = LiveChain.Of(Read("nutrient-ph/instrument.yaml"));
        Assert.ThrowsAny<OperationCanceledException>(() => chain.Spread(chain.Reference, cancel: new CancellationToken(canceled: true)));
    }

    // The person of the virtual batch and the one who turns by hand adjust one and the same unit.
    [Theory]
    [InlineData("nutrient-ph", 0)]
    [InlineData("nutrient-ph", 77)]
    [InlineData("hopper-bridge", 5)]
    [InlineData("cold-store-pt100", 12)]
    public void BenchUnit_AdjustedByAPractisedHand_StandsAsInTheBatch(string demo, long number)
    {
        Instrument instrument = Read(demo + "/instrument.yaml");
        UnitReport report = Batch.RunUnit(instrument, new BatchOptions(), number);
        BenchUnit unit = BenchUnit.OfUnit(instrument, new BatchOptions(), number);
        Assert.Equal(report.Rounds, unit.AdjustAll());
        for (int i = 0; i < report.Steps.Length; i++)
        {
            Assert.Equal(report.Steps[i].Position, unit.PositionAt(i), 1e-9);
            BenchMeter meter = unit.Read(i);
            Assert.Equal(report.Steps[i].IsReached, meter.IsReached);

            // The meter shows whole digits.
            Assert.Equal(report.Steps[i].Reading, meter.Shown, (unit.Tasks[i].Count / 2) + 1e-12);
        }
    }

    [Fact]
    public void BenchUnit_WithATrimmerTurnedAway_DoesNotReachItsTarget()
    {
        BenchUnit unit = BenchUnit.Of(Read("nutrient-ph/instrument.yaml"));
        unit.AdjustAll();
        Assert.True(unit.Read(0).IsReached);
        unit.Turn(0, 2);
        Assert.Equal(1, unit.PositionAt(0));
        Assert.False(unit.Read(0).IsReached);
        unit.Turn(0, double.NaN);
        Assert.Equal(1, unit.PositionAt(0));
    }
}
