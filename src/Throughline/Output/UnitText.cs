using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>One unit of a batch for a person: what it is made of, how it was adjusted and calibrated, what it reads.</summary>
internal static class UnitText
{
    private const int Indent = 2;

    public static void Write(Page page, UnitReport report)
    {
        ReviewText.Title(page, report.Instrument);
        page.Line($"unit {Engineering.Fixed(report.Unit, 0)} of seed {report.Seed}", Ink.Quiet);
        page.Line();
        Steps(page, report);
        Calibration(page, report);
        Readings(page, report);
        Draws(page, report);
    }

    private static void Steps(Page page, UnitReport report)
    {
        if (report.Steps.IsEmpty)
        {
            return;
        }

        page.Line(report.Rounds == 1 ? "adjustment, gone through once" : $"adjustment, gone through {report.Rounds} times", Ink.Strong);
        Table table = new([
            new("step", IsNumeric: false), new("trimmer", IsNumeric: false), new("stands at"), new("meter", IsNumeric: false), new("target"), new("reads"), new("off by"),
        ]);
        foreach (UnitStep s in report.Steps)
        {
            table.Add([
                s.Name, s.Trimmer, Engineering.Fixed(s.Position * 100, 2, "%"), s.Meter, Engineering.Format(s.Target, s.Unit, 5), Engineering.Format(s.Reading, s.Unit, 6),
                Engineering.Format(s.Reading - s.Target, s.Unit, 2, signed: true),
            ], s.IsReached ? "" : "not reached");
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static void Calibration(Page page, UnitReport report)
    {
        if (report.Calibration is not { } c)
        {
            return;
        }

        page.Write("calibration", Ink.Strong).Line($"   {MomentWords.Word(c.Verdict)}", c.Verdict == CalibrationVerdict.Accepted ? Ink.Plain : Ink.NotMet);
        page.Line($"{new string(' ', Indent)}zero {Engineering.Format(c.Zero, c.ZeroUnit, 4)}   slope {Engineering.Fixed(c.Slope * 100, 2, "%")}");
        page.Line();
    }

    private static void Readings(Page page, UnitReport report)
    {
        Specification s = report.Instrument.Specification;
        bool hasDisplay = report.Readings.Any(r => !double.IsNaN(r.DisplayError));
        bool hasLoop = report.Readings.Any(r => !double.IsNaN(r.LoopError));
        double[] points = [.. report.Readings.Select(r => r.Point).Distinct()];
        if (hasDisplay)
        {
            Errors("error at the display", s.Unit, r => r.DisplayError, 1, 4);
        }

        if (hasLoop)
        {
            OutputSignal signal = report.Instrument.Loop!.Signal;
            Errors(BatchText.ErrorIn(report.Instrument), signal.FineUnit, r => r.LoopError, Math.Round(1 / signal.FineScale), signal.IsVoltage ? 3 : 1);
        }

        void Errors(string title, string unit, Func<UnitReading, double> of, double scale, int decimals)
        {
            page.Line(title, Ink.Strong);
            Table table = new([new("test", IsNumeric: false), .. points.Select(p => new TableColumn(Engineering.WithUnit(Engineering.Number(p), s.Unit), unit))]);
            foreach (IGrouping<string, UnitReading> test in report.Readings.GroupBy(r => r.Test))
            {
                table.Add([test.Key, .. test.Select(r => double.IsFinite(of(r)) ? Engineering.Fixed(of(r) * scale, decimals) : "none")]);
            }

            table.Write(page, Indent);
            page.Line();
        }
    }

    private static void Draws(Page page, UnitReport report)
    {
        page.Line("what it is made of", Ink.Strong);
        foreach (IGrouping<string, UnitDraw> stage in report.Draws.GroupBy(d => d.Stage))
        {
            Table table = new([new(stage.Key, IsNumeric: false), new("is"), new("should be"), new("of its limit")]);
            foreach (UnitDraw d in stage)
            {
                table.Add([d.Name, Engineering.Format(d.Value, d.Unit, 6), Engineering.Format(d.Centre, d.Unit, 4), Engineering.Percent(d.OfLimit, 2, signed: true)]);
            }

            table.Write(page, Indent);
            page.Line();
        }
    }
}
