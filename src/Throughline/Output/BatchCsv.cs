using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>Batches and units as comma-separated values (RFC 4180, with \n), every number with all its digits.</summary>
internal static class BatchCsv
{
    public static void Write(Surroundings surroundings, BatchReport report)
    {
        TextWriter to = surroundings.Output;
        Csv.Row(
            to,
            "moment",
            "test",
            "measurand",
            "place",
            "unit",
            "units counted",
            "without a reading",
            "limit",
            "mean error",
            "standard deviation",
            "least",
            "quantile 0.005",
            "quantile 0.025",
            "median",
            "quantile 0.975",
            "quantile 0.995",
            "greatest",
            "unit of the least",
            "unit of the greatest");
        foreach (BatchReading r in report.Readings)
        {
            BatchSpread e = r.Errors;
            Csv.Row(
                to,
                MomentWords.Word(r.Moment),
                r.Test,
                Csv.Of(r.Point),
                BudgetWords.Of(r.Place, report.Instrument),
                e.Unit,
                (report.Units - e.Missing).ToString(CultureInfo.InvariantCulture),
                e.Missing.ToString(CultureInfo.InvariantCulture),
                Csv.Of(r.Limit),
                Csv.Of(e.Mean),
                Csv.Of(e.StandardDeviation),
                Csv.Of(e.Least),
                Csv.Of(e.Q005),
                Csv.Of(e.Q025),
                Csv.Of(e.Median),
                Csv.Of(e.Q975),
                Csv.Of(e.Q995),
                Csv.Of(e.Greatest),
                e.LeastUnit.ToString(CultureInfo.InvariantCulture),
                e.GreatestUnit.ToString(CultureInfo.InvariantCulture));
        }
    }

    public static void Write(Surroundings surroundings, UnitReport report)
    {
        TextWriter to = surroundings.Output;
        Csv.Row(to, "kind", "name", "place", "unit", "value", "nominal or target", "deviation over limit or error");
        foreach (UnitDraw d in report.Draws)
        {
            Csv.Row(to, "drawn", d.Name, d.Stage, d.Unit, Csv.Of(d.Value), Csv.Of(d.Centre), Csv.Of(d.OfLimit));
        }

        foreach (UnitStep s in report.Steps)
        {
            Csv.Row(to, "trimmer position", s.Name, s.Trimmer, "", Csv.Of(s.Position), "", "");
            Csv.Row(to, "meter", s.Name, s.Meter, s.Unit, Csv.Of(s.Reading), Csv.Of(s.Target), Csv.Of(s.Reading - s.Target));
        }

        if (report.Calibration is { } c)
        {
            Csv.Row(to, "calibration", "zero", "", c.ZeroUnit, Csv.Of(c.Zero), "0", "");
            Csv.Row(to, "calibration", "slope", "", "", Csv.Of(c.Slope), "1", "");
        }

        string unit = report.Instrument.Specification.Unit;
        OutputSignal signal = report.Instrument.Output;
        foreach (UnitReading r in report.Readings)
        {
            Csv.Row(to, "display error", r.Test, Csv.Of(r.Point), unit, Csv.Of(r.DisplayError), "", "");
            Csv.Row(to, signal.Place + " error", r.Test, Csv.Of(r.Point), signal.Unit, Csv.Of(r.LoopError), "", "");
        }
    }
}
