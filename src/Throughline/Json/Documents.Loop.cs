using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Output;

namespace Throughline.Json;

/// <content>The loop.</content>
internal static partial class Documents
{
    public static LoopDocument Loop(string file, Parsed<Instrument> parsed, LoopReport? report) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Loop = report is null || parsed.Value?.Loop is not { } loop ? null : LoopOf(report, loop, parsed.Value.Specification.Unit),
    };

    private static LoopReportShape LoopOf(LoopReport report, Loop loop, string unit) => new(
        new(loop.Load.Low, loop.Load.High, loop.Receiver.Low, loop.Receiver.High, loop.Cable?.GreatestResistance ?? 0),
        [.. report.Scale.Select(r => RowOf(r, unit))],
        [.. report.Asked.Select(r => RowOf(r, unit))],
        report.Compliance is { } c
            ? new(
                Finite(c.Needed), Finite(c.MostWorst), Finite(c.MostNominal), Finite(c.LoadWorst), Finite(c.LoadNominal),
                c.Supply is { } supply ? Compliance.NameOf(supply, loop) : null, Finite(c.SupplyNeeded), c.IsMet)
            : null,
        report.Map is { } map ? MapOf(map) : null,
        [.. report.Conditions.Select(k => new LoopConditionShape(
            LoopWords.Of(k.Kind), k.Name, Finite(k.Amperes), Finite(k.Shift), k.Part, Finite(k.PartAmperes), Finite(k.Watts), Finite(k.AllowedWatts), Finite(k.JunctionCelsius),
            LoopWords.Of(k.Harm), k.Remark))],
        report.Noise is { } n
            ? new(
                Finite(n.PeakToPeak), Finite(n.Rms), Finite(n.CircuitRms), Finite(n.ReadingRms), Finite(n.CodeStep), n.CodeMoves, Finite(n.Ripple), Finite(n.PulseRipple), n.FromHertz, n.ToHertz,
                [.. n.Causes.Select(x => new LoopNoiseCauseShape(x.Part, x.Kind, Finite(x.Rms), Finite(x.Share)))])
            : null,
        TrimOf(report.Trim));

    private static OutputTrimShape? TrimOf(OutputTrimEffect? trim) =>
        trim is null ? null : new(Finite(trim.Without), Finite(trim.With), Finite(trim.Measurand), Finite(trim.OfMeter));

    private static LoopRowShape RowOf(LoopScaleRow r, string unit) => new(
        r.Name, Finite(r.Percent), Finite(r.Measurand), unit, Finite(r.Value), LoopWords.Of(r.State), Finite(r.Code), Finite(r.DriveVolts), Finite(r.ReceiverVolts));

    private static ComplianceMapShape MapOf(ComplianceMap map) => new(
        map.SupplyName,
        [.. map.Supplies.Select(Finite)],
        map.Loads,
        map.Needed,
        map.ScaleEnd,
        map.Top,
        [.. map.Layers.Select(l => new MapLayerShape(
            l.Name,
            l.Celsius,
            l.IsWorst,
            [.. Enumerable.Range(0, map.Supplies.Length).Select(row => ImmutableArray.CreateRange(Enumerable.Range(0, map.Loads.Length).Select(column => Finite(map.At(l, row, column)))))],
            [.. l.GreatestLoads.Select(Finite)]))]);
}
