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
        [.. report.Scale.Select(r => RowOf(r, loop.Signal, unit))],
        [.. report.Asked.Select(r => RowOf(r, loop.Signal, unit))],
        report.Compliance is { } c
            ? new(
                Finite(c.Needed), Finite(c.MostWorst), Finite(c.MostNominal), OfCurrent(loop.Signal, c.LoadWorst), OfCurrent(loop.Signal, c.LoadNominal),
                c.Supply is { } supply ? Compliance.NameOf(supply, loop) : null, Finite(c.SupplyNeeded), c.IsMet)
            {
                LeastLoadWorst = OfVoltage(loop.Signal, c.LoadWorst),
                LeastLoadNominal = OfVoltage(loop.Signal, c.LoadNominal),
            }
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

    private static LoopRowShape RowOf(LoopScaleRow r, OutputSignal signal, string unit) => new(
        r.Name, Finite(r.Percent), Finite(r.Measurand), unit, OfCurrent(signal, r.Value), LoopWords.Of(r.State), Finite(r.Code), Finite(r.DriveVolts), Finite(r.ReceiverVolts))
    {
        Voltage = OfVoltage(signal, r.Value),
    };

    /// <summary>A value of the output where it is a current; null where it is a voltage.</summary>
    private static double? OfCurrent(OutputSignal signal, double value) => signal.IsVoltage ? null : Finite(value);

    /// <summary>The other way round.</summary>
    private static double? OfVoltage(OutputSignal signal, double value) => signal.IsVoltage ? Finite(value) : null;

    private static ComplianceMapShape MapOf(ComplianceMap map) => new(
        map.SupplyName,
        [.. map.Supplies.Select(Finite)],
        map.Loads,
        map.Needed,
        map.ScaleEnd,
        map.Top,
        [.. map.Layers.Select(l => LayerOf(map, l))]);

    private static MapLayerShape LayerOf(ComplianceMap map, ComplianceLayer layer)
    {
        ImmutableArray<ImmutableArray<double?>> values =
            [.. Enumerable.Range(0, map.Supplies.Length).Select(row => ImmutableArray.CreateRange(Enumerable.Range(0, map.Loads.Length).Select(column => Finite(map.At(layer, row, column)))))];
        ImmutableArray<double?> loads = [.. layer.HardestLoads.Select(Finite)];
        return map.Signal.IsVoltage
            ? new(layer.Name, layer.Celsius, layer.IsWorst, [], []) { Voltages = values, LeastLoads = loads }
            : new(layer.Name, layer.Celsius, layer.IsWorst, values, loads);
    }
}
