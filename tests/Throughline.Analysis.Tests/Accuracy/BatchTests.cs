using System.Text;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>The virtual batch: unit k is unit k, parts make the whole, and a unit of a block is a unit.</summary>
public sealed class BatchTests
{
    public static TheoryData<string> DemoNames => [.. Demos.All];

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Run_OnAnyThreads_CountsTheSame(bool isEven)
    {
        Instrument instrument = Demos.Read("nutrient-ph");
        BatchOptions options = new() { Units = 333, Seed = 7, IsEven = isEven, CauseUnits = 2 };
        byte[] one = Bytes(Run(instrument, options with { Threads = 1 }));
        byte[] three = Bytes(Run(instrument, options with { Threads = 3 }));
        Assert.Equal(one, three);
    }

    [Fact]
    public void Merge_OfShardsInAnyOrder_IsTheWholeToTheBit()
    {
        Instrument instrument = Demos.Read("nutrient-ph");
        BatchOptions options = new() { Units = 500, Seed = 3, CauseUnits = 2 };
        Batch[] parts = [.. Enumerable.Range(1, 3).Select(k => Run(instrument, options with { Shard = k, Shards = 3 }))];
        Batch forward = parts[0].Merge(parts[1]).Merge(parts[2]);
        Batch backward = Restored(instrument, parts[2]).Merge(Restored(instrument, parts[0])).Merge(Restored(instrument, parts[1]));
        Assert.Equal(Bytes(forward), Bytes(backward));
        Assert.True(forward.Report().IsWhole);
        Assert.False(parts[0].Merge(parts[1]).Report().IsWhole);

        BatchReport whole = Run(instrument, options).Report();
        BatchReport merged = forward.Report();
        Assert.Equal(Figures(whole), Figures(merged));
    }

    [Fact]
    public void Merge_OfWhatDoesNotBelongTogether_IsRefused()
    {
        Instrument instrument = Demos.Read("nutrient-ph");
        BatchOptions options = new() { Units = 128, Shards = 2 };
        Batch first = Run(instrument, options);
        Assert.Throws<ArgumentException>(() => first.Merge(first));
        Assert.Throws<ArgumentException>(() => first.Merge(Run(instrument, options with { Shard = 2, Seed = 5 })));
        using MemoryStream stream = new(Bytes(first));
        Assert.Throws<InvalidDataException>(() => Batch.Read(Demos.Read("hopper-bridge"), stream));
        byte[] bytes = Bytes(first);
        for (int length = 0; length < bytes.Length; length += bytes.Length / 50)
        {
            using MemoryStream cut = new(bytes[..length]);
            Assert.Throws<InvalidDataException>(() => Batch.Read(instrument, cut));

            byte[] spoilt = [.. bytes];
            spoilt[length] ^= 0x10;
            using MemoryStream other = new(spoilt);
            Assert.Throws<InvalidDataException>(() => Batch.Read(instrument, other));
        }
    }

    [Theory]
    [MemberData(nameof(DemoNames))]
    public void RunOne_ByItself_IsTheUnitOfTheBlock(string demo)
    {
        LifePlan plan = LifePlan.Create(Model.Compile(Demos.Read(demo)));
        BatchOptions options = new() { Units = 64, Seed = 11 };
        UnitLife block = new(plan, 64);
        (Circuits.UniformSource source, ulong index, _) = new BatchRunner.Sources(plan, options, "").At(0);
        block.Draw(source, index, 64);
        block.Live(64, TestContext.Current.CancellationToken);
        foreach (int unit in new[] { 0, 17, 63 })
        {
            UnitLife alone = BatchRunner.RunOne(plan, options, unit);
            for (int t = 0; t < plan.Tests.Length; t++)
            {
                for (int p = 0; p < plan.Points.Length; p++)
                {
                    Assert.Equal(block.DisplayErrors(t, p)[unit], alone.DisplayErrors(t, p)[0]);
                    Assert.Equal(block.LoopErrors(t, p)[unit], alone.LoopErrors(t, p)[0]);
                }
            }

            for (int t = 0; t < plan.Model.Trimmers.Length; t++)
            {
                Assert.Equal(block.Block.PositionsOf(t)[unit], alone.Block.PositionsOf(t)[0]);
            }
        }
    }

    /// <summary>A unit in which nothing deviates reads what the chain of the nominal unit reads.</summary>
    [Theory]
    [MemberData(nameof(DemoNames))]
    public void Live_WithNothingDeviating_ReadsAsTheNominalUnit(string demo)
    {
        LifePlan plan = LifePlan.Create(Model.Compile(Demos.Read(demo)));
        UnitLife life = new(plan, 8);
        double[] centres = new double[life.DrawCount];
        for (int i = 0; i < plan.Contributions.Length; i++)
        {
            centres[i] = plan.Contributions[i].Centre;
        }

        for (int lane = 0; lane < 8; lane++)
        {
            life.Place(lane, centres, centres);
        }

        life.Live(8, TestContext.Current.CancellationToken);
        Evaluator evaluator = new(plan.Model);
        int adjusted = Enumerable.Range(0, plan.Tests.Length).First(t => plan.Tests[t].Moment == Moment.Adjusted);
        for (int p = 0; p < plan.Points.Length; p++)
        {
            UnitState state = evaluator.NewState();
            state.InputBend = 0;
            state.OutputBend = 0;
            state.Measurand = plan.Points[p];
            ChainPoint point = evaluator.Chain(state);
            Assert.Equal(point.Display - plan.Points[p], life.DisplayErrors(adjusted, p)[2], plan.DisplayLimit * 0.2);
            Assert.Equal(point.LoopValue - plan.LoopCentres[p], life.LoopErrors(adjusted, p)[2], plan.LoopLimit * 0.1);
        }

        for (int s = 0; s < plan.Model.Instrument.Adjustment.Length; s++)
        {
            Assert.True(life.Reached(s)[0]);
        }
    }

    /// <summary>The linear method, which knows sensitivities at one point, and the batch, which knows nothing but the units, find the same scatter.</summary>
    [Theory]
    [MemberData(nameof(DemoNames))]
    public void Report_OfADemo_AgreesWithTheLinearBudget(string demo)
    {
        Instrument instrument = Demos.Read(demo);
        BatchReport report = Run(instrument, new BatchOptions { Units = 16_384, Seed = 2, IsEven = true, Threads = 2 }).Report();
        Assert.NotEmpty(report.Agreements);
        foreach (BatchAgreement a in report.Agreements)
        {
            // Where the scale begins at a limit, the limit cuts off half of what scatters about it: √(½ − 1/(2π)) = 0.584 of a normal scatter is left.
            bool isCutOff = a.Output == BudgetOutput.Loop && instrument.Loop is { Under: { } under } loop && loop.Scale.Any(p => p.From.Value == a.Point && p.To.Value <= under.Value);
            Assert.InRange(a.BatchDeviation / a.LinearUncertainty, isCutOff ? 0.58 : 0.93, 1.07);
            Assert.True(!isCutOff || !a.Agrees);
            Assert.Equal(a.Agrees, a.Why is null);
            Assert.Equal(a.Agrees, Math.Abs(a.LinearLow - a.BatchLow) <= a.Tolerance && Math.Abs(a.LinearHigh - a.BatchHigh) <= a.Tolerance);
        }

        Assert.InRange(report.Agreements.Count(a => a.Agrees), report.Agreements.Length - 2, report.Agreements.Length);

        // Evenly spread units know the means far better than as many independent ones.
        Assert.True(report.Confidence.MeanGain > 3, $"{report.Confidence.MeanGain}");
    }

    [Fact]
    public void Run_WhenCancelled_KeepsTheFirstUnits()
    {
        Instrument instrument = Demos.Read("nutrient-ph");
        using CancellationTokenSource stop = new();
        Batch stopped = Batch.Run(instrument, new BatchOptions { Units = 100_000, Threads = 2 }, (done, _) => stop.Cancel(), stop.Token);
        Assert.InRange(stopped.Units, 64, 1000);
        Assert.False(stopped.Report().IsWhole);
        BatchReport same = Run(instrument, new BatchOptions { Units = stopped.Units }).Report();
        Assert.Equal(Figures(same), Figures(stopped.Report()));
    }

    /// <summary>The programs for many units give what the full solver gives, unit by unit.</summary>
    [Theory]
    [MemberData(nameof(DemoNames))]
    public void Live_ByProgram_IsAsByTheFullSolver(string demo)
    {
        Model model = Model.Compile(Demos.Read(demo));
        LifePlan fast = LifePlan.Create(model);
        LifePlan full = LifePlan.Create(model, onlyFull: true);
        Assert.True(fast.Input!.IsFast && fast.Output!.IsFast && fast.Bench.All(b => b.Free!.IsFast && b.Limited!.IsFast));
        Assert.False(full.Input!.IsFast);
        BatchOptions options = new() { Seed = 21 };
        for (long unit = 0; unit < 24; unit++)
        {
            UnitLife a = BatchRunner.RunOne(fast, options, unit);
            UnitLife b = BatchRunner.RunOne(full, options, unit);
            for (int t = 0; t < model.Trimmers.Length; t++)
            {
                Assert.Equal(b.Block.PositionsOf(t)[0], a.Block.PositionsOf(t)[0], 1e-7);
            }

            for (int t = 0; t < fast.Tests.Length; t++)
            {
                for (int p = 0; p < fast.Points.Length; p++)
                {
                    // The steps of the display are the same; the loop, which has none, agrees to a nanoampere.
                    Assert.Equal(b.DisplayErrors(t, p)[0], a.DisplayErrors(t, p)[0]);
                    Assert.Equal(b.LoopErrors(t, p)[0], a.LoopErrors(t, p)[0], 1e-9);
                }
            }
        }
    }

    /// <summary>A block adjusts each of its units as the person at the bench adjusts it by itself.</summary>
    [Theory]
    [MemberData(nameof(DemoNames))]
    public void Live_OfABlock_AdjustsAsThePersonAtTheBench(string demo)
    {
        LifePlan plan = LifePlan.Create(Model.Compile(Demos.Read(demo)));
        Evaluator evaluator = new(plan.Model);
        BenchAdjuster person = new(evaluator);
        UnitLife life = new(plan, 64);
        life.Draw(Circuits.UniformSource.PseudoRandom(9, plan.StreamNames), 0, 64);
        life.Live(64, TestContext.Current.CancellationToken);
        for (int lane = 0; lane < 64; lane++)
        {
            UnitState state = evaluator.NewState();
            for (int i = 0; i < plan.Model.Parameters.Count; i++)
            {
                state.Values[i] = life.Block.ValuesOf(i)[lane];
                state.Drifts[i] = life.Block.DriftsOf(i)[lane];
            }

            state.OutputBend = life.Block.Condition(UnitState.Of.OutputBend)[lane];
            BenchResult result = person.Adjust(state);
            evaluator.TrimOutput(state, limited: true);
            Assert.Equal(evaluator.TrimPlan is null, state.OutputTrim == OutputTrim.Neutral);
            Assert.Equal(state.OutputTrim.Offset, life.Block.Condition(UnitState.Of.TrimOffset)[lane], 1e-2);
            Assert.Equal(state.OutputTrim.Gain, life.Block.Condition(UnitState.Of.TrimGain)[lane], 1e-6);
            Assert.Equal(result.Rounds, life.Rounds[lane]);
            for (int s = 0; s < result.Steps.Length; s++)
            {
                Assert.Equal(result.Steps[s].IsReached, life.Reached(s)[lane]);
                Assert.Equal(result.Steps[s].Shown, life.MeterReadings(s)[lane], plan.Model.Instrument.Adjustment[s].Target.Tolerance * 1e-4);
                Assert.Equal(result.Steps[s].Position, life.Block.PositionsOf(evaluator.Plan.Steps[s].Trimmer)[lane], 1e-6);
            }
        }
    }

    /// <summary>Kolmogorov–Smirnov: what is drawn for a part lies as its distribution says. 1.95 / √n is passed by one honest draw in a thousand
    /// (Kolmogorov's limiting distribution, 2 exp(−2 · 1.95²) = 0.001).</summary>
    [Fact]
    public void Draw_OfEveryContribution_FollowsItsDistribution()
    {
        const int Units = 4096;
        LifePlan plan = LifePlan.Create(Model.Compile(Demos.Read("nutrient-ph")));
        UnitLife life = new(plan, 64);
        double[][] drawn = [.. plan.Contributions.Select(_ => new double[Units])];
        Circuits.UniformSource source = Circuits.UniformSource.PseudoRandom(5, plan.StreamNames);
        for (int first = 0; first < Units; first += 64)
        {
            life.Draw(source, (ulong)first, 64);
            for (int i = 0; i < drawn.Length; i++)
            {
                life.Drawn(i).CopyTo(drawn[i].AsSpan(first));
            }
        }

        int beyond = 0;
        for (int i = 0; i < drawn.Length; i++)
        {
            Array.Sort(drawn[i]);
            double greatest = 0;
            for (int k = 0; k < Units; k++)
            {
                double share = plan.Contributions[i].Distribution.Cumulative(drawn[i][k]);
                greatest = Math.Max(greatest, Math.Max(share - ((double)k / Units), ((k + 1.0) / Units) - share));
            }

            beyond += greatest > 1.95 / Math.Sqrt(Units) ? 1 : 0;
        }

        // Of some hundred contributions a chance of a thousandth each: two would be a chance of less than one in a hundred.
        Assert.InRange(beyond, 0, 1);
    }

    private static Batch Run(Instrument instrument, BatchOptions options) => Batch.Run(instrument, options, cancel: TestContext.Current.CancellationToken);

    private static byte[] Bytes(Batch batch)
    {
        using MemoryStream stream = new();
        batch.Write(stream);
        return stream.ToArray();
    }

    private static Batch Restored(Instrument instrument, Batch batch)
    {
        using MemoryStream stream = new(Bytes(batch));
        return Batch.Read(instrument, stream);
    }

    /// <summary>Every figure with all its digits.</summary>
    private static string Figures(BatchReport report)
    {
        StringBuilder text = new();
        foreach (BatchReading r in report.Readings)
        {
            text.AppendLine($"{r.Test} {r.Point:R} {r.Place} {Spread(r.Errors)}");
        }

        foreach (BatchSpread s in report.Trimmers.Concat(report.Calibrations))
        {
            text.AppendLine(Spread(s));
        }

        foreach (BatchYield y in report.Yields)
        {
            text.AppendLine($"{y.Name} {y.Good} {y.Of}");
        }

        foreach (BatchCauses c in report.Causes)
        {
            text.AppendLine($"{c.Point:R} {c.Place} {c.StandardDeviation:R} {string.Join(' ', c.Shares.Select(s => $"{s.Name} {s.First:R} {s.Total:R}"))}");
        }

        text.AppendJoin(' ', report.Worst.Select(w => $"{w.Unit} {w.OfLimit:R}"));
        text.Append($" {report.Confidence.YieldError:R}");
        return text.ToString();

        static string Spread(BatchSpread s) =>
            $"{s.Name} {s.Mean:R} {s.StandardDeviation:R} {s.Least:R} {s.LeastUnit} {s.Q005:R} {s.Q025:R} {s.Median:R} {s.Q975:R} {s.Q995:R} {s.Greatest:R} {s.GreatestUnit} {s.Missing}";
    }
}
