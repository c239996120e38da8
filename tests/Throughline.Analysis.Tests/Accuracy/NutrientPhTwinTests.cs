using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>
/// The batch against an independent program that builds, adjusts, calibrates and tests the same units from the same figures, unit for unit:
/// Reference/nutrient_ph.py, plain NumPy, which has equations of its own and knows nothing of the engine's.
/// </summary>
[Trait("Length", "long")]
public sealed class NutrientPhTwinTests
{
    private const int Units = 10_000;
    private const double FullScaleAmperes = 0.020;

    /// <summary>To 1e-9 of full scale: readings of the display in pH, of the loop of 20 mA, of the meters of their targets, zeros of the limit of 30 mV; slopes
    /// and positions of trimmers of one. What is judged and counted is the same.</summary>
    /// <param name="isStretched">Whether some figures lie several times further from what is stated than the file allows, so that trimmers do not reach, calibrations
    /// are refused, readings are not plausible and passes are repeated, none of which happens to this design.</param>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Batch_OfTenThousandUnits_IsThatOfTheIndependentProgram(bool isStretched)
    {
        string folder = Repository.PathOf("demo", "nutrient-ph");
        string file = Path.Combine(folder, "instrument.yaml");
        LifePlan plan = LifePlan.Create(Model.Compile(InstrumentReader.ReadText(file, File.ReadAllText(file), folder).Value!));
        BatchRunner.Sources sources = new(plan, new BatchOptions { Units = Units, Seed = 2026 }, "");
        UnitLife life = new(plan, BatchRunner.Lanes);
        double[] figures = new double[Units * life.DrawCount];
        Dictionary<string, double[]> ours = [];
        for (int first = 0; first < Units; first += BatchRunner.Lanes)
        {
            int count = Math.Min(BatchRunner.Lanes, Units - first);
            (Circuits.UniformSource source, ulong index, _) = sources.At(first);
            life.Draw(source, index, count);
            for (int lane = 0; lane < count; lane++)
            {
                Span<double> unit = figures.AsSpan((first + lane) * life.DrawCount, life.DrawCount);
                life.CopyDraws(lane, unit);
                if (isStretched)
                {
                    Stretch(plan, unit);
                    life.Place(lane, unit, unit);
                }
            }

            life.Live(count, TestContext.Current.CancellationToken);
            Keep(ours, life, first, count);
        }

        NutrientPhTwin twin = NutrientPhTwin.Run(plan, figures, block: 2000);
        Assert.Equal(twin.Rows.Keys.Where(n => !n.StartsWith("edge", StringComparison.Ordinal)).Order(), ours.Keys.Order());

        // A unit whose standard stands on the edge between two codes may be calibrated otherwise, and reads otherwise ever after; another one may only where a
        // single reading stands on an edge of the converters' codes or of the display.
        HashSet<int> tied = [.. Tied(twin.Rows["edge standards"])];
        int edges = tied.Count;
        foreach (string test in plan.Tests.Select(Name))
        {
            bool isBefore = test is "as built" or "after adjustment";
            for (int p = 0; p < plan.Points.Length; p++)
            {
                HashSet<int> apart = [.. Tied(twin.Rows[$"edge {test} {p}"])];
                edges += apart.Count;
                apart.UnionWith(isBefore ? [] : tied);
                Compare($"display {test} {p}", 1e-9, apart);
                Compare($"loop {test} {p}", 1e-9 * FullScaleAmperes, apart);
            }
        }

        // One in a hundred million stands that near to an edge.
        Assert.InRange(edges, 0, 5);
        for (int s = 0; s < plan.Bench.Length; s++)
        {
            Compare($"position {s}", 1e-9, []);
            Compare($"meter {s}", 1e-9 * plan.Model.Instrument.Adjustment[s].Target.Value, []);
        }

        Compare("zero", 1e-9 * 0.030, tied);
        Compare("slope", 1e-9, tied);
        Compare("verdict", 0, tied);
        Compare("rounds", 0, []);
        if (isStretched)
        {
            // Every way that a unit can go was gone by some.
            Assert.All(Enum.GetValues<CalibrationVerdict>().Except([CalibrationVerdict.Impossible]), verdict => Assert.Contains((double)verdict, ours["verdict"]));
            Assert.All(Enumerable.Range(0, plan.Bench.Length), s => Assert.Contains(ours[$"position {s}"], x => x is 0 or 1));
            Assert.Contains(2.0, ours["rounds"]);
        }

        void Compare(string name, double tolerance, HashSet<int> apart)
        {
            double[] batch = ours[name];
            double[] independent = twin.Rows[name];
            for (int unit = 0; unit < Units; unit++)
            {
                // Written so that NaN fails too.
                if (!(Math.Abs(batch[unit] - independent[unit]) <= tolerance) && !apart.Contains(unit))
                {
                    Assert.Fail(FormattableString.Invariant($"{name} of unit {unit}: {batch[unit]:R} in the batch, {independent[unit]:R} in the independent program."));
                }
            }
        }
    }

    private static void Stretch(LifePlan plan, Span<double> unit)
    {
        for (int i = 0; i < plan.Contributions.Length; i++)
        {
            Contribution c = plan.Contributions[i];
            double factor = c.Name switch
            {
                "sensor zero" => 2,
                "sensor slope" => 3,
                "VREF voltage" => 20,
                "R4 resistance" or "R5 resistance" or "R1 resistance" or "R12 resistance" or "R15 resistance" => 6,
                "U1 offset" => 20,
                _ => 1,
            };
            unit[i] = c.Centre + (factor * (unit[i] - c.Centre));
        }
    }

    private static IEnumerable<int> Tied(double[] edge) => Enumerable.Range(0, edge.Length).Where(unit => edge[unit] < 1e-9);

    private static string Name(TestConditions test) => test.Name.Replace('\u202F', ' ');

    private static void Keep(Dictionary<string, double[]> rows, UnitLife life, int first, int count)
    {
        LifePlan plan = life.Plan;
        for (int t = 0; t < plan.Tests.Length; t++)
        {
            string test = Name(plan.Tests[t]);
            for (int p = 0; p < plan.Points.Length; p++)
            {
                Copy($"display {test} {p}", life.DisplayErrors(t, p));
                Copy($"loop {test} {p}", life.LoopErrors(t, p));
            }
        }

        for (int s = 0; s < plan.Bench.Length; s++)
        {
            Copy($"position {s}", life.Block.PositionsOf(s));
            Copy($"meter {s}", life.MeterReadings(s));
        }

        Copy("zero", life.Zeros);
        Copy("slope", life.Slopes);
        Copy("rounds", Array.ConvertAll(life.Rounds, r => (double)r));
        Copy("verdict", Array.ConvertAll(life.Verdicts, v => (double)(int)v));

        void Copy(string name, ReadOnlySpan<double> values)
        {
            if (!rows.TryGetValue(name, out double[]? row))
            {
                rows.Add(name, row = new double[Units]);
            }

            values[..count].CopyTo(row.AsSpan(first));
        }
    }
}
