using Throughline.Circuits;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

public class VarianceSharesTests
{
    [Fact] // Ishigami, Homma (1990), a = 7, b = 0.1: closed form of every share (Saltelli et al., Global Sensitivity Analysis, 2008; from memory, derived anew)
    public void Estimate_OfTheIshigamiFunction_IsItsClosedForm()
    {
        const double a = 7, b = 0.1;
        RandomInput[] inputs = [.. Enumerable.Range(1, 3).Select(i => new RandomInput("x" + i, new RectangularDistribution(0, Math.PI)))];
        var shares = VarianceShares.Estimate(x => Math.Sin(x[0]) + a * Math.Pow(Math.Sin(x[1]), 2) + b * Math.Pow(x[2], 4) * Math.Sin(x[0]), inputs, 1 << 12, seed: 1, cancel: TestContext.Current.CancellationToken);
        double pi4 = Math.Pow(Math.PI, 4), v1 = 0.5 * Math.Pow(1 + b * pi4 / 5, 2), v2 = a * a / 8, v13 = 8 * b * b * pi4 * pi4 / 225, v = v1 + v2 + v13;
        Assert.Equal(0.3139, v1 / v, 5e-5); // the figures as usually printed
        Assert.Equal(0.4424, v2 / v, 5e-5);
        Assert.Equal(0.2437, v13 / v, 5e-5);
        foreach ((VarianceShare share, double first, double total) in shares.Zip([v1 / v, v2 / v, 0], [(v1 + v13) / v, v2 / v, v13 / v]).Select(t => (t.First, t.Second, t.Third)))
        {
            Assert.Equal(first, share.First, 4 * share.FirstError + 1e-4);
            Assert.Equal(total, share.Total, 4 * share.TotalError + 1e-4);
            Assert.InRange(share.FirstError, 1e-6, 0.01);
            Assert.InRange(share.TotalError, 1e-6, 0.01);
        }
    }

    [Fact] // an additive function: first order = total = its part of the sum of the variances, together 1
    public void Estimate_OfAnAdditiveFunction_IsThePartsOfItsVariance()
    {
        RandomInput[] inputs =
        [
            new("R1", new RectangularDistribution(10_000, 100)), new("offset", new NormalDistribution(0, 20)), new("ambient", new ArcsineDistribution(25, 20)),
            new("sign", new TwoPointDistribution(0, 15)), new("nothing", new TriangularDistribution(0, 1)),
        ];
        double[] weights = [1, -2, 0.5, 1, 0];
        var shares = VarianceShares.Estimate(x => x[0] * weights[0] + x[1] * weights[1] + x[2] * weights[2] + x[3] * weights[3], inputs, 1 << 12, seed: 2, cancel: TestContext.Current.CancellationToken);
        double[] variances = [.. inputs.Select((i, k) => Math.Pow(weights[k] * i.Distribution.StandardUncertainty, 2))];
        for (int i = 0; i < inputs.Length; i++)
        {
            Assert.Equal(variances[i] / variances.Sum(), shares[i].First, 4 * shares[i].FirstError + 1e-4);
            Assert.Equal(variances[i] / variances.Sum(), shares[i].Total, 4 * shares[i].TotalError + 1e-4);
        }

        Assert.Equal(0, shares[4].Total);
        Assert.Equal(1, shares.Sum(s => s.First), 0.01);
    }

    [Fact] // Property of the sums: any sharding, any order, written and read: the same bits
    public void Sums_MergedInAnyOrder_AreBitIdentical()
    {
        double[] u = new double[4 * 1000];
        UniformSource.PseudoRandom(4, ["u"]).Fill(0, 0, u);
        static void Add(VarianceShareSums sums, double[] u, int k) => sums.Add(u[4 * k], u[4 * k + 1] * 1e3, [u[4 * k + 2], 1 / u[4 * k + 3]]);
        VarianceShareSums whole = new(2, 0.5), even = new(2, 0.5), odd = new(2, 0.5);
        for (int k = 0; k < 1000; k++)
        {
            Add(whole, u, k);
            Add(k % 2 == 0 ? even : odd, u, k);
        }

        using var memory = new MemoryStream();
        odd.Write(new(memory));
        memory.Position = 0;
        VarianceShareSums merged = VarianceShareSums.Read(new(memory));
        merged.Add(even);
        Assert.Equal(whole.Count, merged.Count);
        Assert.Equal((whole.First(0), whole.First(1), whole.Total(0), whole.Total(1), whole.Variance), (merged.First(0), merged.First(1), merged.Total(0), merged.Total(1), merged.Variance));
        Assert.Throws<ArgumentException>(() => whole.Add(new VarianceShareSums(3, 0.5)));
    }

    [Fact]
    public void Shares_OfAConstant_AreNotNumbers()
    {
        var sums = new VarianceShareSums(1, 0);
        sums.Add(5, 5, [5]);
        sums.Add(5, 5, [5]);
        Assert.True(double.IsNaN(sums.First(0)) && double.IsNaN(sums.Total(0)));
    }
}
