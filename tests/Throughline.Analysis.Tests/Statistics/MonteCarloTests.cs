using System.Text.Json;
using Throughline.Circuits;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

/// <summary>The examples of JCGM 101:2008, clause 9, as restated in <c>data/metrology</c>.</summary>
[Trait("Length", "long")]
public class MonteCarloTests
{
    private const int Trials = 1 << 18;

    private static readonly MeasurementModel Sum = x => x[0] + x[1] + x[2] + x[3];

    private static RandomInputs Drawn(JsonElement example) => new(example.GetProperty("inputs").EnumerateArray().Select(i => new RandomInput(i.GetProperty("name").GetString()!, i.Shape())));

    // Quasi-random trials: the standard error that so many pseudo-random ones would have is then a safe bound.
    private static MonteCarloResult Quasi(MeasurementModel model, RandomInputs inputs) =>
        MonteCarlo.Propagate(model, inputs, UniformSource.QuasiRandom(1, inputs.Inputs.Select(i => i.Name)), Trials, cancel: TestContext.Current.CancellationToken);

    [Theory] // JCGM 101:2008, 9.2.2, 9.2.3, 9.2.4; ends to the printed digit and the scatter of 2^18 trials, 0.5 % of u
    [InlineData("JCGM101-9.2.2", 0.005)]
    [InlineData("JCGM101-9.2.3", 0.005)]
    [InlineData("JCGM101-9.2.4", 0.05)]
    public void AdditiveModel_IsThatOfSupplement1(string id, double half)
    {
        JsonElement example = GumExamples.Example(id), trials = example.GetProperty("stated").GetProperty("MCM"), linear = example.GetProperty("stated").GetProperty("GUF");
        MonteCarloResult result = Quasi(Sum, Drawn(example));
        CoverageInterval interval = result.Symmetric(0.95);
        Assert.Equal(trials.Number("y"), result.Estimate, 0.002 * trials.Number("u"));
        Assert.Equal(trials.Number("u"), result.StandardUncertainty, half + 0.002 * trials.Number("u"));
        Assert.Equal(trials.Number("low"), interval.Low, half + 0.005 * trials.Number("u"));
        Assert.Equal(trials.Number("high"), interval.High, half + 0.005 * trials.Number("u"));
        string exact = id switch { "JCGM101-9.2.2" => "half", "JCGM101-9.2.3" => "half", _ => "exact_half" };
        Assert.Equal(example.GetProperty("recomputed").Number(exact), (interval.High - interval.Low) / 2, 0.005 * trials.Number("u"));

        UncertaintyBudget budget = UncertaintyBudget.Linearise(Sum, example.GetProperty("inputs").EnumerateArray().Select(i => UncertaintyInput.From(i.GetProperty("name").GetString()!, i.Shape())));
        Assert.Equal(linear.Number("u"), budget.StandardUncertainty, half);
        Assert.Equal(linear.Number("high"), budget.Interval(0.95).High, half);
        // 9.2.4: the linear interval is far too wide where one rectangle dominates, and the comparison says so; p√3 for a rectangle is right to a per cent
        Validation validation = MonteCarlo.Validate(budget.Interval(0.95), interval, MonteCarlo.NumericalTolerance(result.StandardUncertainty, 2));
        Assert.Equal(id != "JCGM101-9.2.4", validation.IsValid);
        Assert.Equal(id == "JCGM101-9.2.4", budget.DominantRectangle is { Input.Name: "X4" });
        if (id == "JCGM101-9.2.4")
        {
            Assert.Equal(example.GetProperty("recomputed").Number("exact_half"), budget.ExpandRectangular(0.95)!.Uncertainty, 0.02 * 17);
        }
    }

    [Fact] // JCGM 101:2008, 9.2.3, closed form: half width 2√3 (2 − (3/5)^¼)
    public void AdditiveModel_OfFourRectangles_ReachesItsClosedForm()
    {
        MonteCarloResult result = Quasi(Sum, Drawn(GumExamples.Example("JCGM101-9.2.3")));
        double half = 2 * Math.Sqrt(3) * (2 - Math.Pow(0.6, 0.25));
        CoverageInterval symmetric = result.Symmetric(0.95), shortest = result.Shortest(0.95);
        Assert.Equal(half, symmetric.High, 0.005);
        Assert.InRange(shortest.High - shortest.Low, 2 * half - 0.02, symmetric.High - symmetric.Low);
        Assert.Equal(result.Quantile(0.975), symmetric.High, 0.001);
    }

    [Fact] // JCGM 101:2008, 9.3: the linear method fails its validation to one digit, with second order it passes
    public void MassCalibration_IsThatOfSupplement1()
    {
        JsonElement example = GumExamples.Example("JCGM101-9.3"), stated = example.GetProperty("stated"), recomputed = example.GetProperty("recomputed");
        MeasurementModel model = x => (x[0] + x[1]) * (1 + (x[2] - 1.2) * (1 / x[3] - 1 / x[4])) - 100000;
        AdaptiveResult adaptive = MonteCarlo.PropagateAdaptively(model, Drawn(example), 0.95, 1, seed: 1, cancel: TestContext.Current.CancellationToken);
        Assert.True(adaptive.IsStable);
        Assert.Equal(stated.Number("delta"), adaptive.Tolerance, 1e-12);
        MonteCarloResult result = Quasi(model, Drawn(example));
        CoverageInterval interval = result.Symmetric(0.95), shortest = result.Shortest(0.95);
        Assert.Equal(stated.GetProperty("MCM").Number("y"), result.Estimate, 3e-4);
        Assert.Equal(recomputed.Number("exact_u"), result.StandardUncertainty, 2e-4);
        Assert.Equal(stated.GetProperty("MCM").Number("low"), interval.Low, 0.0015);
        Assert.Equal(stated.GetProperty("MCM").Number("high"), interval.High, 0.0015);
        double[] ends = recomputed.Numbers("MCM_symmetric"), least = recomputed.Numbers("MCM_shortest");
        Assert.Equal(ends[0], interval.Low, 7e-4);
        Assert.Equal(ends[1], interval.High, 7e-4);
        Assert.Equal(least[1] - least[0], shortest.High - shortest.Low, 1e-3);

        UncertaintyBudget budget = UncertaintyBudget.Linearise(model, example.GetProperty("inputs").EnumerateArray().Select(i => UncertaintyInput.From(i.GetProperty("name").GetString()!, i.Shape())));
        SecondOrder second = budget.SecondOrder(model);
        Assert.Equal(recomputed.Number("GUF1_u"), budget.StandardUncertainty, 5e-7);
        Assert.Equal(recomputed.Number("GUF2_u"), second.StandardUncertainty, 2e-5); // the differences' own next order
        Assert.Equal(stated.GetProperty("GUF1").Number("low"), budget.Interval(0.95).Low, 5e-5);
        double k = StandardNormal.CoverageFactor(0.95);
        var linear = new CoverageInterval(budget.Estimate - k * second.StandardUncertainty, budget.Estimate + k * second.StandardUncertainty);
        Assert.Equal(stated.GetProperty("GUF2").Number("low"), linear.Low, 5.1e-4);
        Assert.Equal(stated.GetProperty("GUF2").Number("high"), linear.High, 5.1e-4);
        Assert.Equal(stated.GetProperty("GUF1").GetProperty("validated").GetBoolean(), MonteCarlo.Validate(budget.Interval(0.95), interval, adaptive.Tolerance).IsValid);
        Assert.Equal(stated.GetProperty("GUF2").GetProperty("validated").GetBoolean(), MonteCarlo.Validate(linear, interval, adaptive.Tolerance).IsValid);
    }

    [Theory] // JCGM 101:2008, 9.4, table: correlated normal inputs; moments in closed form, shortest intervals to 3 % of u (their ends lie where the density is flat)
    [MemberData(nameof(ComparisonLoss))]
    public void ComparisonLoss_IsThatOfSupplement1(int index)
    {
        JsonElement c = GumExamples.Example("JCGM101-9.4").GetProperty("cases")[index];
        var inputs = new RandomInputs([new("X1", new NormalDistribution(c.Number("x1"), c.Number("u"))), new("X2", new NormalDistribution(c.Number("x2"), c.Number("u")))],
            CorrelationMatrix.Independent(2).With(0, 1, c.Number("r")));
        MonteCarloResult result = Quasi(x => 1e6 * (x[0] * x[0] + x[1] * x[1]), inputs);
        JsonElement exact = c.GetProperty("exact"), stated = c.GetProperty("MCM_stated");
        double u = exact.Number("u");
        Assert.Equal(exact.Number("y"), result.Estimate, 0.005 * u);
        Assert.Equal(u, result.StandardUncertainty, 0.01 * u);
        CoverageInterval shortest = result.Shortest(0.95);
        double[] ends = c.Numbers("MCM_recomputed_shortest"), printed = stated.Numbers("shortest");
        Assert.Equal(ends[0], shortest.Low, 0.03 * u);
        Assert.Equal(ends[1], shortest.High, 0.03 * u);
        Assert.Equal(printed[1] - printed[0], shortest.High - shortest.Low, 0.5 + 0.01 * (printed[1] - printed[0]));
    }

    public static TheoryData<int> ComparisonLoss => [.. Enumerable.Range(0, 6)];

    [Fact] // JCGM 101:2008, 9.5: all shapes together, 99 %
    public void GaugeBlock_IsThatOfSupplement1()
    {
        JsonElement example = GumExamples.Example("JCGM101-9.5"), stated = example.GetProperty("stated").GetProperty("MCM"), recomputed = example.GetProperty("recomputed");
        double nominal = example.Number("Lnom");
        // Ls D d1 d2 alphas theta0 Delta da dtheta
        MonteCarloResult result = Quasi(x => x[0] + x[1] + x[2] + x[3] - x[0] * (x[7] * (x[5] + x[6]) + x[4] * x[8]) - nominal, Drawn(example));
        CoverageInterval interval = result.Symmetric(0.99);
        Assert.Equal(stated.Number("y"), result.Estimate, 0.5);
        Assert.Equal(stated.Number("u"), result.StandardUncertainty, 0.5);
        Assert.Equal(recomputed.Number("exact_u"), result.StandardUncertainty, 0.15); // 4 standard errors of pseudo-random trials
        Assert.Equal(stated.Number("low"), interval.Low, 2.0);
        Assert.Equal(stated.Number("high"), interval.High, 2.0);
        Assert.Equal(recomputed.Numbers("interval")[0], interval.Low, 1.5);
        Assert.Equal(recomputed.Numbers("interval")[1], interval.High, 1.5);
    }

    [Theory] // JCGM 101:2008, 7.9.2: 0.35 g to two digits is 35 × 10^-2, δ 0.005; 2 to one digit, δ 0.5 (both from memory)
    [InlineData(0.35, 2, 0.005)]
    [InlineData(2, 1, 0.5)]
    [InlineData(0.0754, 1, 0.005)]
    [InlineData(0.0996, 1, 0.05)]
    [InlineData(0.0996, 2, 0.005)]
    [InlineData(0, 2, 0)]
    public void NumericalTolerance_OfDigits_IsHalfTheLast(double u, int digits, double delta) => Assert.Equal(delta, MonteCarlo.NumericalTolerance(u, digits), 1e-12);

    [Fact]
    public void Propagate_OnMoreThreads_IsTheSameBits()
    {
        RandomInputs inputs = Drawn(GumExamples.Example("JCGM101-9.3"));
        MeasurementModel model = x => (x[0] + x[1]) * (1 + (x[2] - 1.2) * (1 / x[3] - 1 / x[4])) - 100000;
        MonteCarloResult one = MonteCarlo.Propagate(model, inputs, 20_000, 3, cancel: TestContext.Current.CancellationToken), four = MonteCarlo.Propagate(model, inputs, 20_000, 3, threads: 4, cancel: TestContext.Current.CancellationToken);
        Assert.True(one.Sorted.AsSpan().SequenceEqual(four.Sorted.AsSpan()));
        Assert.Equal((one.Estimate, one.StandardUncertainty), (four.Estimate, four.StandardUncertainty));
        Assert.NotEqual(one.Estimate, MonteCarlo.Propagate(model, inputs, 20_000, 4, cancel: TestContext.Current.CancellationToken).Estimate);
    }

    [Fact] // an impossible tolerance ends at the largest number of trials and says so
    public void PropagateAdaptively_TooFine_EndsUnstable()
    {
        AdaptiveResult result = MonteCarlo.PropagateAdaptively(Sum, Drawn(GumExamples.Example("JCGM101-9.2.2")), 0.95, 4, 1, largest: 50_000, cancel: TestContext.Current.CancellationToken);
        Assert.False(result.IsStable);
        Assert.Equal(50_000, result.Result.Trials);
        Assert.Equal(0.0005, result.Tolerance, 1e-12);
        AdaptiveResult coarse = MonteCarlo.PropagateAdaptively(Sum, Drawn(GumExamples.Example("JCGM101-9.2.2")), 0.95, 1, 1, cancel: TestContext.Current.CancellationToken);
        Assert.True(coarse.IsStable);
        Assert.Equal(2.0, coarse.Result.StandardUncertainty, 0.5);
    }

    [Fact] // tied uniform inputs keep their own distribution; Spearman's coefficient of a normal copula is 6/π asin(r/2)
    public void Fill_OfCorrelatedRectangles_KeepsTheirShapeAndTies()
    {
        const int n = 1 << 14;
        double[] values = new double[2 * n];
        var inputs = new RandomInputs([new("a", new RectangularDistribution(0.5, 0.5)), new("b", new RectangularDistribution(0.5, 0.5))], CorrelationMatrix.Independent(2).With(0, 1, -0.8));
        inputs.Fill(UniformSource.QuasiRandom(1, ["a", "b"]), 0, values);
        Assert.Equal(n, values[..n].Select(v => (int)(v * n)).Distinct().Count());
        Assert.Equal(0.5, values[n..].Average(), 1e-3);
        Assert.Equal(Math.Sqrt(1 / 12.0), Math.Sqrt(values[n..].Average(v => (v - 0.5) * (v - 0.5))), 1e-3);
        double correlation = 12 * Enumerable.Range(0, n).Average(k => (values[k] - 0.5) * (values[n + k] - 0.5));
        Assert.Equal(6 / Math.PI * Math.Asin(-0.4), correlation, 2e-3);
    }

    [Fact]
    public void Of_WhatIsNotANumber_IsRefused()
    {
        Assert.Throws<ArgumentException>(() => MonteCarloResult.Of([1, double.NaN, 2]));
        Assert.Throws<ArgumentOutOfRangeException>(() => MonteCarloResult.Of([1]));
        MonteCarloResult two = MonteCarloResult.Of([2, 1]);
        Assert.Equal((1.5, 1.0, 2.0), (two.Estimate, two.Symmetric(0.9).Low, two.Symmetric(0.9).High));
    }
}
