using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Charts;

/// <summary>Pictures of how a figure spreads over a batch.</summary>
internal static class Histograms
{
    private const int Most = 48;

    /// <summary>The errors of one reading, with what is allowed at both ends.</summary>
    /// <param name="reading">Of a batch, whole or still running.</param>
    /// <param name="step">What the reading moves in, in its unit: bars hold whole steps; 0 for none.</param>
    /// <param name="budget">The linear budget of the same reading; null without one.</param>
    public static ChartContent Of(BatchReading reading, double step, BudgetTable? budget)
    {
        BatchSpread spread = reading.Errors;
        OutputSignal? signal = reading.Place == BudgetOutput.Loop ? spread.Unit == OutputSignal.Voltage.Unit ? OutputSignal.Voltage : OutputSignal.Current : null;
        (double scale, string unit) = signal is null ? (1.0, spread.Unit) : (signal.FineScale, signal.FineUnit);
        bool hasLimit = double.IsFinite(reading.Limit);

        string title = $"Errors at the {signal?.Place ?? "display"}, mean {Figure(spread.Mean)}, 95 % of the units from {Figure(spread.Q025)} to {Figure(spread.Q975)}";
        if (spread.Bins.IsEmpty || !double.IsFinite(spread.Least) || !double.IsFinite(spread.Greatest))
        {
            return new ChartContent("No unit has a finite error here.", new ChartAxis("error", -1, 1), new ChartAxis("units", 0, 1));
        }

        // The limits are in the picture, unless the units are so good that one would see nothing of them.
        double reach = Math.Max(Math.Abs(spread.Least), Math.Abs(spread.Greatest));
        if (hasLimit && reach < reading.Limit && reach > 0.15 * reading.Limit)
        {
            reach = reading.Limit;
        }

        reach = Math.Max(reach * 1.08, Math.Max(2 * step, hasLimit ? 1e-3 * reading.Limit : 1e-12));
        bool isLimitSeen = hasLimit && reading.Limit <= reach;
        return new ChartContent(title, new ChartAxis(unit.Length == 0 ? "error" : $"error, {unit}", -reach / scale, reach / scale), new ChartAxis("units", Low: 0, IsCount: true))
        {
            Bars = [new ChartBars(Rebinned(spread.Bins, reach, step, scale))],
            Limits =
            [
                .. isLimitSeen ? [new ChartLimit(-reading.Limit / scale, true, ""), new ChartLimit(reading.Limit / scale, true, "")] : ImmutableArray<ChartLimit>.Empty,
                .. budget is null ? [] : new[] { budget.MeanError - budget.ExpandedUncertainty, budget.MeanError + budget.ExpandedUncertainty }.Where(e => Math.Abs(e) <= reach).Select(e => new ChartLimit(e / scale, true, "", IsStrong: false)),
            ],
        };

        string Figure(double value) => double.IsFinite(value) ? Engineering.Format(value, spread.Unit, 3) : "none";
    }

    /// <summary>Bins of equal width; what lies across an edge is shared out.</summary>
    private static ImmutableArray<(double Low, double High, double Value)> Rebinned(ImmutableArray<BatchBin> bins, double reach, double step, double scale)
    {
        // An odd number of steps, so that bars about zero have their edges between steps.
        double width = step > 0 ? step * ((2 * Math.Ceiling(((2 * reach / Most / step) - 1) / 2)) + 1) : 2 * reach / (Most - 1);
        int half = Math.Max(1, (int)Math.Min(Most, Math.Ceiling((reach / width) - 0.5)));
        int all = (2 * half) + 1;
        double low = -(half + 0.5) * width;
        double[] counts = new double[all];
        foreach (BatchBin bin in bins)
        {
            double from = Math.Clamp((bin.Low - low) / width, 0, all);
            double to = Math.Clamp((bin.High - low) / width, 0, all);
            int first = Math.Min((int)from, all - 1);
            int last = Math.Min((int)to, all - 1);
            for (int i = first; i <= last; i++)
            {
                double part = to > from ? (Math.Min(to, i + 1) - Math.Max(from, i)) / (to - from) : i == first ? 1 : 0;
                counts[i] += bin.Count * Math.Max(0, part);
            }
        }

        return [.. counts.Select((count, i) => ((low + (i * width)) / scale, (low + ((i + 0.94) * width)) / scale, count)).Where(b => b.Item3 > 0)];
    }
}
