using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Cost;

/// <summary>The bill of materials: what is on it, what it costs, and which class of tolerance is bought. The prices are made up; the sums are done by hand.</summary>
public sealed class BillTests
{
    private const string Text = """
        instrument: Level transmitter
        specification: { measurand: level, range: 0 .. 2 V, display: { step: 0.001 V, error: ±0.05 } }
        sensor: { kind: table, signal: V, points: { 0 V: 0 V, 2 V: 2 V }, resistance: 1 kΩ, between: [in, 0V] }
        supplies:
          input: { kind: dc, voltage: 24 V, return: 0V }
          A5: { kind: linear regulator, from: input, voltage: 5 V }
        stages:
          - input:
              parts:
                U1: { op amp: cmos precision, plus: in, minus: fb, out: amp, supply: [A5, 0V] }
                R1: { resistor: 10 kΩ ±1 % ±50 ppm/K, between: [amp, fb] }
                R2: { resistor: 10 kΩ ±1 % ±50 ppm/K, between: [fb, 0V] }
                R3: { resistor: 10 kΩ ±1 %, between: [amp, adc] }
                C1: { capacitor: 1 µF ±10 %, between: [adc, 0V] }
              from: in
              to: adc
              intent: { 0 V: 0 V, 2 V: 4 V }
          - reading: { kind: adc, input: adc, bits: 16, reference: 5 V }
          - arithmetic: { from: reading, to: measurand }
        cost: { currency: EUR, quantities: [1000, 10, 10], most: 6, further: { board: { 1: 4, 500: 1.5 } } }
        """;

    private const string Parts = """
        prices:
          resistor:
            ±5 %: 0.01
            ±1 % ±100 ppm/K: 0.02
            ±1 % ±50 ppm/K: { 1: 0.10, 100: 0.05, 2000: 0.03 }
            ±0.1 % ±25 ppm/K: 0.20
          capacitor: { ±10 %: 0.04 }
          op amp: { cmos precision: 0.5 }
          linear regulator: 0.3
          adc: 2
        """;

    [Fact]
    public void Bill_Articles_AreGroupedAndBoughtInTheCheapestClassThatKeepsWhatIsStated()
    {
        BillOfMaterials bill = Reviewer.Bill(Read(Parts));
        Assert.Equal([10, 1000], bill.Quantities);
        Assert.Equal(
            [
                "1 op amp cmos precision: U1", "2 resistor 10 kΩ ±1 % ±50 ppm/K: R1 R2", "1 resistor 10 kΩ ±1 % ±100 ppm/K: R3", "1 capacitor 1 µF ±10 %: C1",
                "1 linear regulator 5 V : A5", "1 adc 16 bit : reading", "1 board : board",
            ],
            bill.Lines.Select(l => $"{l.Count} {l.Article.Replace(Engineering.ThinSpace, ' ')} {l.Class}: {string.Join(' ', l.Owners)}"));
        Assert.Empty(bill.Unpriced);
    }

    [Fact]
    public void Bill_Sums_CountPiecesBoughtAtOnce()
    {
        BillOfMaterials bill = Reviewer.Bill(Read(Parts));

        // Ten: 20 resistors at 0.10. A thousand: 2,000 of them at 0.03; 1,000 boards at 1.5.
        Assert.Equal(0.5 + (2 * 0.10) + 0.02 + 0.04 + 0.3 + 2 + 4, bill.Total(10), 12);
        Assert.Equal(0.5 + (2 * 0.03) + 0.02 + 0.04 + 0.3 + 2 + 1.5, bill.Total(1000), 12);
    }

    [Theory]
    [InlineData("most: 6", Parts, Outcome.Met)]
    [InlineData("most: 4.6", Parts, Outcome.Marginal)]
    [InlineData("most: 4", Parts, Outcome.NotMet)]
    [InlineData("most: 6", "prices: { adc: 2 }", Outcome.NotMet)]
    public void Check_OfTheCost_HoldsTheSumAndWantsEveryPrice(string most, string parts, Outcome expected)
    {
        Review review = Reviewer.Review(Read(parts, Text.Replace("most: 6", most, StringComparison.Ordinal)));
        Assert.Equal(expected, Assert.Single(review.Findings, f => f.Check == "cost of the parts").Outcome);
    }

    [Fact]
    public void Classes_OfADivider_AreWeighedAsAFreshBudgetWeighsThem()
    {
        Instrument instrument = Read(Parts);
        ClassReport report = Reviewer.Classes(instrument, [], TestContext.Current.CancellationToken);
        ClassChange better = report.Better.First(c => c.Part == "R1");
        Assert.Equal("±0.1 % ±25 ppm/K", better.To.Text);
        Assert.Equal(0.20 - 0.05, better.CostChange, 12);

        // The very change, written into the file.
        Instrument written = Read(Parts, Text.Replace("R1: { resistor: 10 kΩ ±1 % ±50 ppm/K", "R1: { resistor: 10 kΩ ±0.1 % ±25 ppm/K", StringComparison.Ordinal));
        double expected = Reviewer.Budget(written).Tables.Where(t => t.Output == BudgetOutput.Display && t.Moment == BudgetMoment.Rated).Max(t => t.Judged / t.Allowed);
        Assert.Equal(expected, better.Display, 9);
        Assert.True(better.Display < report.Display);

        // R3 and C1 move nothing at direct current: R3 may be the cheapest there is.
        Assert.Contains(report.Cheaper, c => c.Part == "R3" && c.To.Text == "±5 %");
    }

    [Fact]
    public void Classes_TakenTogether_LeaveEveryFindingAsItIs()
    {
        Instrument instrument = Read(Parts, Text.Replace("error: ±0.05", "error: ±0.022", StringComparison.Ordinal));
        ClassReport report = Reviewer.Classes(instrument, [], TestContext.Current.CancellationToken);
        Outcome now = Accuracy(instrument);
        string text = instrument.Source.Content;
        foreach (ClassChange c in report.Together)
        {
            string old = text.Split('\n').Single(l => l.Contains($" {c.Part}: {{", StringComparison.Ordinal));
            string value = old.Split("kΩ ")[1].Split(',')[0];
            text = text.Replace(old, old.Replace(value, c.To.Text, StringComparison.Ordinal), StringComparison.Ordinal);
        }

        Assert.NotEmpty(report.Together);
        Assert.Equal(now, Accuracy(Read(Parts, text)));

        static Outcome Accuracy(Instrument of) => Reviewer.Review(of).Findings.Single(f => f.Check == "accuracy at display").Outcome;
    }

    [Theory]
    [InlineData("prices: { resistor: 0.02 }", "class")]
    [InlineData("prices: { resistor: { 1 %: 0.02 } }", "class")]
    [InlineData("prices: { adc: { 1.5: 2 } }", "whole numbers")]
    [InlineData("prices: { adc: { 0: 2 } }", "from 1 to")]
    [InlineData("prices: { adc: cheap }", "price")]
    [InlineData("prices: { adcs: 2 }", "adc")]
    public void Mistake_InPrices_IsShownInItsPlace(string parts, string word)
    {
        Parsed<Instrument> parsed = Parse(parts, Text);
        Assert.Null(parsed.Value);
        Assert.Contains(parsed.Diagnostics, d => d.Span.Source!.Name.EndsWith("parts.yaml", StringComparison.Ordinal) && (d.Message + d.Expected + d.Mend).Contains(word, StringComparison.Ordinal));
    }

    [Fact]
    public void Demo_HasAPriceForEverythingAndKeepsItsLimit()
    {
        foreach (string demo in new[] { "cold-store-pt100", "hopper-bridge" })
        {
            Instrument instrument = InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml")).Value!;
            BillOfMaterials bill = Reviewer.Bill(instrument);
            Assert.Empty(bill.Unpriced);
            Assert.True(bill.Total(bill.Quantities[^1]) < instrument.Cost!.Most!.Value);
        }
    }

    private static Instrument Read(string parts, string text = Text)
    {
        Parsed<Instrument> parsed = Parse(parts, text);
        Assert.Empty(parsed.Diagnostics);
        return parsed.Value!;
    }

    private static Parsed<Instrument> Parse(string parts, string text)
    {
        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            File.WriteAllText(Path.Combine(folder, "parts.yaml"), parts);
            return InstrumentReader.ReadText(Path.Combine(folder, "instrument.yaml"), text, folder);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
