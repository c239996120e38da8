using System.Diagnostics;
using System.Globalization;
using Throughline.Analysis;
using Throughline.Analysis.Tests.Accuracy;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>
/// Whole units of demo/nutrient-ph: built, adjusted, calibrated, tested at 8 conditions and 5 points; beside an independent program in NumPy, vectorised over
/// units with stacked solves, that lives the same units and is the one that the tests compare with. NumPy's time leaves drawing and counting out, the batch's has them.
/// </summary>
internal static class UnitComparison
{
    /// <summary>Units that NumPy lives; its time is linear in them beyond one block.</summary>
    private const int NumericalUnits = 20_000;

    private const double Aim = 40;

    /// <summary>Prints the tables; 1 when the aim is missed.</summary>
    /// <param name="args">Greatest number of units; a million when left out.</param>
    public static int Run(string[] args)
    {
        long most = args is [var text] ? (long)double.Parse(text, CultureInfo.InvariantCulture) : 1_000_000;
        string folder = Path.Combine(CheckBenchmarks.Root(), "demo", "nutrient-ph");
        string file = Path.Combine(folder, "instrument.yaml");
        Instrument instrument = InstrumentReader.ReadText(file, File.ReadAllText(file), folder).Value ?? throw new InvalidOperationException($"{file} has mistakes.");
        _ = Measure(instrument, 10_000, 1);

        // One after the other, twice, so that a busy machine is busy for all; the best of each.
        LifePlan plan = LifePlan.Create(Model.Compile(instrument));
        double[] figures = Draw(plan, NumericalUnits);
        Line($"units of nutrient-ph: {plan.Contributions.Length} contributions, {plan.Bench.Length} steps of adjustment, {plan.Tests.Length} conditions × {plan.Points.Length} points; {Environment.ProcessorCount} processors");
        Line($"{"",-34} {"units",9} {"seconds",9} {"µs a unit",9} {"units/s",9} {"of NumPy",9} {"peak MB",8}");
        double numerical = double.PositiveInfinity;
        double living = double.PositiveInfinity;
        string version = "";
        int bestBlock = 0;
        Dictionary<(long Units, int Threads), (double Seconds, double Megabytes)> times = [];
        (long Units, int Threads)[] runs = [.. Decades(most).Select(units => (units, 1)), (most, 2)];
        for (int turn = 0; turn < 2; turn++)
        {
            foreach (int block in (int[])[1000, 5000, 20_000])
            {
                NutrientPhTwin twin = NutrientPhTwin.Run(plan, figures, block, repeat: 2, withResults: false);
                version = twin.Version;
                if (twin.Seconds < numerical)
                {
                    (numerical, bestBlock) = (twin.Seconds, block);
                }
            }

            living = Math.Min(living, Live(plan, figures));
            foreach ((long Units, int Threads) run in runs)
            {
                (double seconds, double megabytes) = Measure(instrument, run.Units, run.Threads);
                times[run] = times.TryGetValue(run, out var before) ? (Math.Min(seconds, before.Seconds), Math.Max(megabytes, before.Megabytes)) : (seconds, megabytes);
            }
        }

        double perUnit = numerical / NumericalUnits;
        Row($"NumPy {version}, {bestBlock} units at a time", NumericalUnits, numerical, perUnit, "");
        Row("engine, the same, 1 thread", NumericalUnits, living, perUnit, "");
        foreach ((long Units, int Threads) run in runs)
        {
            Row(run.Threads == 1 ? "batch, 1 thread" : $"batch, {run.Threads} threads", run.Units, times[run].Seconds, perUnit, $"{times[run].Megabytes,8:F0}");
        }

        double ratio = perUnit / (times[(most, 1)].Seconds / most);
        Line($"one thread against one: {ratio:F1}× faster{(ratio >= Aim ? "" : $", aim {Aim}× missed")}; two threads against one: {times[(most, 1)].Seconds / times[(most, 2)].Seconds:F2}×");
        for (int k = 1; k < runs.Length - 1; k++)
        {
            // Compiling the instrument and its programs is the same for any number of units.
            double further = (times[runs[k]].Seconds - times[runs[k - 1]].Seconds) / (runs[k].Units - runs[k - 1].Units);
            Line($"from {runs[k - 1].Units} to {runs[k].Units} units: {further * 1e6:F2} µs for each further one");
        }

        return ratio >= Aim ? 0 : 1;
    }

    private static IEnumerable<long> Decades(long most)
    {
        for (long units = 10_000; units < most; units *= 10)
        {
            yield return units;
        }

        yield return most;
    }

    private static void Row(string what, long units, double seconds, double numerical, string memory) =>
        Line($"{what,-34} {units,9} {seconds,9:F2} {seconds / units * 1e6,9:F2} {units / seconds,9:F0} {numerical / (seconds / units),8:F1}× {memory}");

    private static void Line(FormattableString text) => Console.WriteLine(text.ToString(CultureInfo.InvariantCulture));

    private static double[] Draw(LifePlan plan, int units)
    {
        BatchRunner.Sources sources = new(plan, new BatchOptions { Units = units }, "");
        UnitLife life = new(plan, BatchRunner.Lanes);
        double[] figures = new double[units * life.DrawCount];
        for (int first = 0; first < units; first += BatchRunner.Lanes)
        {
            int count = Math.Min(BatchRunner.Lanes, units - first);
            (UniformSource source, ulong index, _) = sources.At(first);
            life.Draw(source, index, count);
            for (int lane = 0; lane < count; lane++)
            {
                life.CopyDraws(lane, figures.AsSpan((first + lane) * life.DrawCount, life.DrawCount));
            }
        }

        return figures;
    }

    /// <summary>Seconds of what NumPy does: living the units of given figures.</summary>
    private static double Live(LifePlan plan, double[] figures)
    {
        UnitLife life = new(plan, BatchRunner.Lanes);
        int units = figures.Length / life.DrawCount;
        double least = double.PositiveInfinity;
        for (int turn = 0; turn < 3; turn++)
        {
            long ticks = 0;
            for (int first = 0; first < units; first += BatchRunner.Lanes)
            {
                int count = Math.Min(BatchRunner.Lanes, units - first);
                for (int lane = 0; lane < count; lane++)
                {
                    ReadOnlySpan<double> unit = figures.AsSpan((first + lane) * life.DrawCount, life.DrawCount);
                    life.Place(lane, unit, unit);
                }

                long start = Stopwatch.GetTimestamp();
                life.Live(count);
                ticks += Stopwatch.GetTimestamp() - start;
            }

            least = Math.Min(least, ticks / (double)Stopwatch.Frequency);
        }

        return least;
    }

    /// <summary>Compiling the instrument included; memory is the greatest that the process held while the batch ran, looked at at every hundredth block.</summary>
    private static (double Seconds, double Megabytes) Measure(Instrument instrument, long units, int threads)
    {
        GC.Collect();
        using Process process = Process.GetCurrentProcess();
        long greatest = 0;
        long calls = 0;
        long start = Stopwatch.GetTimestamp();
        Batch batch = Batch.Run(instrument, new BatchOptions { Units = units, Threads = threads }, (_, _) =>
        {
            if (Interlocked.Increment(ref calls) % 100 == 0)
            {
                lock (process)
                {
                    process.Refresh();
                    greatest = Math.Max(greatest, process.WorkingSet64);
                }
            }
        });
        double seconds = Stopwatch.GetElapsedTime(start).TotalSeconds;
        return batch.Units == units ? (seconds, greatest / 1e6) : throw new InvalidOperationException("Units are missing.");
    }
}
