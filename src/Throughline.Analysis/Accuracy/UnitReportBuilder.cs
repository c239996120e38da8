using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Looks at one unit of a batch.</summary>
internal static class UnitReportBuilder
{
    public static UnitReport Build(LifePlan plan, BatchOptions options, long unit)
    {
        UnitLife life = BatchRunner.RunOne(plan, options, unit);
        Instrument instrument = plan.Model.Instrument;
        return new UnitReport
        {
            Instrument = instrument,
            Seed = options.Seed,
            Unit = unit,
            Draws =
            [
                .. plan.Contributions.Select((c, i) => new UnitDraw(
                    c.Name, c.Stage, c.Unit, life.Drawn(i)[0], c.Centre, c.Limit > 0 ? (life.Drawn(i)[0] - c.Centre) / c.Limit : 0)),
            ],
            Steps =
            [
                .. instrument.Adjustment.Select((s, i) => new UnitStep(
                    s.Name.Value,
                    s.Turn.Value,
                    plan.Model.TrimmerIndex(s.Turn.Value) is >= 0 and int t ? life.Block.PositionsOf(t)[0] : double.NaN,
                    s.Meter.Value,
                    s.MeterUnit,
                    s.Target.Value,
                    s.Target.Tolerance,
                    life.MeterReadings(i)[0],
                    life.Reached(i)[0])),
            ],
            Rounds = life.Rounds[0],
            Calibration = plan.HasCalibration
                ? new UnitCalibration(
                    life.Verdicts[0], life.Zeros[0], plan.ZeroUnit, life.Slopes[0], [.. Enumerable.Range(0, life.StandardCount).Select(s => life.StandardSignals(s)[0])])
                : null,
            Readings =
            [
                .. from t in Enumerable.Range(0, plan.Tests.Length)
                   from p in Enumerable.Range(0, plan.Points.Length)
                   select new UnitReading(plan.Tests[t].Moment, plan.Tests[t].Name, plan.Points[p], life.DisplayErrors(t, p)[0], life.LoopErrors(t, p)[0]),
            ],
        };
    }
}
