using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Output;

namespace Throughline.Json;

/// <content>The supplies.</content>
internal static partial class Documents
{
    public static SuppliesDocument Supplies(string file, Parsed<Instrument> parsed, SupplyReport? report) => new()
    {
        File = file,
        Mistakes = Mistakes(parsed),
        Instrument = InstrumentOf(parsed),
        Supplies = report is null ? null : SuppliesOf(report),
    };

    private static SupplyReportShape SuppliesOf(SupplyReport report) => new(
        report.Typical is { } typical ? PointOf(typical) : null,
        report.Hardest is { } hardest ? PointOf(hardest) : null,
        [.. report.Worst.Select(w => new RailWorstShape(
            w.Supply.Name.Value, Finite(w.Amperes), w.AmperesAt, Finite(w.Headroom), w.HeadroomAt, Finite(w.LossWatts), w.LossAt, Finite(w.JunctionCelsius), w.JunctionAt))],
        [.. report.Ripple.Select(r => new RippleShape(
            r.Supply.Name.Value, Finite(r.Hertz), [.. r.Rails.Select(v => new RailRippleShape(v.Rail, Finite(v.Volts)))], Finite(r.Display), Finite(r.LoopValue),
            Finite(r.AveragingGain)))],
        [.. report.Start.Select(p => new StartPhaseShape(Finite(p.FromSeconds), Finite(p.UntilSeconds), p.Missing, p.Output, Finite(p.LoopValue)))],
        [.. report.BrownOuts.Select(b => new BrownOutShape(
            b.Source,
            [.. b.Stretches.Select(s => new BrownOutStretchShape(Finite(s.High), Finite(s.Low), s.Gone, s.Sagging, s.Processor, LoopOf(s.Falling), LoopOf(s.Rising)))],
            b.Unstated))],
        [.. report.Missing.Select(r => new FaultShape(r.Fault, r.Stage, Finite(r.Display), Finite(r.LoopValue), Finite(r.RailVolts), EffectWords.Word(r.Effect), r.Remark, PlaceOf(r.Place)))],
        report.Grounds is { } g
            ? new(Finite(g.Volts), Finite(g.Hertz), Finite(g.LeakageAmperes), Finite(g.Isolated), Finite(g.Joined), Finite(g.LoopIsolated), Finite(g.LoopJoined))
            : null);

    private static BrownOutLoopShape LoopOf(BrownOutLoop loop) => new(loop.Output, Finite(loop.Least), Finite(loop.Greatest), loop.Falseness > 0);

    private static SupplyPointShape PointOf(SupplyPoint point) => new(
        point.Conditions,
        [.. point.Rails.Select(r => new RailShape(
            r.Supply.Name.Value, r.Supply.KindWord, r.Supply.From?.Value, Finite(r.InputVolts), Finite(r.InputAmperes), Finite(r.OutputVolts), Finite(r.CircuitAmperes),
            Finite(r.DrawnAmperes), Finite(r.SupplyAmperes), Finite(r.OutputAmperes), Finite(r.LossWatts), Finite(r.Headroom), Finite(r.JunctionCelsius), Finite(r.Efficiency)))],
        Finite(point.OutsideWatts),
        Finite(point.OtherWatts),
        Finite(point.CircuitWatts),
        Finite(point.LoopWatts),
        Finite(point.DrawnWatts),
        Finite(point.LossWatts),
        Finite(point.UnaccountedWatts));
}
