using System.Globalization;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Charts;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>Runs a virtual batch in parts, so that its histograms grow while it runs.</summary>
public sealed partial class BatchPart : ComponentBase, IDisposable
{
    private const long MostUnits = 10_000_000;
    private const int MostParts = 40;
    private const int LeastPart = 256;

    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(400);
    private static readonly TimeProvider Time = TimeProvider.System;

    private string _units = "10000";
    private string _seed = "1";
    private CancellationTokenSource? _work;
    private BatchReport? _report;
    private Instrument? _ofInstrument;
    private UnitReport? _unit;
    private double _share;
    private string? _trouble;

    [Parameter]
    [EditorRequired]
    public InstrumentSession Session { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public SessionState State { get; set; } = null!;

    [Parameter]
    [EditorRequired]
    public Followed Followed { get; set; } = null!;

    /// <summary>The value of the measurand that is looked at.</summary>
    [Parameter]
    public double Point { get; set; }

    [Parameter]
    public BudgetOutput Output { get; set; }

    private bool IsRunning => _work is not null;

    private string Status => _report is null ? "" : $"{Engineering.Fixed(_report.Units, 0)} units{(IsRunning ? " so far" : _report.IsWhole ? "" : ", stopped")}";

    public void Dispose() => _work?.Cancel();

    private void Stop() => _work?.Cancel();

    private async Task RunAsync()
    {
        _trouble = null;
        if (!long.TryParse(_units, NumberStyles.None, CultureInfo.InvariantCulture, out long units) || units is < 1 or > MostUnits)
        {
            _trouble = $"A batch has 1 to {Engineering.Fixed(MostUnits, 0)} units.";
            return;
        }

        if (!ulong.TryParse(_seed, NumberStyles.None, CultureInfo.InvariantCulture, out ulong seed))
        {
            _trouble = "A seed is a whole number from 0.";
            return;
        }

        using CancellationTokenSource work = _work = new CancellationTokenSource();
        Instrument instrument = Followed.Instrument;
        (_report, _unit, _share, _ofInstrument) = (null, null, 0, instrument);
        BatchOptions options = new() { Units = units, Seed = seed, Shards = (int)Math.Clamp(units / LeastPart, 1, MostParts), Threads = Environment.ProcessorCount };
        try
        {
            Batch? all = null;
            long reported = 0;
            for (int shard = 1; shard <= options.Shards && !work.IsCancellationRequested; shard++)
            {
                BatchOptions part = options with { Shard = shard };
                // A report weighs the batch against the linear budget, which takes longer than a part of a small batch: a few a second are enough.
                bool isDue = shard == options.Shards || Time.GetElapsedTime(reported) > Interval;
                (all, BatchReport? report) = await Task.Run(
                    () =>
                    {
                        Batch next = Batch.Run(instrument, part, null, work.Token);
                        Batch sum = all?.Merge(next) ?? next;
                        return (sum, isDue || work.IsCancellationRequested ? sum.Report() : null);
                    },
                    CancellationToken.None);
                _share = (double)shard / options.Shards;
                if (report is not null)
                {
                    (_report, reported) = (report, Time.GetTimestamp());
                }

                StateHasChanged();
            }
        }
        finally
        {
            _work = null;
        }
    }

    private async Task Take(long unit)
    {
        BatchOptions options = _report!.Options;
        Session.TakeUnit(new UnitChoice(new BatchOptions { Seed = options.Seed, Units = options.Units }, unit));
        Instrument instrument = Followed.Instrument;
        _unit = await Task.Run(() => Batch.RunUnit(instrument, options, unit));
    }

    /// <summary>The batch's own point that is nearest to the one that is looked at.</summary>
    private double Nearest(BatchReport report) => report.Readings.Select(r => r.Point).MinBy(p => Math.Abs(p - Point));

    private string Text(double error) => ErrorWords.Of(error, Output, Followed.Instrument);

    private ChartContent Histogram(BatchReading reading)
    {
        (string unit, double factor) = ErrorWords.Scale(Output, Followed.Instrument);
        bool hasLimit = !double.IsNaN(reading.Limit);
        double low = Math.Min(reading.Errors.Least, hasLimit ? -1.08 * reading.Limit : reading.Errors.Least) * factor;
        double high = Math.Max(reading.Errors.Greatest, hasLimit ? 1.08 * reading.Limit : reading.Errors.Greatest) * factor;
        return new ChartContent($"Units by their error {ErrorWords.Of(reading.Moment)}, {unit}", new ChartAxis($"error, {unit}", low, high), new ChartAxis("", Low: 0, IsCount: true))
        {
            Bars = [new ChartBars([.. Bars(reading.Errors, factor)])],
            Limits = !hasLimit ? [] : [new ChartLimit(-reading.Limit * factor, true, ""), new ChartLimit(reading.Limit * factor, true, "")],
        };
    }

    /// <summary>The kept bins, which are finer in the middle, put together into some of equal width.</summary>
    private static IEnumerable<(double Low, double High, double Value)> Bars(BatchSpread spread, double factor)
    {
        const int Count = 36;
        if (spread.Bins.IsEmpty)
        {
            yield break;
        }

        (double low, double high) = (spread.Bins[0].Low, spread.Bins[^1].High);
        if (!(high > low))
        {
            yield return ((low - (0.01 * Math.Abs(low))) * factor, (low + (0.01 * Math.Abs(low)) + 1e-12) * factor, spread.Bins.Sum(b => b.Count));
            yield break;
        }

        double[] counts = new double[Count];
        double width = (high - low) / Count;
        foreach (BatchBin bin in spread.Bins)
        {
            // A kept bin may lie across several; its units are shared out by how much of it each holds.
            int first = Math.Clamp((int)((bin.Low - low) / width), 0, Count - 1);
            int last = Math.Clamp((int)((bin.High - low) / width), 0, Count - 1);
            for (int i = first; i <= last; i++)
            {
                double part = bin.High > bin.Low ? Math.Max(0, Math.Min(bin.High, low + ((i + 1) * width)) - Math.Max(bin.Low, low + (i * width))) / (bin.High - bin.Low) : 1;
                counts[i] += part * bin.Count;
            }
        }

        for (int i = 0; i < Count; i++)
        {
            yield return ((low + (i * width)) * factor, (low + ((i + 1) * width)) * factor, counts[i]);
        }
    }
}
