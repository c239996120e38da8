using CsCheck;
using Throughline.Circuits;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Statistics;

public class DistributionTests
{
    public static TheoryData<string> Shapes => [.. All.Keys];

    private static readonly SortedDictionary<string, Distribution> All = new(StringComparer.Ordinal)
    {
        ["rectangular"] = new RectangularDistribution(3, 2),
        ["normal"] = new NormalDistribution(-1, 0.5),
        ["truncated 1"] = new TruncatedNormalDistribution(1, 2, 1),
        ["truncated 3"] = new TruncatedNormalDistribution(1, 2, 3),
        ["triangular"] = new TriangularDistribution(5, 0.25),
        ["trapezoidal"] = new TrapezoidalDistribution(5, 2, 0.4),
        ["curvilinear"] = new CurvilinearTrapezoidDistribution(-2, 0.05, 0.025),
        ["curvilinear to the middle"] = new CurvilinearTrapezoidDistribution(0, 1, 1),
        ["curvilinear, sharp"] = new CurvilinearTrapezoidDistribution(0, 1, 0),
        ["arcsine"] = new ArcsineDistribution(0, 0.5),
        ["student 5"] = new StudentDistribution(215, 6, 5),
        ["student 24"] = new StudentDistribution(0, 1, 24),
    };

    [Theory] // scipy 1.10.1, scipy.stats.norm.ppf; the last two also in every table of the normal distribution
    [InlineData(1e-300, -37.0470962993612)]
    [InlineData(1e-100, -21.273453560965322)]
    [InlineData(1e-20, -9.262340089798409)]
    [InlineData(1e-12, -7.034483825301131)]
    [InlineData(1e-05, -4.264890793922825)]
    [InlineData(0.001, -3.090232306167813)]
    [InlineData(0.07, -1.4757910281791706)]
    [InlineData(0.08, -1.4050715603096329)]
    [InlineData(0.1, -1.2815515655446004)]
    [InlineData(0.25, -0.6744897501960817)]
    [InlineData(0.4, -0.2533471031357997)]
    [InlineData(0.49999, -2.5066282748960008e-05)]
    [InlineData(0.025, -1.9599639845400545)]
    [InlineData(0.05, -1.6448536269514729)]
    public void NormalQuantile_AtShare_IsTheReferenceLibrarys(double p, double x)
    {
        Assert.Equal(1, StandardNormal.Quantile(p) / x, p == 0.49999 ? 3e-12 : 3e-15); // near ½ the share itself carries only 12 digits of p − ½
        Assert.Equal(-x, p > 0.01 && p < 0.49 ? StandardNormal.Quantile(1 - p) : -x, 1e-14);
    }

    [Theory] // scipy 1.10.1, scipy.stats.norm.cdf; at −20 it is itself 3e-14 from the tabulated 2.753624118606234e-89
    [InlineData(-37.5, 4.605353009581954e-308)]
    [InlineData(-20, 2.7536241186061556e-89)]
    [InlineData(-8, 6.22096057427174e-16)]
    [InlineData(-6, 9.865876450376946e-10)]
    [InlineData(-5.5, 1.898956246588768e-08)]
    [InlineData(-3, 0.0013498980316300933)]
    [InlineData(-1, 0.15865525393145707)]
    [InlineData(-0.5, 0.3085375387259869)]
    [InlineData(-0.1, 0.460172162722971)]
    [InlineData(0, 0.5)]
    [InlineData(0.3, 0.6179114221889526)]
    [InlineData(0.7, 0.758036347776927)]
    [InlineData(1.5, 0.9331927987311419)]
    [InlineData(3, 0.9986501019683699)]
    [InlineData(6, 0.9999999990134123)]
    public void NormalCumulative_AtPoint_IsTheReferenceLibrarys(double x, double p) => Assert.Equal(1, StandardNormal.Cumulative(x) / p, 5e-14);

    [Fact]
    public void Normal_AtTheEnds_IsAsPromised()
    {
        Assert.Equal(double.NegativeInfinity, StandardNormal.Quantile(0));
        Assert.Equal(double.PositiveInfinity, StandardNormal.Quantile(1));
        Assert.Equal(0, StandardNormal.Quantile(0.5));
        Assert.All([double.NaN, -0.1, 1.1], p => Assert.True(double.IsNaN(StandardNormal.Quantile(p))));
        Assert.Equal(0, StandardNormal.Cumulative(double.NegativeInfinity));
        Assert.Equal(1, StandardNormal.Cumulative(double.PositiveInfinity));
        Assert.True(double.IsNaN(StandardNormal.Cumulative(double.NaN)));
    }

    [Fact] // JCGM 100:2008, table G.1 and the file's own list of coverage factors, printed to four decimals
    public void CoverageFactors_AreThoseOfTheGum()
    {
        int rectangles = 0;
        foreach (var row in GumExamples.Root.GetProperty("coverage").EnumerateArray())
        {
            double p = row.GetProperty("p").GetDouble();
            if (row.TryGetProperty("k_normal", out var normal))
            {
                Assert.Equal(normal.GetDouble(), StandardNormal.CoverageFactor(p), 5.1e-5);
            }
            else
            {
                double k = new RectangularDistribution(0, Math.Sqrt(3)).Quantile((1 + p) / 2);
                Assert.Equal(row.GetProperty("k_rectangular").GetDouble(), k, 1e-4); // 1.64545 is printed as 1.6454
                rectangles++;
            }
        }

        Assert.Equal(2, rectangles);
    }

    [Fact] // JCGM 100:2008, 4.3 and JCGM 101:2008, 6.4: the divisors as the table of origin lists them
    public void StandardUncertainty_OfEveryShape_HasItsDivisor()
    {
        const double a = 1.7;
        Assert.Equal(a / Math.Sqrt(3), new RectangularDistribution(0, a).StandardUncertainty, 1e-15);
        Assert.Equal(0.57735, new RectangularDistribution(0, 1).StandardUncertainty, 5e-6);
        Assert.Equal(0.40825, new TriangularDistribution(0, 1).StandardUncertainty, 5e-6);
        Assert.Equal(0.70711, new ArcsineDistribution(0, 1).StandardUncertainty, 5e-6);
        Assert.Equal(0.28868, RectangularDistribution.OfStep(1).StandardUncertainty, 5e-6);
        Assert.Equal(1, new TwoPointDistribution(0, 1).StandardUncertainty);
        Assert.Equal(0.5, NormalDistribution.FromExpanded(0, 1, 2).StandardUncertainty);
        Assert.Equal(new RectangularDistribution(0, a).StandardUncertainty, new TrapezoidalDistribution(0, a, 1).StandardUncertainty, 1e-15);
        Assert.Equal(new TriangularDistribution(0, a).StandardUncertainty, new TrapezoidalDistribution(0, a, 0).StandardUncertainty, 1e-15);
        Assert.Equal(25 * Math.Sqrt(18.0 / 16), new StudentDistribution(0, 25, 18).StandardUncertainty, 1e-12);
        Assert.Equal(double.PositiveInfinity, new StudentDistribution(0, 1, 2).StandardUncertainty);
    }

    [Theory] // scipy 1.10.1, scipy.stats.truncnorm.std and .ppf; its quantiles carry about 15 digits
    [InlineData(1, 0.5395600937548968, -0.999997178631711, -0.7490145989695702)]
    [InlineData(2, 0.8796256610342398, -1.9999823214340522, -1.184032466693905)]
    [InlineData(3, 0.9865783925581086, -2.999775045615971, -1.2754222234675778)]
    public void TruncatedNormal_AtK_IsTheReferenceLibrarys(double k, double u, double atMillionth, double atTenth)
    {
        var truncated = new TruncatedNormalDistribution(0, 1, k);
        Assert.Equal(u, truncated.StandardUncertainty, 1e-13);
        Assert.Equal(atMillionth, truncated.Quantile(1e-6), 2e-14);
        Assert.Equal(atTenth, truncated.Quantile(0.1), 2e-14);
        Assert.Equal(-truncated.Quantile(0.125), truncated.Quantile(0.875));
        Assert.InRange(truncated.Quantile(UnitInterval.Smallest), -k, -k + 1e-12);
        Assert.Equal(0, truncated.Cumulative(-k), 1e-16);
        Assert.Equal(1, truncated.Cumulative(k));
    }

    [Theory]
    [MemberData(nameof(Shapes))] // Property: quantile and cumulative share are inverse, quantiles never fall and stay within the limits, mirrored shares mirror
    public void Quantile_OfAnyShare_InvertsRisesAndMirrors(string shape)
    {
        Distribution d = All[shape];
        // A rounding of x is one of the share; where the density is infinite, at the ends of the arcsine, it is the root of one.
        double tolerance = shape == "arcsine" ? 2e-8 : 2e-13 * Math.Max(1, Math.Abs(d.Mean) / d.StandardUncertainty);
        Gen.Select(Gen.ULong, Gen.ULong).Sample((a, b) =>
        {
            (double p, double q) = (UnitInterval.From(Math.Min(a, b)), UnitInterval.From(Math.Max(a, b)));
            double x = d.Quantile(p), y = d.Quantile(q);
            return (x <= y || p == q) && x >= d.Lowest && y <= d.Highest && Math.Abs(d.Cumulative(x) - p) < tolerance
                && Math.Abs(x + d.Quantile(1 - p) - 2 * d.Mean) <= 4e-15 * (Math.Abs(d.Mean) + Math.Abs(x));
        });
    }

    [Theory]
    [MemberData(nameof(Shapes))] // neighbouring shares, at the joints of the pieces above all: each quantile at least the one before
    public void Quantile_OfNeighbouringShares_NeverFalls(string shape)
    {
        Distribution d = All[shape];
        foreach (double joint in (double[])[1e-9, 0.001, 0.075, 0.15, 0.3, 0.5, 0.7, 0.85, 0.925, 0.999, 1 - 1e-9])
        {
            double p = joint - 50 * Math.BitIncrement(joint) * Math.ScaleB(1, -53), before = d.Quantile(p);
            for (int i = 0; i < 100; i++)
            {
                p = Math.BitIncrement(p);
                double x = d.Quantile(p);
                // the roundings inside rational functions and Newton's last step may go back by a few units of the last place, and no further
                Assert.True(x >= before - 5e-15 * (Math.Abs(before) + Math.Abs(d.Mean) + d.StandardUncertainty), $"{shape} at {p:R}: {before:R} then {x:R}");
                before = x;
            }
        }
    }

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Quantiles_OfSpan_AreTheScalarBits(string shape)
    {
        Distribution d = All[shape];
        double[] p = new double[256];
        UniformSource.PseudoRandom(5, ["p"]).Fill(0, 0, p);
        (p[3], p[17], p[40], p[41]) = (1e-15, UnitInterval.Largest, 0.5, UnitInterval.Smallest);
        for (int length = 0; length <= p.Length; length++)
        {
            double[] x = p[..length];
            d.Quantiles(x, x);
            Assert.Equal(p.Take(length).Select(d.Quantile), x);
        }
    }

    [Theory]
    [MemberData(nameof(Shapes))] // Kolmogorov-Smirnov against the shape's own cumulative share: sqrt(n) D below 1.949, the 99.9 % point; then mean and spread of the draws
    public void Draws_OfTheShape_PassKolmogorovSmirnovAndHaveItsMoments(string shape)
    {
        Distribution d = All[shape];
        double[] x = new double[100_000];
        UniformSource.PseudoRandom(2024, [shape]).Fill(0, 0, x);
        d.Quantiles(x, x);
        Assert.Equal(d.Mean, x.Average(), 5 * d.StandardUncertainty / Math.Sqrt(x.Length));
        double mean = x.Average();
        // relative standard deviation of s is sqrt((kurtosis − 1)/4n): 0.0022 for the normal, 0.004 for t of 5 degrees of freedom
        Assert.Equal(1, Math.Sqrt(x.Sum(v => (v - mean) * (v - mean)) / (x.Length - 1)) / d.StandardUncertainty, 0.02);
        Array.Sort(x);
        double largest = x.Select((v, i) => Math.Max((i + 1.0) / x.Length - d.Cumulative(v), d.Cumulative(v) - (double)i / x.Length)).Max();
        Assert.InRange(largest * Math.Sqrt(x.Length), 0.3, 1.949);
    }

    [Theory]
    [MemberData(nameof(Shapes))] // chi-square in 100 equally likely cells of quasi-random draws as well as pseudo-random ones; 0.1 and 99.9 % points at 99 degrees of freedom: 61.1 and 148.2
    public void Draws_OfTheShape_PassChiSquare(string shape)
    {
        Distribution d = All[shape];
        double ChiSquare(UniformSource source)
        {
            double[] x = new double[1 << 16];
            source.Fill(0, 0, x);
            d.Quantiles(x, x);
            int[] counts = new int[100];
            foreach (double v in x)
            {
                counts[Math.Min((int)(d.Cumulative(v) * 100), 99)]++;
            }

            return counts.Sum(c => Math.Pow(c - 655.36, 2) / 655.36);
        }

        Assert.InRange(ChiSquare(UniformSource.PseudoRandom(77, [shape])), 61.1, 148.2);
        Assert.InRange(ChiSquare(UniformSource.QuasiRandom(77, [shape])), 0, 1); // at most one point more or less than expected in each cell: 100 / 655
    }

    [Fact]
    public void TwoPoint_IsHalfHere_HalfThere()
    {
        var d = new TwoPointDistribution(1, 3);
        Assert.Equal((-2.0, 4.0, 4.0), (d.Quantile(0.499), d.Quantile(0.5), d.Quantile(0.9)));
        Assert.Equal((0.0, 0.5, 0.5, 1.0), (d.Cumulative(-3), d.Cumulative(-2), d.Cumulative(3.9), d.Cumulative(4)));
        Assert.True(double.IsNaN(d.Quantile(double.NaN)));
    }

    [Fact]
    public void WidthZero_IsTheMean()
    {
        Distribution[] all =
        [
            new RectangularDistribution(7, 0), new NormalDistribution(7, 0), new TruncatedNormalDistribution(7, 0, 3), new TriangularDistribution(7, 0),
            new TrapezoidalDistribution(7, 0, 0.5), new CurvilinearTrapezoidDistribution(7, 0, 0), new ArcsineDistribution(7, 0), new TwoPointDistribution(7, 0), new StudentDistribution(7, 0, 4),
        ];
        Assert.All(all, d =>
        {
            Assert.Equal((7.0, 7.0, 0.0), (d.Quantile(0.01), d.Quantile(0.99), d.StandardUncertainty));
            Assert.Equal((0.0, 1.0), (d.Cumulative(6.9), d.Cumulative(7)));
        });
    }

    [Fact]
    public void Create_OutsideTheRange_IsRefused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => new RectangularDistribution(double.NaN, 1));
        Assert.Throws<ArgumentOutOfRangeException>(() => new RectangularDistribution(0, -1));
        Assert.Throws<ArgumentOutOfRangeException>(() => new NormalDistribution(0, double.PositiveInfinity));
        Assert.Throws<ArgumentOutOfRangeException>(() => new TruncatedNormalDistribution(0, 1, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => new CurvilinearTrapezoidDistribution(0, 1, 1.1));
        Assert.Throws<ArgumentOutOfRangeException>(() => new StudentDistribution(0, 1, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => new TrapezoidalDistribution(0, 1, double.NaN));
    }

    [Fact] // The portable functions beside the platform's, which are good to 1 ulp: 2 ulp between them
    public void PortableLogarithmAndExponential_AreThePlatformsToTwoUlps() => Gen.Double[-708, 708].Sample(x =>
    {
        double y = Math.Exp(x), z = Math.Abs(x) + double.Epsilon;
        return Math.Abs(PortableMath.Exp(x) - y) <= 2 * (Math.BitIncrement(y) - y)
            && Math.Abs(PortableMath.Log(y) - Math.Log(y)) <= 2 * Math.Max(Math.Abs(Math.BitIncrement(Math.Log(y)) - Math.Log(y)), 1e-300)
            && Math.Abs(PortableMath.Log(z) - Math.Log(z)) <= 2 * Math.Max(Math.Abs(Math.BitIncrement(Math.Log(z)) - Math.Log(z)), 1e-300);
    });

    [Fact]
    public void PortableMath_AtTheEnds_IsAsPromised()
    {
        Assert.Equal((0.0, double.PositiveInfinity, 1.0), (PortableMath.Exp(-746), PortableMath.Exp(710), PortableMath.Exp(0)));
        Assert.Equal((0.0, double.PositiveInfinity), (PortableMath.Exp(double.NegativeInfinity), PortableMath.Exp(double.PositiveInfinity)));
        Assert.True(double.IsNaN(PortableMath.Exp(double.NaN)));
        Assert.Equal(0, PortableMath.Log(1));
        Assert.Equal(-744.4400719213812, PortableMath.Log(double.Epsilon), 1e-12); // ln 2^-1074
    }

    [Fact] // Student's t: the copied table, printed to four decimals, every column and row
    public void CoverageFactor_OfStudent_IsTheTables()
    {
        PublishedTable table = PublishedTable.Read("metrology", "metrology-student-t.csv");
        Assert.Equal(28, table.Rows.Length);
        foreach (PublishedRow row in table.Rows)
        {
            double degrees = row["dof"] == "inf" ? double.PositiveInfinity : row.Number("dof");
            foreach ((string column, double p) in ((string, double)[])[("t_68.27", 0.6827), ("t_90", 0.90), ("t_95", 0.95), ("t_95.45", 0.9545), ("t_99", 0.99), ("t_99.73", 0.9973)])
            {
                Assert.Equal(row.Number(column), StudentT.CoverageFactor(p, degrees), row.HalfDigit(column));
            }
        }
    }

    [Theory] // JCGM 100:2008, table G.2 as printed to two decimals
    [InlineData(0.95, 1, 12.71)]
    [InlineData(0.95, 5, 2.57)]
    [InlineData(0.9545, 10, 2.28)]
    [InlineData(0.99, 16, 2.92)]
    [InlineData(0.9973, 50, 3.16)]
    public void CoverageFactor_OfStudent_IsTheGums(double p, double degrees, double t) => Assert.Equal(t, StudentT.CoverageFactor(p, degrees), 0.0051);

    [Theory] // scipy 1.10.1, scipy.stats.t.ppf at 0.025 and 0.995, .cdf at −2; its own inversion is good to 2e-9, its shares to 1e-10
    [InlineData(0.5, -164.55767352096126, 4113.964590639511, 0.22275744509156561)]
    [InlineData(3.7, -2.867520707191209, 4.869252253428671, 0.06090860095261697)]
    [InlineData(16.75, -2.112216902314975, 2.9035880531635283, 0.03099261499669795)]
    [InlineData(50, -2.0085591097152062, 2.6777932709408425, 0.025473534368846633)]
    [InlineData(200, -1.9718962236316093, 2.600634436165038, 0.023426593093535494)]
    [InlineData(10000, -1.9602012398906263, 2.576321046668529, 0.022763630330717727)]
    [InlineData(1000000, -1.959966356814107, 2.575834220105334, 0.0227502669256596)]
    public void Student_OfAnyDegrees_IsTheReferenceLibrarys(double degrees, double low, double high, double share)
    {
        Assert.Equal(1, StudentT.Quantile(0.025, degrees) / low, 5e-9);
        Assert.Equal(1, StudentT.Quantile(0.995, degrees) / high, 5e-9);
        Assert.Equal(0.025, StudentT.Cumulative(StudentT.Quantile(0.025, degrees), degrees), degrees > 200 ? 2e-12 : 1e-15); // the continued fraction grows long
        Assert.Equal(1, StudentT.Cumulative(-2, degrees) / share, 1e-10);
    }

    [Fact] // Closed forms at 1, 2 and 4 degrees of freedom (Abramowitz, Stegun 26.7.2 to 26.7.4)
    public void Student_OfFewDegrees_IsItsClosedForm() => Gen.Double[1e-9, 0.4999].Sample(p =>
    {
        double cauchy = p < 0.25 ? -1 / Math.Tan(Math.PI * p) : Math.Tan(Math.PI * (p - 0.5)), two = (2 * p - 1) / Math.Sqrt(2 * p * (1 - p)), t = StudentT.Quantile(p, 4);
        double s = t / Math.Sqrt(4 + t * t), back = 0.5 + 0.75 * (s - s * s * s / 3);
        return Math.Abs(StudentT.Quantile(p, 1) / cauchy - 1) < 1e-13 && Math.Abs(StudentT.Quantile(p, 2) / two - 1) < 1e-13 && Math.Abs(back - p) < 1e-15;
    });

    [Fact]
    public void Student_OutsideTheRange_IsRefused()
    {
        Assert.Throws<ArgumentOutOfRangeException>(() => StudentT.Quantile(0, 3));
        Assert.Throws<ArgumentOutOfRangeException>(() => StudentT.Quantile(0.5, 0));
        Assert.Throws<ArgumentOutOfRangeException>(() => StudentT.CoverageFactor(1, 3));
        Assert.Equal((0.0, 1.0), (StudentT.Cumulative(double.NegativeInfinity, 3), StudentT.Cumulative(double.PositiveInfinity, 3)));
        Assert.True(double.IsNaN(StudentT.Cumulative(double.NaN, 3)));
    }
}
