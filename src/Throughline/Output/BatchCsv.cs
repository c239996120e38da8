using System.Globalization;
using Throughline.Analysis;

namespace Throughline.Output;

/// <summary>Batches and units as comma-separated values (RFC 4180, with \n), every number with all its digits.</summary>
internal static class BatchCsv
{
    public static void Write(Surroundings surroundings, BatchReport report)
    {
        TextWriter to = surroundings.Output;
        Row(
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
            Row(
                to,
                MomentWords.Word(r.Moment),
                r.Test,
                Of(r.Point),
                r.Place == BudgetOutput.Display ? "display" : "loop",
                e.Unit,
                (report.Units - e.Missing).ToString(CultureInfo.InvariantCulture),
                e.Missing.ToString(CultureInfo.InvariantCulture),
                Of(r.Limit),
                Of(e.Mean),
                Of(e.StandardDeviation),
                Of(e.Least),
                Of(e.Q005),
                Of(e.Q025),
                Of(e.Median),
                Of(e.Q975),
                Of(e.Q995),
                Of(e.Greatest),
                e.LeastUnit.ToString(CultureInfo.InvariantCulture),
                e.GreatestUnit.ToString(CultureInfo.InvariantCulture));
        }
    }

    public static void Write(Surroundings surroundings, UnitReport report)
    {
        TextWriter to = surroundings.Output;
        Row(to, "kind", "name", "place", "unit", "value", "nominal or target", "deviation over limit or error");
        foreach (UnitDraw d in report.Draws)
        {
            Row(to, "drawn", d.Name, d.Stage, d.Unit, Of(d.Value), Of(d.Centre), Of(d.OfLimit));
        }

        foreach (UnitStep s in report.Steps)
        {
            Row(to, "trimmer position", s.Name, s.Trimmer, "", Of(s.Position), "", "");
            Row(to, "meter", s.Name, s.Meter, s.Unit, Of(s.Reading), Of(s.Target), Of(s.Reading - s.Target));
        }

        if (report.Calibration is { } c)
        {
            Row(to, "calibration", "zero", "", c.ZeroUnit, Of(c.Zero), "0", "");
            Row(to, "calibration", "slope", "", "", Of(c.Slope), "1", "");
        }

        string unit = report.Instrument.Specification.Unit;
        foreach (UnitReading r in report.Readings)
        {
            Row(to, "display error", r.Test, Of(r.Point), unit, Of(r.DisplayError), "", "");
            Row(to, "loop error", r.Test, Of(r.Point), "A", Of(r.LoopError), "", "");
        }
    }

    private static string Of(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";

    private static void Row(TextWriter to, params string[] cells)
    {
        for (int i = 0; i < cells.Length; i++)
        {
            bool quoted = cells[i].AsSpan().IndexOfAny(",\"\n") >= 0;
            to.Write(i == 0 ? "" : ",");
            to.Write(quoted ? "\"" + cells[i].Replace("\"", "\"\"", StringComparison.Ordinal) + "\"" : cells[i]);
        }

        to.Write('\n');
    }
}
