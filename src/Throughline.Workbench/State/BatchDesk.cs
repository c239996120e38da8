using System.Runtime.CompilerServices;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.State;

/// <summary>Keeps what the last batch of an instrument found as long as the instrument is looked at, so that a page that comes back shows it again.</summary>
internal static class BatchDesk
{
    private static readonly ConditionalWeakTable<Instrument, BatchReport> Kept = [];

    public static BatchReport? Of(Instrument instrument) => Kept.TryGetValue(instrument, out BatchReport? report) ? report : null;

    public static void Keep(BatchReport report) => Kept.AddOrUpdate(report.Instrument, report);
}
