using Throughline.Analysis.Tests.Adjusting;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>Error budgets that can be worked by hand. Formulas: JCGM 100:2008, 5.1 and 4.3.7; the rest is Ohm's law, written beside each figure.</summary>
public sealed class BudgetClosedFormTests
{
    /// <summary>kPa for one code: 2.5 V in 4096 codes, 0.5 V for 100 kPa.</summary>
    private const double PerCode = 2.5 / 4096 / 0.5 * 100;

    /// <summary>Of a figure; exact sensitivities of laws differentiated by steps of a thousandth of a tolerance.</summary>
    private const double Close = 1e-5;

    [Fact]
    public void Divider_AsBuilt_HasTheEffectsOfItsRatio()
    {
        BudgetTable table = Table(Sketch.Divider(upper: "10 kΩ ±1 %", lower: "10 kΩ ±0.5 %", adc: "reference: 2.5 V ±0.2 %"), BudgetMoment.AsBuilt, 80);

        // d ln(R2 / (R1 + R2)) = R1 / (R1 + R2) (d ln R2 − d ln R1), half of each here.
        Near(80 * 0.5 * 0.01, Line(table, "R1 resistance").Effect);
        Near(-80 * 0.5 / 10e3, Line(table, "R1 resistance").Sensitivity);
        Near(80 * 0.5 * 0.005, Line(table, "R2 resistance").Effect);
        Near(80 * 0.002, Line(table, "reading reference").Effect);
        Near(PerCode / 2, Line(table, "reading whole codes").Effect);
        Near(0.05, Line(table, "step of the display").Effect);
        double[] effects = [0.4, 0.2, 0.16, PerCode / 2, 0.05];
        Near(effects.Sum(), table.StraightSum);
        Near(Math.Sqrt(effects.Sum(e => e * e)), table.RootSumOfSquares);
        Near(Math.Sqrt(effects.Sum(e => e * e / 3)), table.StandardUncertainty);
        Assert.Equal(double.PositiveInfinity, table.EffectiveDegreesOfFreedom);

        // GUM table G.2, degrees of freedom infinite.
        Assert.Equal(1.960, table.CoverageFactor, 0.0005);
        Assert.Equal(0, table.NominalError, 1e-9);
        Near(effects.Sum(), table.FullHigh, 0.01);
    }

    [Fact]
    public void DividerOfOneLargeRectangle_IsCoveredAsARectangle()
    {
        BudgetTable table = Table(Sketch.Divider(upper: "10 kΩ ±5 %"), BudgetMoment.AsBuilt, 100);

        // EA-4/02, S9: 0.95 √3.
        Assert.Equal(1.65, table.CoverageFactor, 0.005);
    }

    [Fact]
    public void Trim_TakesAwayTheTolerancesOfTheTrimmedParts_AndLeavesTheReference()
    {
        string text = TrimmedDivider.Text(r1: "4 kΩ ±1 %").Replace("reference: 2.5 V", "reference: 2.5 V ±0.2 %", StringComparison.Ordinal);
        BudgetTable built = Table(text, BudgetMoment.AsBuilt, 50);
        BudgetTable adjusted = Table(text, BudgetMoment.AfterAdjustment, 50);

        // V = 2 V (R2 + x R) / (R1 + R + R2): 1 % of 4 of 10 kΩ is 0.4 % of the reading.
        Near(50 * 0.004, Line(built, "R1 resistance").Effect);
        Assert.DoesNotContain(adjusted.Lines, l => l.Name == "R1 resistance");
        Near(50 * 0.002, Line(adjusted, "reading reference").Effect);
    }

    [Fact]
    public void Trim_CarriesTheMetersErrorToTheDisplay()
    {
        string text = TrimmedDivider.Text(bench: "bench: { meter: { error: ±0.3 % } }");
        BudgetTable adjusted = Table(text, BudgetMoment.AfterAdjustment, 50);
        Near(50 * 0.003, adjusted.Lines.Single(l => l.Name.Contains("meter", StringComparison.Ordinal)).Effect);
    }

    private const string TwoPoints =
        """
        calibration:
          standards: { first: 0 kPa, second: 100 kPa ±0.5 kPa }
        """;

    private static string Calibrated(string calibration, string more = "reference: 2.5 V ±0.2 %, offset: ±5 mV, inl: ±2 LSB") =>
        Sketch.Divider(upper: "10 kΩ ±1 %", adc: more, more: calibration)
            .Replace("to: measurand }", "to: measurand, calibration: two-point }", StringComparison.Ordinal);

    [Fact]
    public void TwoPointCalibration_TakesAwayZeroAndSlope_AndLeavesCurvature()
    {
        BudgetTable before = Table(Calibrated(TwoPoints), BudgetMoment.AsBuilt, 50);
        BudgetTable after = Table(Calibrated(TwoPoints), BudgetMoment.AfterCalibration, 50);
        Near(50 * 0.005, Line(before, "R1 resistance").Effect);
        Near(0.005 / 0.5 * 100, Line(before, "reading offset").Effect);
        Assert.DoesNotContain(after.Lines, l => l.Name is "R1 resistance" or "reading offset" or "reading reference");

        // Codes of 0, 50 and 100 kPa stand at 0, 0.1 and 0.2 of the range. Half the bow at 0.2 is taken from that at 0.1, and of the S likewise.
        const double Range = 4095.0 / 4096;
        double bow = Bow(0.1 / Range) - (Bow(0.2 / Range) / 2);
        double s = S(0.1 / Range) - (S(0.2 / Range) / 2);
        BudgetLine line = Line(after, "reading nonlinearity");
        Near(2 * PerCode * Math.Max(Math.Abs(bow), Math.Abs(s)), line.Effect);

        // Mixture m even from −1 to 1, size even from −2 to 2 LSB: E[((1 − |m|) bow + m S)²] = (bow² + S²) / 3.
        Near(2 / Math.Sqrt(3) * PerCode * Math.Sqrt(((bow * bow) + (s * s)) / 3), line.StandardUncertainty);

        // Half of the second standard's error in the middle.
        Near(0.25, Line(after, "calibration second standard").Effect);
        Assert.Equal(0, after.NominalError, 1e-9);

        static double Bow(double x) => 4 * x * (1 - x);
        static double S(double x) => 6 * Math.Sqrt(3) * x * (1 - x) * (1 - (2 * x));
    }

    [Fact]
    public void RatedConditions_BringBackDriftAndAge()
    {
        string text = Calibrated(TwoPoints, "reference: 2.5 V ±0.2 % ±50 ppm/K, reference ages: ±200 ppm/year")
            .Replace("error: ±1 kPa }", "error: ±1 kPa }, ambient: 5 .. 45 °C, calibrated: every 365 days", StringComparison.Ordinal);
        BudgetTable rated = Table(text, BudgetMoment.Rated, 100);

        // 50 ppm/K over 20 K; drift and temperature both rectangular: the standard uncertainty of a product of two that are centred.
        BudgetLine drift = Line(rated, "reading reference drift");
        Near(100 * 50e-6 * 20, drift.Effect);
        Near(100 * 50e-6 * 20 / 3, drift.StandardUncertainty);

        // 200 ppm after a year; the time since the calibration lies evenly over it, so that its mean square is a third.
        BudgetLine age = rated.Lines.Single(l => l.Name.Contains("ageing", StringComparison.Ordinal));
        Near(100 * 200e-6 * (365 / 365.25), age.Effect, 0.001);
        Near(age.Effect / 3, age.StandardUncertainty);
        Assert.DoesNotContain(Table(text, BudgetMoment.AfterCalibration, 100).Lines, l => l.Name == drift.Name || l.Name == age.Name);
    }

    [Fact]
    public void Moments_AreThoseOfTheInstrument()
    {
        Assert.Equal([BudgetMoment.AsBuilt, BudgetMoment.Rated], Reviewer.Budget(Sketch.Read(Sketch.Divider())).Moments);
        Assert.Equal([BudgetMoment.AsBuilt, BudgetMoment.AfterAdjustment, BudgetMoment.Rated], Reviewer.Budget(Sketch.Read(TrimmedDivider.Text())).Moments);
        Assert.Equal([BudgetMoment.AsBuilt, BudgetMoment.AfterCalibration, BudgetMoment.Rated], Reviewer.Budget(Sketch.Read(Calibrated(TwoPoints))).Moments);
    }

    [Theory]
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    public void Tables_OfADemo_HoldTogether(string demo)
    {
        ErrorBudgetReport report = Reviewer.Budget(InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml")).Value!);
        Assert.Equal(2 * 5 * 4, report.Tables.Length);
        Assert.All(report.Tables, t =>
        {
            // Rounding of a sum of a hundred terms.
            Assert.Equal(1, t.Lines.Sum(l => l.Share), 1e-12);
            Assert.Equal(t.Lines.Sum(l => l.Effect), t.StraightSum, 1e-12 * t.StraightSum);
            Assert.True(t.RootSumOfSquares <= t.StraightSum);
            Assert.Equal(t.Lines.OrderByDescending(l => l.Effect), t.Lines);

            // The worst unit, of which nothing linear was assumed, is where the linear sum says, within a quarter: a bias current at its limit through an electrode's
            // resistance at its limit is a product of two.
            Assert.InRange(t.FullOverLinear, 0.75, 1.25);
        });

        // Adjustment and calibration take away more than they bring.
        foreach (double x in report.Points)
        {
            double Worst(BudgetMoment moment) => report.Find(BudgetOutput.Display, moment, x)!.WorstCase;
            Assert.True(Worst(BudgetMoment.AfterAdjustment) < Worst(BudgetMoment.AsBuilt));
            Assert.True(Worst(BudgetMoment.AfterCalibration) < Worst(BudgetMoment.AfterAdjustment));
            Assert.True(Worst(BudgetMoment.AfterCalibration) < Worst(BudgetMoment.Rated));
        }
    }

    private static BudgetTable Table(string text, BudgetMoment moment, double x) => Reviewer.Budget(Sketch.Read(text), [x]).Find(BudgetOutput.Display, moment, x)!;

    private static BudgetLine Line(BudgetTable table, string name) =>
        table.Lines.SingleOrDefault(l => l.Name == name) ?? throw new InvalidOperationException($"No {name}, but {string.Join(", ", table.Lines.Select(l => l.Name))}.");

    private static void Near(double expected, double actual, double part = Close) => Assert.Equal(expected, actual, Math.Abs(expected) * part);
}
