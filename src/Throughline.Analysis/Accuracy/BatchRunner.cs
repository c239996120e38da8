using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>What a batch is to do.</summary>
public sealed record BatchOptions
{
    public long Units { get; init; } = 10_000;

    public ulong Seed { get; init; } = 1;

    /// <summary>Number of this part of the batch, from 1.</summary>
    public int Shard { get; init; } = 1;

    public int Shards { get; init; } = 1;

    /// <summary>Whether the units are spread evenly (quasi-random) instead of drawn independently.</summary>
    public bool IsEven { get; init; }

    /// <summary>Threads to spread it over; the result is the same.</summary>
    public int Threads { get; init; } = 1;

    /// <summary>Units, the first ones, whose causes are ranked; 0 leaves it out.</summary>
    public int CauseUnits { get; init; }
}

/// <summary>Units done so far.</summary>
public delegate void BatchProgress(long done, long all);

/// <summary>Runs the units of a batch, or of one shard of it, on every processor.</summary>
internal static class BatchRunner
{
    /// <summary>Units that are lived together. Part of what a unit of a quasi-random batch is: never change it.</summary>
    public const int Lanes = 64;

    /// <summary>Numbers of the units of a shard: whole blocks, so that shards and threads draw alike.</summary>
    public static (long First, long End) UnitsOf(BatchOptions options)
    {
        long blocks = (options.Units + Lanes - 1) / Lanes;
        long first = (long)((Int128)blocks * (options.Shard - 1) / options.Shards) * Lanes;
        long end = Math.Min((long)((Int128)blocks * options.Shard / options.Shards) * Lanes, options.Units);
        return (Math.Min(first, options.Units), end);
    }

    /// <summary>Runs; when cancelled, what is done so far comes back: the first units, without a gap.</summary>
    public static (BatchTally Tally, CauseTally Causes, long Done) Run(LifePlan plan, BatchOptions options, BatchProgress? progress, CancellationToken cancel)
    {
        (long first, long end) = UnitsOf(options);
        int threads = (int)Math.Clamp((end - first + Lanes - 1) / Lanes, 1, options.Threads);
        long next = first;
        long done = 0;
        BatchTally[] tallies = new BatchTally[threads];
        CauseTally[] causes = new CauseTally[threads];
        Sources sources = new(plan, options, "");
        Sources others = new(plan, options, CauseTally.Other);
        Parallel.For(0, threads, new ParallelOptions { MaxDegreeOfParallelism = threads }, thread =>
        {
            UnitLife life = new(plan, Lanes);
            BatchTally tally = tallies[thread] = new BatchTally(plan);
            CauseTally cause = causes[thread] = new CauseTally(plan);
            while (!cancel.IsCancellationRequested)
            {
                long block = Interlocked.Add(ref next, Lanes) - Lanes;
                if (block >= end)
                {
                    break;
                }

                int count = (int)Math.Min(Lanes, end - block);
                (UniformSource source, ulong index, int replicate) = sources.At(block);
                life.Draw(source, index, count);
                life.Live(count);
                tally.Add(life, block, count, replicate);
                if (block < options.CauseUnits)
                {
                    RankCauses(life, cause, sources, others, block, (int)Math.Min(count, options.CauseUnits - block));
                }

                long doneNow = Interlocked.Add(ref done, count);
                progress?.Invoke(doneNow, end - first);
            }
        });

        // Every block that was begun was ended, and blocks are taken in order: what is done has no gap.
        BatchTally all = new(plan);
        CauseTally allCauses = new(plan);
        for (int t = 0; t < threads; t++)
        {
            all.Add(tallies[t]);
            allCauses.Add(causes[t]);
        }

        return (all, allCauses, done);
    }

    private static void RankCauses(UnitLife life, CauseTally causes, Sources sources, Sources others, long block, int count)
    {
        double[] own = new double[life.DrawCount * count];
        double[] other = new double[life.DrawCount * count];
        (UniformSource source, ulong index, _) = sources.At(block);
        life.Draw(source, index, count);
        Copy(own);
        (source, index, _) = others.At(block);
        life.Draw(source, index, count);
        Copy(other);
        for (int unit = 0; unit < count; unit++)
        {
            causes.Add(life, own.AsSpan(unit * life.DrawCount, life.DrawCount), other.AsSpan(unit * life.DrawCount, life.DrawCount));
        }

        void Copy(double[] to)
        {
            for (int unit = 0; unit < count; unit++)
            {
                life.CopyDraws(unit, to.AsSpan(unit * life.DrawCount, life.DrawCount));
            }
        }
    }

    /// <summary>Lives one unit by itself: the same unit as in the batch.</summary>
    public static UnitLife RunOne(LifePlan plan, BatchOptions options, long unit)
    {
        UnitLife life = new(plan, BatchProgram.LaneMultiple, isCompiled: false);
        long block = unit / Lanes * Lanes;
        (UniformSource source, ulong index, _) = new Sources(plan, options, "").At(block);
        life.Draw(source, index + (ulong)(unit - block), 1);
        life.Live(1);
        return life;
    }

    /// <summary>Where the random numbers of a block come from.</summary>
    internal sealed class Sources
    {
        private readonly UniformSource[] _sources;

        /// <param name="ending">Of the names of the streams: other endings give other units.</param>
        public Sources(LifePlan plan, BatchOptions options, string ending)
        {
            string[] names = [.. plan.StreamNames.Select(n => n + ending)];
            _sources = options.IsEven
                ? [.. Enumerable.Range(0, BatchTally.Replicates).Select(r => UniformSource.QuasiRandom(options.Seed, names, r))]
                : [UniformSource.PseudoRandom(options.Seed, names)];
        }

        /// <param name="block">Number of the block's first unit.</param>
        public (UniformSource Source, ulong Index, int Replicate) At(long block)
        {
            long number = block / Lanes;
            int replicate = (int)(number % BatchTally.Replicates);
            return _sources.Length == 1
                ? (_sources[0], (ulong)block, replicate)
                : (_sources[replicate], (ulong)(number / BatchTally.Replicates * Lanes), replicate);
        }
    }
}
