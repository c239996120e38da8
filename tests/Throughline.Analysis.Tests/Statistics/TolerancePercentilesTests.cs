using Throughline.Circuits;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

/// <summary>Distributions of networks of toleranced resistors: <c>data/circuits/percentiles.csv</c>, exact or of 20 million samples.</summary>
[Trait("Length", "long")]
public class TolerancePercentilesTests
{
    private const int Trials = 1 << 18;

    private static readonly Dictionary<string, MonteCarloResult> Results = new(StringComparer.Ordinal);

    // Difference amplifier of gain G = R2/R1 = R4/R3: common-mode gain R4/(R3 + R4) (1 + R2/R1) − R2/R1.
    private static double Rejection(double r1, double r2, double r3, double r4)
    {
        double share = r4 / (r3 + r4), ratio = r2 / r1;
        return 20 * Math.Log10(Math.Abs(0.5 * (ratio + (1 + ratio) * share) / (share * (1 + ratio) - ratio)));
    }

    private static MonteCarloResult Result(string circuit)
    {
        if (Results.TryGetValue(circuit, out MonteCarloResult? result))
        {
            return result;
        }

        Distribution Spread(double ohms) => circuit.Contains("normal sd 1/3 %", StringComparison.Ordinal) ? new NormalDistribution(ohms, ohms / 300) : new RectangularDistribution(ohms, ohms / 100);
        double gain = circuit.Contains("G=10", StringComparison.Ordinal) ? 10 : 1;
        (MeasurementModel model, Distribution[] inputs) = circuit switch
        {
            _ when circuit.StartsWith("divider", StringComparison.Ordinal) => ((MeasurementModel)(r => r[1] / (r[0] + r[1])), new[] { Spread(10e3), Spread(10e3) }),
            _ when circuit.StartsWith("inverting", StringComparison.Ordinal) => (r => r[1] / r[0], [Spread(1e3), Spread(10e3)]),
            _ when circuit.StartsWith("non-inverting", StringComparison.Ordinal) => (r => 1 + r[1] / r[0], [Spread(1e3), Spread(9e3)]),
            _ when circuit.StartsWith("difference", StringComparison.Ordinal) => (r => Rejection(r[0], r[1], r[2], r[3]), [Spread(1e3), Spread(gain * 1e3), Spread(1e3), Spread(gain * 1e3)]),
            _ => (x => 20 * Math.Log10(50 * (1 + gain) / Math.Abs(x[0] + x[1] + x[2] + x[3] - 2)), [.. Enumerable.Repeat(new RectangularDistribution(0.5, 0.5), 4)]),
        };
        var drawn = new RandomInputs(inputs.Select((d, i) => new RandomInput("R" + (i + 1), d)));
        return Results[circuit] = MonteCarlo.Propagate(model, drawn, UniformSource.QuasiRandom(6, drawn.Inputs.Select(i => i.Name)), Trials, cancel: TestContext.Current.CancellationToken);
    }

    [Fact] // the share of units below each published quantile: within 4 standard errors of so many random units (quasi-random ones scatter less) and of the published sample
    public void EveryQuantile_OfThePublishedDistributions_IsReproduced()
    {
        PublishedTable table = PublishedTable.Read("circuits", "percentiles.csv");
        Assert.Equal(52, table.Rows.Length);
        foreach (PublishedRow row in table.Rows)
        {
            MonteCarloResult result = Result(row["case"]);
            double p = row.Number("probability"), quantile = row.Number("quantile"), error = 4 * row.Number("standard_error");
            double scatter = 4 * Math.Sqrt(p * (1 - p) / Trials);
            Assert.True(Share(result, quantile - error) - scatter <= p && p <= Share(result, quantile + error) + scatter, row + " has " + Share(result, quantile));
        }
    }

    [Fact] // F2, F3: standard deviations and shares as recomputed by the collectors from the exact distributions
    public void Spread_OfDividerAndGain_IsTheExactOne()
    {
        MonteCarloResult divider = Result("divider 10k/10k, each R uniform +-1 %"), normal = Result("divider 10k/10k, each R normal sd 1/3 %"), gain = Result("inverting gain R2/R1=10, each R uniform +-1 %");
        Assert.Equal(0.00204126, divider.StandardUncertainty, 0.00204126 * 0.003); // √(1/(2·2^18)) = 0.14 %, twice
        Assert.Equal(0.08165469, gain.StandardUncertainty, 0.08165469 * 0.003);
        Assert.Equal(10.00033335, gain.Estimate, 2e-4);
        Assert.Equal(0.966103, Share(normal, 0.5025) - Share(normal, 0.4975), 0.0014); // ±0.5 % of the output; 4 standard errors
        Assert.Equal(0.75, Share(gain, 10.1) - Share(gain, 9.9), 0.0034);
        // Circuit Cellar, issue 159 (Oct 2003), problem 8: three quarters of the units are below half of the peak error, half below about 30 % (exact 29.289 %)
        Assert.Equal(0.75, Share(divider, 0.5025) - Share(divider, 0.4975), 0.0034);
        Assert.Equal(0.5, Share(divider, 0.5 + 0.005 * 0.29289) - Share(divider, 0.5 - 0.005 * 0.29289), 0.004);
    }

    [Fact] // F4: one unit in twelve falls below 40 dB to first order, 0.08346 ± 0.00006 exactly
    public void Yield_OfADifferenceAmplifier_IsThatPublished() =>
        Assert.Equal(0.08346, Share(Result("difference amplifier CMRR, four discrete resistors, G=1, uniform +-1 %"), 40), 0.0022);

    [Fact] // the streamed statistics say the same as the sorted results
    public void StreamingStatistics_OfTheDivider_AgreeWithTheSortedResults()
    {
        MonteCarloResult divider = Result("divider 10k/10k, each R uniform +-1 %");
        var statistics = new StreamingStatistics(0.5, 0.002, resolutionBits: 10);
        statistics.Add(0, divider.Sorted.AsSpan());
        Assert.Equal(1, statistics.StandardDeviation / divider.StandardUncertainty, 1e-13);
        Assert.Equal(divider.Estimate, statistics.Mean, 1e-15);
        foreach (double p in (double[])[0.00135, 0.025, 0.5, 0.84, 0.99865])
        {
            Assert.Equal(divider.Quantile(p), statistics.Quantile(p), statistics.Histogram.BinWidth(divider.Quantile(p)));
        }
    }

    private static double Share(MonteCarloResult result, double value)
    {
        int index = result.Sorted.AsSpan().BinarySearch(value);
        return (double)(index < 0 ? ~index : index) / result.Trials;
    }
}
