using Throughline.Analysis.Tests.Corpus;
using Throughline.Analysis.Tests.Outputs;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>Shunt regulators against the published example (data/circuits/answers.csv, H7: Franco, Design with Operational Amplifiers and Analog Integrated
/// Circuits, ex. 11.3, p. 504: 6.8 V, 10 Ω, 10 to 20 V, 0 to 10 mA) and by Kirchhoff's laws.</summary>
public sealed class ShuntRegulatorTests
{
    private static readonly PublishedTable Answers = PublishedTable.Read("circuits", "answers.csv");

    [Fact]
    public void Rail_OverInputAndLoad_RegulatesAsPublished()
    {
        double line = (Volts(20, 0) - Volts(10, 0)) / 10 / 6.5 * 100;
        double load = (Volts(15, 10) - Volts(15, 0)) / 10 / 6.5 * 100;
        Assert.Equal(Value("zener line regulation Rs=270"), line, 1e-8);
        Assert.Equal(Value("zener load regulation Rs=270"), load, 1e-8);

        static double Volts(double input, double milliamperes) => Trees.Rail(
            Typical(FormattableString.Invariant($"kind: dc, voltage: {input} V, return: 0V"), FormattableString.Invariant($"through: 270 Ω, resistance: 10 Ω, draws: {{ load: {milliamperes} mA }}")), "Z").OutputVolts;
    }

    [Theory] // the largest resistor leaves 2.5 mA at 10 V and 10 mA: a quarter of the load, as the book takes it
    [InlineData(0, Outcome.Marginal)]
    [InlineData(5, Outcome.NotMet)]
    [InlineData(-60, Outcome.Met)]
    public void Headroom_AtThePublishedResistor_IsJustThere(double more, Outcome outcome)
    {
        string ohms = BlockSketch.Number(Value("zener Rs max") + more);
        Finding finding = Sketch.Finding(
            Sketch.Read(Trees.Text($"Z: {{ kind: shunt regulator, from: input, voltage: 6.8 V, through: {ohms} Ω, resistance: 10 Ω, least: 2.4999 mA, draws: {{ load: 10 mA }} }}", input: "kind: dc, voltage: 15 V ±5 V, return: 0V")),
            "supply headroom", "Z");
        Assert.Equal(outcome, finding.Outcome);
        if (more == 0)
        {
            Assert.Equal(2.5e-3, Sketch.Figure(finding, "least left for it"), 1e-9);

            // 20 V − 6.8 V through 264 Ω, less 10 mA that are always drawn.
            Assert.Equal((13.2 / 264) - (10e-3 * 254 / 264), Sketch.Figure(finding, "most to take away"), 1e-6);
        }
    }

    [Fact] // more than what feeds it: the rail falls by the load's current through the feed and nothing is taken away
    public void Rail_ThatTakesMoreThanItsFeed_Sags()
    {
        RailPoint rail = Trees.Rail(Typical("kind: dc, voltage: 12 V, return: 0V", "through: 1 kΩ, draws: { load: 8 mA }"), "Z");
        Assert.Equal(4, rail.OutputVolts, 1e-6);
        Assert.Equal(0, rail.ShuntAmperes, 1e-9);
        Instrument instrument = Sketch.Read(Trees.Text("Z: { kind: shunt regulator, from: input, voltage: 6.8 V, through: 1 kΩ, draws: { load: 8 mA } }", input: "kind: dc, voltage: 12 V, return: 0V"));
        Assert.Equal(Outcome.NotMet, Sketch.Finding(instrument, "supply headroom", "Z").Outcome);
    }

    [Theory] // Property: the input takes the same whatever the rail takes, and every watt is accounted for
    [InlineData("through: 270 Ω", 6.8)]
    [InlineData("through: 270 Ω, resistance: 10 Ω", 6.8)]
    [InlineData("through: 20 mA", 6.8)]
    [InlineData("through: 270 Ω", -6.8)]
    public void Input_OfAShuntRegulator_DoesNotDependOnItsLoad(string feed, double volts)
    {
        string sign = volts < 0 ? "−" : "";
        foreach (double load in new[] { 0.0, 3, 9 })
        {
            SupplyPoint point = Reviewer.Supplies(Sketch.Read(Trees.Text(
                FormattableString.Invariant($"Z: {{ kind: shunt regulator, from: input, voltage: {sign}6.8 V, {feed}, draws: {{ load: {load} mA }} }}"), input: $"kind: dc, voltage: {sign}15 V, return: 0V")))!.Typical!;
            RailPoint rail = Trees.Rail(point, "Z");
            double fed = feed.Contains("mA", StringComparison.Ordinal) ? 20e-3 : (15 - Math.Abs(rail.OutputVolts)) / 270;
            Assert.Equal(fed, Math.Abs(rail.InputAmperes), 1e-9);
            Assert.Equal(fed - (load * 1e-3), rail.ShuntAmperes, 1e-9);
            Assert.Equal(0, point.UnaccountedWatts, 1e-9 * point.FeedingWatts);
        }
    }

    [Fact] // on two wires: what feeds it is loop current whether the rail needs it or not
    public void Loop_WithAShuntRegulatorOnIt_CarriesWhatFeedsIt()
    {
        string text = File.ReadAllText(Repository.PathOf("demo", "loop-powered-level", "instrument.yaml"));
        int from = text.IndexOf("  A3: {", StringComparison.Ordinal);
        int to = text.IndexOf("draws: {", from, StringComparison.Ordinal);
        text = text[..from] + "  A3: { kind: shunt regulator, from: LP, voltage: 3.3 V ±1 %, through: 2.9 mA ±2 %, least: 50 µA, greatest: 20 mA, starts in: 2 ms, " + text[to..];
        Parsed<Instrument> read = InstrumentReader.ReadText("instrument.yaml", text, Repository.PathOf("demo", "loop-powered-level"));
        Assert.Empty(read.Diagnostics.Select(d => d.Message));
        SupplyReport report = Reviewer.Supplies(read.Value!)!;
        RailPoint rail = Trees.Rail(report.Typical, "A3");
        Assert.Equal(2.9e-3, rail.InputAmperes, 1e-12);
        Assert.Equal(2.9e-3 - rail.OutputAmperes, rail.ShuntAmperes, 1e-12);
        Assert.InRange(rail.ShuntAmperes, 0.5e-3, 1.5e-3);
        foreach (SupplyPoint? point in new[] { report.Typical, report.Hardest })
        {
            Assert.Equal(0, point!.UnaccountedWatts, 1e-9 * point.FeedingWatts);
        }

        Review review = Reviewer.Review(read.Value!);

        // The demo's parts file has no price for such a part; nothing else is wrong.
        Assert.Equal(["cost of the parts"], review.Findings.Where(f => f.Outcome == Outcome.NotMet).Select(f => f.Check));
        Finding budget = Assert.Single(review.Findings, f => f.Check == "current below the live zero");
        Assert.Contains(budget.Figures, f => f.Unit == "A" && Math.Abs(f.Value - 2.9e-3) < 0.2e-3);
    }

    private static SupplyPoint Typical(string input, string feed) =>
        Reviewer.Supplies(Sketch.Read(Trees.Text($"Z: {{ kind: shunt regulator, from: input, voltage: 6.8 V, {feed} }}", input: input)))!.Typical!;

    private static double Value(string quantity) => Answers.Rows.First(r => r["example"] == "H7" && r["quantity"] == quantity).Number("value");
}
