using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>Currents and watts of whole trees.</summary>
public sealed class SupplyTreeTests
{
    /// <summary>Of the power that the sources give.</summary>
    private const double Conserved = 1e-9;

    [Theory] // Property: every watt from outside is heat in the circuit, in the loop, in a draw or in a supply
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    [InlineData("loop-powered-level")]
    public void Report_OfDemo_ConservesPower(string demo)
    {
        SupplyReport report = Reviewer.Supplies(InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml")).Value!)!;
        foreach (SupplyPoint? point in new[] { report.Typical, report.Hardest })
        {
            Assert.NotNull(point);
            Assert.True(point.FeedingWatts > 0.1);
            Assert.Equal(0, point.UnaccountedWatts, Conserved * point.FeedingWatts);
        }

        Assert.True(report.Hardest!.KeptWatts > report.Typical!.KeptWatts);
    }

    [Fact] // Property: the same on random trees, where the circuit's heat is that of resistors by Ohm's law
    public void Report_OfRandomTrees_ConservesPower()
    {
        int judged = 0;
        for (int seed = 0; seed < 120; seed++)
        {
            (string supplies, string parts, Dictionary<string, double> ohms) = Trees.Random(seed);
            SupplyReport report = Trees.Report(supplies, parts);
            foreach (SupplyPoint? point in new[] { report.Typical, report.Hardest })
            {
                if (point is null)
                {
                    // A charge pump that breaks down under what it feeds.
                    continue;
                }

                judged++;
                double heat = point.Rails.Where(r => ohms.ContainsKey(r.Supply.Name.Value)).Sum(r => r.OutputVolts * r.OutputVolts / ohms[r.Supply.Name.Value]);

                // RS and RL take 1 V² / 200 kΩ from the sensor, which gives 1 V in the middle and 0 or 2 V at the ends.
                double sensor = point.OtherWatts;
                Assert.InRange(sensor, -1e-15, 2.0001e-5);
                Assert.Equal(heat + sensor, point.CircuitWatts, 1e-12);
                Assert.True(Math.Abs(point.UnaccountedWatts) <= Conserved * point.OutsideWatts, $"seed {seed}: {point.UnaccountedWatts} W of {point.OutsideWatts} W");
                Assert.All(point.Rails, r => Assert.True(r.LossWatts > -1e-12, $"seed {seed}: {r.Supply.Name.Value} gives {r.LossWatts} W"));
            }
        }

        Assert.True(judged > 150, $"only {judged} points");
    }

    [Fact] // By hand: 5 V at 10 mA and a draw of 6 mA through a regulator that takes 2 mA, behind a fuse of 2 Ω and a diode of 0.7 V
    public void Report_OfSeriesParts_DropsWhatOhmSays()
    {
        SupplyReport report = Trees.Report(
            "F1: { kind: fuse, from: input, resistance: 2 Ω, limit: 100 mA }\n"
                + "D1: { kind: protection diode, from: F1, drop: 0.7 V }\n"
                + "A5: { kind: linear regulator, from: D1, voltage: 5 V, quiescent: 2 mA, dropout: 1 V, junction: 100 K/W, draws: { chip: 6 mA typ 9 mA max } }",
            "R1: { resistor: 500 Ω, between: [A5, 0V] }");
        RailPoint a5 = Trees.Rail(report.Typical, "A5");
        Assert.Equal(16e-3, a5.OutputAmperes, 1e-12);
        Assert.Equal(18e-3, a5.InputAmperes, 1e-12);
        Assert.Equal(24 - (2 * 18e-3) - 0.7, a5.InputVolts, 1e-9);
        Assert.Equal((23.264 * 18e-3) - (5 * 16e-3), a5.LossWatts, 1e-9);
        Assert.Equal(25 + (100 * a5.LossWatts), a5.JunctionCelsius, 1e-9);
        Assert.Equal(2 * 18e-3 * 18e-3, Trees.Rail(report.Typical, "F1").LossWatts, 1e-9);
        Assert.Equal(0.7 * 18e-3, Trees.Rail(report.Typical, "D1").LossWatts, 1e-9);
        Assert.Equal(18e-3, Trees.Rail(report.Typical, "input").OutputAmperes, 1e-12);

        // With the draw at its maximum, 3 mA more.
        RailWorst worst = report.Worst.Single(r => r.Supply.Name.Value == "A5");
        Assert.Equal(19e-3, worst.Amperes, 1e-12);
        Assert.Equal(24 - (2 * 21e-3) - 0.7 - 5 - 1, worst.Headroom, 1e-9);
    }

    [Fact] // Intersil ICL7660, FN3072 p. 9: 71 Ω at −5 V and 10 mA leave −4.29 V
    public void Report_OfChargePump_SagsByItsResistance()
    {
        SupplyReport report = Trees.Report(
            "A5: { kind: linear regulator, from: input, voltage: 5 V }\nN5: { kind: charge pump, from: A5, voltage: −5 V, output resistance: 71 Ω, draws: { chip: 10 mA } }");
        RailPoint n5 = Trees.Rail(report.Typical, "N5");
        Assert.Equal(-4.29, n5.OutputVolts, 1e-9);
        Assert.Equal(-10e-3, n5.OutputAmperes, 1e-12);

        // What goes into an inverting pump is what comes out.
        Assert.Equal(10e-3, n5.InputAmperes, 1e-12);
        Assert.Equal(71 * 1e-4, n5.LossWatts, 1e-12);
    }

    [Fact] // By hand: the pump's own load and a regulator behind it share the resistance, which no stated figure knows
    public void Report_OfSagBehindSag_SettlesWhereBothAgree()
    {
        SupplyReport report = Trees.Report(
            "N20: { kind: charge pump, from: input, voltage: −24 V, output resistance: 50 Ω }\n"
                + "N5: { kind: linear regulator, from: N20, voltage: −5 V, quiescent: 1 mA }",
            "R1: { resistor: 1 kΩ, between: [N5, 0V] }\nR2: { resistor: 2 kΩ, between: [N20, 0V] }");
        RailPoint pump = Trees.Rail(report.Typical, "N20");

        // V = −24 V + 50 Ω (6 mA + |V| / 2 kΩ)
        double volts = -(24 - (50 * 6e-3)) / (1 + (50.0 / 2000));
        Assert.Equal(volts, pump.OutputVolts, 1e-9);
        Assert.Equal((volts / 2000) - 6e-3, pump.OutputAmperes, 1e-11);
    }

    [Fact] // By hand: 12 V × 10 mA at 80 % are 150 mW
    public void Report_OfIsolatedConverter_TakesItsPower()
    {
        SupplyReport report = Trees.Report(
            "L12: { kind: isolated converter, from: input, voltage: 12 V, efficiency: 80 %, quiescent: 4 mA, return: L0, withstands: 1 kV }",
            "R1: { resistor: 1.2 kΩ, between: [L12, L0] }");
        RailPoint l12 = Trees.Rail(report.Typical, "L12");
        Assert.Equal((0.15 / 24) + 4e-3, l12.InputAmperes, 1e-12);
        Assert.Equal(0.12 / (0.15 + 0.096), l12.Efficiency, 1e-12);
    }

    [Fact] // Definition: 2.6 Ah at 1 mA are 2600 h
    public void Check_OfBattery_SaysHowLongItLasts()
    {
        Review review = Reviewer.Review(Sketch.Read(Trees.Text(
            "B: { kind: battery, voltage: 3.6 V, return: 0V, capacity: 2.6 Ah, lasts: 1 year, draws: { clock: 1 mA } }")));
        Finding finding = review.Findings.Single(f => f.Check == "battery lasts");
        Assert.Equal(2600 * 3600.0, finding.Figures[0].Value, 1e-3);
        Assert.Equal(Outcome.NotMet, finding.Outcome);
    }

    [Theory]
    [InlineData("A5: { kind: linear regulator, from: input, voltage: 5 V, limit: 50 mA, draws: { chip: 51 mA } }", "supply current", "A5")]
    [InlineData("A5: { kind: linear regulator, from: input, voltage: 5 V, junction: 100 K/W, draws: { chip: 45 mA } }", "junction temperature of the supplies", "A5")]
    [InlineData("A22: { kind: linear regulator, from: input, voltage: 22.5 V, dropout: 2 V }", "supply headroom", "A22")]
    [InlineData("A5: { kind: switching converter, from: input, voltage: 5 V, input: 9 .. 18 V }", "supply headroom", "A5")]
    [InlineData("A5: { kind: linear regulator, from: input, voltage: 5 V, draws: { reading: 1 mA } }", "every consumer accounted for", "supplies")]
    public void Check_OfFaultyTree_IsNotMet(string supplies, string check, string subject)
    {
        Finding finding = Reviewer.Review(Trees.Instrument(supplies)).Findings.Single(f => f.Check == check && f.Subject == subject);
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.NotNull(finding.Mend);
    }
}
