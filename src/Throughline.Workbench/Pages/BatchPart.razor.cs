using System.Globalization;
using Microsoft.AspNetCore.Components;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Workbench.Parts;
using Throughline.Workbench.State;

namespace Throughline.Workbench.Pages;

/// <summary>Runs a virtual batch in parts, so that its histograms grow while it runs.</summary>
public sealed partial class BatchPart : ComponentBase, IDisposable
{
    private const long MostUnits = 10_000_000;
    private const int MostParts = 100;
    private const int LeastPart = 256;

    /// <summary>Worst units that are listed.</summary>
    private const int Most = 12;

    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(400);
    private static readonly TimeProvider Time = TimeProvider.System;

    private string _units = "10000";
    private string _seed = "1";
    private CancellationTokenSource? _work;
    private BatchReport? _report;
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

    /// <summary>See <see cref="Printed"/>.</summary>
    [CascadingParameter(Name = Printed.Name)]
    public bool IsPrinted { get; set; }

    /// <summary>The value of the measurand that is looked at.</summary>
    [Parameter]
    public double Point { get; set; }

    /// <summary>The linear budget beside it.</summary>
    [Parameter]
    public ErrorBudgetReport? Budget { get; set; }

    private bool IsRunning => _work is not null;

    private string Status => _report is null ? "" : $"{Engineering.Fixed(_report.Units, 0)} units{(IsRunning ? " so far" : _report.IsWhole ? "" : ", stopped")}";

    public void Dispose() => _work?.Cancel();

    protected override void OnParametersSet()
    {
        if (_report is null && !IsRunning && BatchDesk.Of(Followed.Instrument) is { } kept)
        {
            _report = kept;
            (_units, _seed) = (kept.Options.Units.ToString(CultureInfo.InvariantCulture), kept.Options.Seed.ToString(CultureInfo.InvariantCulture));
        }
    }

    private void Stop() => _work?.Cancel();

    private async Task RunAsync()
    {
        _trouble = null;
        if (IsRunning)
        {
            return;
        }

        if (!long.TryParse(_units.Replace(" ", "", StringComparison.Ordinal), NumberStyles.None, CultureInfo.InvariantCulture, out long units) || units is < 1 or > MostUnits)
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
        (_report, _share) = (null, 0);
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
#pragma warning disable CA1031 // A batch that breaks off takes no page with it.
        catch (Exception e)
#pragma warning restore CA1031
        {
            _trouble = $"A fault of the program, not of your file: {e.GetType().Name}: {e.Message}";
        }
        finally
        {
            _work = null;
        }

        if (_report is { } done)
        {
            BatchDesk.Keep(done);
        }
    }

    /// <summary>Whether it is of a moment before the unit is finished, which its yield does not ask for.</summary>
    private static bool IsBefore(BatchYield yield) => yield.Name.EndsWith(", as built", StringComparison.Ordinal) || yield.Name.EndsWith(", after adjustment", StringComparison.Ordinal);

    private static string Count(long count) => Engineering.Number(count, 12);

    private void Take(long unit) =>
        Session.TakeUnit(IsInHand(unit) ? null : new UnitChoice(new BatchOptions { Seed = _report!.Options.Seed, Units = _report.Options.Units }, unit));

    private bool IsInHand(long unit) => State.Unit is { } u && u.Unit == unit && u.Options.Seed == _report!.Options.Seed;

    /// <summary>The batch's own point that is nearest to the one that is looked at.</summary>
    private double Nearest(BatchReport report) => report.Readings.IsEmpty ? double.NaN : report.Readings.Select(r => r.Point).MinBy(p => Math.Abs(p - Point));

    /// <summary>Readings of the chosen point; of the ends of the rated conditions the one that spreads most.</summary>
    private IEnumerable<BatchReading> Shown(BatchReport report) => report.Readings
        .Where(r => r.Point == Nearest(report))
        .GroupBy(r => (r.Moment, r.Place))
        .Select(g => g.MaxBy(r => double.IsNaN(r.Errors.Mean) ? -1 : Math.Max(Math.Abs(r.Errors.Q025), Math.Abs(r.Errors.Q975)))!)
        .OrderBy(r => r.Moment)
        .ThenBy(r => r.Place);

    private double StepOf(BatchReading reading) => reading.Place == BudgetOutput.Display ? Followed.Instrument.Specification.DisplayStep?.Value ?? 0 : 0;

    /// <summary>The budget of a reading; none at the ends of the rated conditions, since the budget is of all conditions between them.</summary>
    private BudgetTable? BudgetOf(BatchReading reading) => _report?.Instrument != Followed.Instrument || reading.Moment == Moment.Rated ? null : Budget?.Find(
        reading.Place,
        reading.Moment switch
        {
            Moment.AsBuilt => BudgetMoment.AsBuilt,
            Moment.Adjusted => BudgetMoment.AfterAdjustment,
            Moment.Calibrated => BudgetMoment.AfterCalibration,
            _ => BudgetMoment.Rated,
        },
        reading.Point);
}
