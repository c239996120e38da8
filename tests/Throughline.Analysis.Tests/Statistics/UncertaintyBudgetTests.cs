using System.Text.Json;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

/// <summary>The worked examples of JCGM 100:2008, JCGM GUM-5:2026 and EA-4/02 as restated in <c>data/metrology</c>, whose README says how they were seen.</summary>
public class UncertaintyBudgetTests
{
    // l = ls + d − ls (δα θ + αs δθ)
    private static readonly MeasurementModel EndGauge = x => x[0] + x[1] - x[0] * (x[2] * x[3] + x[4] * x[5]);

    private static UncertaintyBudget EndGaugeBudget()
    {
        JsonElement example = GumExamples.Example("JCGM100-H1");
        UncertaintyInput[] inputs = Inputs(example, "ls", "d", "dalpha", "theta", "alphas", "dtheta");
        // d and θ have parts: the printed 9.7 nm and 0.41 °C are rounded, and full precision is what gives the printed result
        UncertaintyBudget d = UncertaintyBudget.Create(215, example.Input("d").GetProperty("parts").EnumerateArray()
            .Select(p => new BudgetTerm(new(p.GetProperty("name").GetString()!, 0, p.Number("u"), p.Number("dof")), 1)));
        Assert.Equal(example.Input("d").Number("u"), d.StandardUncertainty, 0.05);
        Assert.Equal(example.Input("d").Number("dof"), d.EffectiveDegreesOfFreedom!.Value, 0.5); // 25.6 from unrounded parts
        inputs[1] = inputs[1] with { StandardUncertainty = d.StandardUncertainty, DegreesOfFreedom = d.EffectiveDegreesOfFreedom!.Value };
        double theta = Math.Sqrt(Math.Pow(0.2, 2) + Math.Pow(new ArcsineDistribution(0, 0.5).StandardUncertainty, 2));
        Assert.Equal(inputs[3].StandardUncertainty, theta, 0.005);
        inputs[3] = inputs[3] with { StandardUncertainty = theta };
        return UncertaintyBudget.Linearise(EndGauge, inputs);
    }

    [Fact] // JCGM 100:2008, H.1
    public void EndGauge_IsThatOfH1()
    {
        JsonElement example = GumExamples.Example("JCGM100-H1"), stated = example.GetProperty("stated"), recomputed = example.GetProperty("recomputed");
        UncertaintyBudget budget = EndGaugeBudget();
        Assert.Equal(stated.Number("y"), budget.Estimate, 0.5);
        Assert.Equal(stated.Number("uc"), budget.StandardUncertainty, 0.5);
        Assert.Equal(stated.Number("uc_squared"), budget.StandardUncertainty * budget.StandardUncertainty, 1.0); // the book adds rounded terms
        Assert.Equal(recomputed.Number("uc"), budget.StandardUncertainty, 5e-4);
        Assert.Equal(recomputed.Number("nu_eff"), budget.EffectiveDegreesOfFreedom!.Value, 0.005);
        Assert.Equal(stated.Number("nu_eff"), budget.EffectiveDegreesOfFreedom!.Value, 0.06);
        ExpandedUncertainty expanded = budget.Expand(0.99);
        Assert.Equal(stated.Number("nu_eff_used"), expanded.DegreesOfFreedom);
        Assert.Equal(stated.Number("t99"), expanded.CoverageFactor, 0.005);
        Assert.Equal(stated.Number("U99"), Math.Ceiling(expanded.Uncertainty)); // the book rounds up: 92.48 to 93
        Assert.Equal(recomputed.Number("U99"), expanded.Uncertainty, 0.005);
        JsonElement contributions = example.GetProperty("contributions_nm");
        Assert.All(budget.Terms, t => Assert.Equal(contributions.Number(t.Input.Name), Math.Abs(t.Contribution), 0.05));
    }

    [Fact] // the trap of H.1: the rounded 32 in the formula of Welch and Satterthwaite gives 17.5
    public void EffectiveDegreesOfFreedom_FromTheRoundedUncertainty_WouldBeAnother()
    {
        UncertaintyBudget budget = EndGaugeBudget();
        double rounded = budget.EffectiveDegreesOfFreedom!.Value * Math.Pow(32 / budget.StandardUncertainty, 4);
        Assert.Equal(17.5, rounded, 0.05);
        Assert.NotEqual(Math.Floor(rounded), budget.Expand(0.99).DegreesOfFreedom);
    }

    [Fact] // JCGM 100:2008, H.1.7: 34 nm with the second-order terms 11.7 and 1.7 nm
    public void SecondOrder_OfTheEndGauge_IsThatOfH1()
    {
        JsonElement example = GumExamples.Example("JCGM100-H1");
        SecondOrder second = EndGaugeBudget().SecondOrder(EndGauge);
        double[] terms = example.GetProperty("recomputed").Numbers("second_order_terms_nm");
        Assert.Equal(terms.Sum(t => t * t), second.Variance, 0.03);
        Assert.Equal(example.GetProperty("recomputed").Number("uc_with_second_order"), second.StandardUncertainty, 5e-4);
        Assert.Equal(example.GetProperty("stated").Number("uc_with_second_order"), second.StandardUncertainty, 0.5);
        Assert.False(second.Dominates);
    }

    private static readonly MeasurementModel[] Impedance = [x => x[0] / x[1] * Math.Cos(x[2]), x => x[0] / x[1] * Math.Sin(x[2]), x => x[0] / x[1]];

    private static (UncertaintyInput[] Inputs, CorrelationMatrix Correlation) ImpedanceInputs()
    {
        JsonElement readings = GumExamples.Example("JCGM100-H2").GetProperty("readings");
        double[][] columns = [readings.Numbers("V_volt"), [.. readings.Numbers("I_mA").Select(i => i / 1000)], readings.Numbers("phi_rad")];
        return ([.. columns.Zip(["V", "I", "phi"], (c, n) => UncertaintyInput.FromReadings(n, c))], CorrelationMatrix.OfReadings(columns));
    }

    [Fact] // JCGM 100:2008, H.2: three results of three correlated means
    public void Impedance_WithCorrelation_IsThatOfH2()
    {
        JsonElement stated = GumExamples.Example("JCGM100-H2").GetProperty("stated"), recomputed = GumExamples.Example("JCGM100-H2").GetProperty("recomputed_approach1");
        (UncertaintyInput[] inputs, CorrelationMatrix correlation) = ImpedanceInputs();
        Assert.Equal(stated.GetProperty("means").Number("V"), inputs[0].Estimate, 5e-4);
        Assert.Equal(stated.GetProperty("u_mean").Number("V"), inputs[0].StandardUncertainty, 5e-5);
        Assert.Equal(stated.GetProperty("u_mean").Number("I_mA") / 1000, inputs[1].StandardUncertainty, 5e-8);
        Assert.Equal(stated.GetProperty("u_mean").Number("phi"), inputs[2].StandardUncertainty, 5e-6);
        Assert.All(inputs, i => Assert.Equal(4, i.DegreesOfFreedom));
        Assert.Equal(recomputed.Number("rVI"), correlation[0, 1], 5e-6);
        Assert.Equal(recomputed.Number("rVphi"), correlation[0, 2], 5e-6);
        Assert.Equal(recomputed.Number("rIphi"), correlation[2, 1], 5e-6);

        UncertaintyBudget[] budgets = [.. Impedance.Select(m => UncertaintyBudget.Linearise(m, inputs, correlation))];
        foreach ((UncertaintyBudget budget, string name) in budgets.Zip(["R", "X", "Z"]))
        {
            Assert.Equal(stated.Number(name), budget.Estimate, 6e-4);
            Assert.Equal(stated.Number("u" + name), budget.StandardUncertainty, 6e-4); // printed 0.295 for 0.29558
            Assert.Equal(recomputed.Number(name), budget.Estimate, 6e-6);
            Assert.Equal(recomputed.Number("u" + name), budget.StandardUncertainty, 6e-7);
            Assert.Null(budget.EffectiveDegreesOfFreedom); // not defined for correlated inputs, G.4.1
            Assert.Equal(double.PositiveInfinity, budget.Expand(0.95).DegreesOfFreedom);
            Assert.Throws<InvalidOperationException>(() => budget.SecondOrder(Impedance[0]));
        }

        Assert.Equal(stated.Number("rRX"), UncertaintyBudget.Correlation(budgets[0], budgets[1]), 6e-4);
        Assert.Equal(stated.Number("rRZ"), UncertaintyBudget.Correlation(budgets[0], budgets[2]), 6e-4);
        Assert.Equal(stated.Number("rXZ"), UncertaintyBudget.Correlation(budgets[1], budgets[2]), 6e-4);
    }

    [Fact] // JCGM 100:2008, H.2: the figures that come out when the correlation is forgotten are others
    public void Impedance_WithoutCorrelation_IsTheWrongTableOfH2()
    {
        JsonElement wrong = GumExamples.Example("JCGM100-H2").GetProperty("stated_if_correlation_wrongly_ignored"), right = GumExamples.Example("JCGM100-H2").GetProperty("stated");
        UncertaintyInput[] inputs = ImpedanceInputs().Inputs;
        UncertaintyBudget[] budgets = [.. Impedance.Select(m => UncertaintyBudget.Linearise(m, inputs))];
        foreach ((UncertaintyBudget budget, string name) in budgets.Zip(["uR", "uX", "uZ"]))
        {
            Assert.Equal(wrong.Number(name), budget.StandardUncertainty, 5.1e-4);
            Assert.NotEqual(right.Number(name), budget.StandardUncertainty, 0.03);
        }

        Assert.Equal(wrong.Number("rRX"), UncertaintyBudget.Correlation(budgets[0], budgets[1]), 6e-4);
        Assert.Equal(wrong.Number("rRZ"), UncertaintyBudget.Correlation(budgets[0], budgets[2]), 6e-4);
        Assert.Equal(wrong.Number("rXZ"), UncertaintyBudget.Correlation(budgets[1], budgets[2]), 6e-4);
    }

    private static UncertaintyInput[] Inputs(JsonElement example, params string[] names) => [.. names.Select(n => example.Input(n).Uncertain())];

    [Fact] // JCGM GUM-5:2026, example 1
    public void Ph_BetweenTwoBuffers_IsThatOfGum5()
    {
        JsonElement example = GumExamples.Example("GUM5-pH");
        UncertaintyBudget budget = UncertaintyBudget.Linearise(x => x[3] + (x[0] - x[1]) * (x[4] - x[3]) / (x[2] - x[1]), Inputs(example, "EX", "E1", "E2", "p1", "p2"));
        Assert.Equal(example.GetProperty("stated").Number("y"), budget.Estimate, 5e-5);
        Assert.Equal(example.GetProperty("stated").Number("u"), budget.StandardUncertainty, 5e-5);
        Assert.Equal(example.GetProperty("recomputed").Number("u"), budget.StandardUncertainty, 5e-8);
    }

    [Fact] // JCGM GUM-5:2026, example 13: an implicit model, and four times the uncertainty when the correlation is dropped
    public void Temperature_OfAResistanceThermometer_IsThatOfGum5()
    {
        JsonElement example = GumExamples.Example("GUM5-PRT");
        string[] names = ["R0", "A", "B", "RS", "W"];
        UncertaintyInput[] inputs = Inputs(example, names);
        CorrelationMatrix correlation = example.GetProperty("correlations").EnumerateArray()
            .Aggregate(CorrelationMatrix.Independent(5), (m, c) => m.With(Array.IndexOf(names, c[0].GetString()), Array.IndexOf(names, c[1].GetString()), c[2].GetDouble()));
        MeasurementModel model = x => (-x[1] + Math.Sqrt(x[1] * x[1] - 4 * x[2] * (1 - x[4] * x[3] / x[0]))) / (2 * x[2]);
        UncertaintyBudget budget = UncertaintyBudget.Linearise(model, inputs, correlation);
        Assert.Equal(example.GetProperty("stated").Number("y"), budget.Estimate, 5e-5);
        Assert.Equal(example.GetProperty("stated").Number("u"), budget.StandardUncertainty, 5e-5);
        Assert.Equal(example.GetProperty("recomputed").Number("u"), budget.StandardUncertainty, 5e-7);
        Assert.Equal(example.GetProperty("recomputed").Number("u_if_correlation_ignored"), UncertaintyBudget.Linearise(model, inputs).StandardUncertainty, 5e-6);
    }

    [Theory] // EA-4/02 M, supplement 1, S2 and S3 and supplement 2, S9
    [InlineData("EA402-S2")]
    [InlineData("EA402-S3")]
    [InlineData("EA402-S9")]
    public void Calibration_OfEa402_IsAsPublished(string id)
    {
        JsonElement example = GumExamples.Example(id), stated = example.GetProperty("stated"), recomputed = example.GetProperty("recomputed");
        (MeasurementModel model, string[] names, double half, double uHalf) = id switch
        {
            "EA402-S2" => ((MeasurementModel)(x => x[0] + x[1] + x[2] + x[3] + x[4]), new[] { "mS", "dmD", "dm", "dmC", "dB" }, 5e-4, 5e-5),
            "EA402-S3" => (x => (x[0] + x[1] + x[2]) * x[3] * x[4] - x[5], ["RS", "dRD", "dRTS", "rC", "r", "dRTX"], 5e-4, 5e-6),
            _ => (x => x[0] - x[1] + x[2] - x[3], ["ViX", "VS", "dViX", "dVS"], 5e-3, 5e-4),
        };
        UncertaintyInput[] inputs = Inputs(example, names);
        if (id == "EA402-S2")
        {
            inputs[2] = inputs[2] with { StandardUncertainty = 0.025 / Math.Sqrt(3) }; // mean of 3, pooled s 0.025 g; the file's 0.0144 is rounded
        }

        UncertaintyBudget budget = UncertaintyBudget.Linearise(model, inputs);
        Assert.Equal(stated.Number("y"), budget.Estimate, half);
        Assert.Equal(stated.Number("u"), budget.StandardUncertainty, uHalf);
        Assert.Equal(1, budget.StandardUncertainty / recomputed.Number("u"), 1e-4);
        ExpandedUncertainty? rectangular = budget.ExpandRectangular(0.95);
        if (id == "EA402-S9")
        {
            Assert.Equal("dViX", budget.DominantRectangle!.Input.Name);
            Assert.Equal(stated.Number("k"), rectangular!.CoverageFactor, 0.005);
            Assert.Equal(recomputed.Number("U"), rectangular.Uncertainty, 2e-4); // the page's k is that of the exact convolution, 1.6505; p√3 = 1.6454
            Assert.Equal(stated.Number("U"), rectangular.Uncertainty, 5e-3);
        }
        else
        {
            Assert.Null(rectangular);
            Assert.Equal(stated.Number("U"), 2 * budget.StandardUncertainty, 5.1e-4);
        }
    }

    [Fact] // EA-4/02, S3: five ratios give the mean and the u that the file lists beside them
    public void FromReadings_OfS3_IsItsMeanAndUncertainty()
    {
        JsonElement r = GumExamples.Example("EA402-S3").Input("r");
        UncertaintyInput input = UncertaintyInput.FromReadings("r", r.Numbers("readings"));
        Assert.Equal(r.Number("estimate"), input.Estimate, 1e-12);
        Assert.Equal(r.Number("u"), input.StandardUncertainty, 5e-11);
        Assert.Equal(4, input.DegreesOfFreedom);
    }

    [Theory] // JCGM 101:2008, 9.4, the columns of the linear method: at zero it states u = 0, which is wrong, and must be seen to be wrong
    [MemberData(nameof(ComparisonLoss))]
    public void ComparisonLoss_ByTheLinearMethod_IsThatOfSupplement1(int index)
    {
        JsonElement c = GumExamples.Example("JCGM101-9.4").GetProperty("cases")[index];
        UncertaintyInput[] inputs = [new("X1", c.Number("x1"), c.Number("u")), new("X2", c.Number("x2"), c.Number("u"))];
        MeasurementModel model = x => 1e6 * (x[0] * x[0] + x[1] * x[1]);
        UncertaintyBudget budget = UncertaintyBudget.Linearise(model, inputs, CorrelationMatrix.Independent(2).With(0, 1, c.Number("r")));
        JsonElement guf = c.GetProperty("GUF");
        Assert.Equal(guf.Number("y"), budget.Estimate, 1e-9);
        Assert.Equal(guf.Number("u"), budget.StandardUncertainty, 1e-9);
        Assert.Equal(guf.Number("low"), budget.Interval(0.95).Low, 0.5);
        Assert.Equal(guf.Number("high"), budget.Interval(0.95).High, 0.5);
        if (c.Number("r") == 0)
        {
            // A sum of two squares has no higher terms: second order is exact, and equals the moments that the file gives in closed form
            SecondOrder second = budget.SecondOrder(model);
            Assert.Equal(c.GetProperty("exact").Number("u"), second.StandardUncertainty, 5e-4);
            Assert.Equal(c.GetProperty("exact").Number("y"), budget.Estimate + second.Shift, 1e-6);
            Assert.Equal(c.Number("x1") == 0, second.Dominates);
        }
    }

    public static TheoryData<int> ComparisonLoss => [.. Enumerable.Range(0, 6)];

    [Fact]
    public void Create_OfWhatCannotBe_IsRefused()
    {
        UncertaintyInput a = new("a", 0, 1), b = new("b", 0, 1);
        Assert.Throws<ArgumentException>(() => UncertaintyBudget.Create(0, [new(a, 1), new(a, 1)]));
        Assert.Throws<ArgumentException>(() => UncertaintyBudget.Create(0, [new(a, 1), new(b, 1)], CorrelationMatrix.Independent(3)));
        Assert.Throws<ArgumentOutOfRangeException>(() => new UncertaintyInput("a", 0, -1));
        Assert.Throws<ArgumentOutOfRangeException>(() => new UncertaintyInput("a", double.NaN, 1));
        Assert.Throws<ArgumentException>(() => UncertaintyInput.FromReadings("a", [1.0]));
        Assert.Throws<ArgumentOutOfRangeException>(() => CorrelationMatrix.Independent(2).With(0, 1, 1.01));
        Assert.Throws<ArgumentException>(() => new RandomInputs([new("a", new NormalDistribution(0, 1)), new("b", new NormalDistribution(0, 1)), new("c", new NormalDistribution(0, 1))],
            CorrelationMatrix.Independent(3).With(0, 1, 1).With(1, 2, 1).With(0, 2, -1)));
        UncertaintyBudget certain = UncertaintyBudget.Create(1, [new(new("a", 0, 0), 1)]);
        Assert.Equal((0.0, double.PositiveInfinity), (certain.StandardUncertainty, certain.EffectiveDegreesOfFreedom));
    }
}
