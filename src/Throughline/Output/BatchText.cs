using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>A virtual batch for a person: what comes through, how the errors lie, what causes them, which units to look at.</summary>
internal static class BatchText
{
    private const int Indent = 2;
    private const int CausesShown = 8;
    private const int StripWidth = 24;

    public static void Write(Page page, BatchReport report)
    {
        ReviewText.Title(page, report.Instrument);
        string drawn = report.Options.IsEven ? "spread evenly" : "drawn independently";
        page.Line($"{Engineering.Fixed(report.Units, 0)} units of seed {report.Options.Seed}, {drawn}" + (report.IsWhole ? "" : Part(report)), Ink.Quiet);
        page.Line();
        Yields(page, report);
        Errors(page, report, BudgetOutput.Display);
        Errors(page, report, BudgetOutput.Loop);
        Bench(page, report);
        Calibration(page, report);
        Agreements(page, report);
        Causes(page, report);
        Worst(page, report);
    }

    private static string Part(BatchReport report) => report.Options.Shards > 1
        ? $"; not yet all of {Engineering.Fixed(report.Options.Units, 0)} in {Engineering.Fixed(report.Options.Shards, 0)} parts"
        : $"; stopped before {Engineering.Fixed(report.Options.Units, 0)}";

    private static void Yields(Page page, BatchReport report)
    {
        page.Line("what comes through", Ink.Strong);
        int width = ReviewText.Widest(report.Yields.Select(y => y.Name), 60);
        foreach (BatchYield y in report.Yields)
        {
            bool all = y.Good == y.Of;
            page.Write(new string(' ', Indent)).Write(Cells.PadRight(Cells.Clean(y.Name), width)).Write("   ");
            page.Write(Cells.PadLeft(ShareText(y), 10), all ? Ink.Plain : Ink.Strong);
            page.Line(all ? "" : $"   {Engineering.Fixed(y.Of - y.Good, 0)} not", Ink.Quiet);
        }

        BatchConfidence c = report.Confidence;
        string sure = c.YieldError > 0
            ? $"The share of good units is known to ±{Engineering.Percent(2 * c.YieldError, 2)} (two standard errors)"
            : "Every unit went the same way: no scatter to tell the confidence by";
        string even = report.Options.IsEven && double.IsFinite(c.MeanGain)
            ? $"; the mean errors in use as well as from {Engineering.Number(c.MeanGain, 2)} times as many units drawn independently."
            : ".";
        page.Paragraph(Indent, "", sure + even, Ink.Quiet);
        page.Line();
    }

    private static string ShareText(BatchYield y) =>
        y.Good == y.Of ? "all" : y.Good == 0 ? "none" : Engineering.Fixed(Math.Clamp(y.Share * 100, 0.001, 99.999), 3, "%");

    private static void Errors(Page page, BatchReport report, BudgetOutput place)
    {
        BatchReading[] rows = [.. report.Readings.Where(r => r.Place == place)];
        if (rows.Length == 0)
        {
            return;
        }

        Specification s = report.Instrument.Specification;
        (double scale, string unit) = ScaleOf(report.Instrument, place);
        double limit = rows[0].Limit * scale;
        double step = place == BudgetOutput.Display ? s.DisplayStep?.Value ?? 0 : 0;
        page.Write(place == BudgetOutput.Display ? "error at the display" : ErrorIn(report.Instrument), Ink.Strong);
        page.Line(double.IsNaN(limit) ? "" : $"   allowed ±{Engineering.WithUnit(Engineering.Number(limit), unit)}", Ink.Quiet);
        int decimals = Math.Clamp(3 - (int)Math.Floor(Math.Log10(Math.Max(double.IsNaN(limit) ? rows.Max(r => Math.Abs(r.Errors.Greatest)) * scale : limit, 1e-9))), 0, 6);
        string At(double value) => double.IsFinite(value) ? Engineering.Fixed(value * scale, decimals) : "";
        foreach (IGrouping<string, BatchReading> test in rows.GroupBy(r => r.Test))
        {
            Table table = new([
                new(s.Measurand.Value, s.Unit), new("mean", unit), new("std. dev.", unit), new("0.5 %", unit), new("median", unit), new("99.5 %", unit),
                new("least", unit), new("greatest", unit), new(double.IsNaN(limit) ? "" : "−limit … +limit", IsNumeric: false),
            ]);
            foreach (BatchReading r in test)
            {
                BatchSpread e = r.Errors;
                table.Add([
                    Engineering.Number(r.Point), At(e.Mean), At(e.StandardDeviation), At(e.Q005), At(e.Median), At(e.Q995), At(e.Least), At(e.Greatest), Strip(e, r.Limit, step),
                ], e.Missing > 0 ? $"{Engineering.Fixed(e.Missing, 0)} without a reading" : "");
            }

            page.Line(new string(' ', Indent) + test.Key);
            table.Write(page, Indent + 2);
        }

        page.Line();
    }

    /// <summary>Where the units lie between the limits: ▕ marks the middle, darker is more units, arrows stand for those beyond.</summary>
    /// <param name="step">Of what is shown: the units of a step of the display lie anywhere within it.</param>
    private static string Strip(BatchSpread e, double limit, double step)
    {
        if (!(limit > 0) || e.Bins.IsEmpty)
        {
            return "";
        }

        double[] counts = new double[StripWidth];
        bool below = false;
        bool above = false;
        foreach (BatchBin bin in e.Bins)
        {
            // A bin may lie over several cells; its units are shared out evenly.
            double low = Math.Max(bin.Low, e.Least) - (step / 2);
            double high = Math.Min(bin.High, e.Greatest) + (step / 2);
            below |= bin.Low < -limit && e.Least < -limit;
            above |= bin.High > limit && e.Greatest > limit;
            double from = Cell(low);
            double to = Math.Max(Cell(high), from + 1e-9);
            for (int i = Math.Max((int)Math.Floor(from), 0); i < StripWidth && i < to; i++)
            {
                counts[i] += bin.Count * Math.Max(Math.Min(to, i + 1) - Math.Max(from, i), 0) / (to - from);
            }
        }

        double most = counts.Max();
        const string Shades = " ·▁▂▃▄▅▆▇█";
        string strip = string.Concat(counts.Select(c => c <= 0 ? ' ' : Shades[Math.Clamp((int)Math.Ceiling(c / most * 9), 1, 9)]));
        return (below ? "◂" : "│") + strip + (above ? "▸" : "│");

        double Cell(double value) => (value + limit) / (2 * limit) * StripWidth;
    }

    private static void Bench(Page page, BatchReport report)
    {
        if (report.Rounds.IsEmpty)
        {
            return;
        }

        page.Line("adjustment", Ink.Strong);
        Table table = new([new("trimmer", IsNumeric: false), new("0.5 %"), new("median"), new("99.5 %"), new("least"), new("greatest")]);
        foreach (BatchSpread t in report.Trimmers)
        {
            string At(double position) => Engineering.Fixed(position * 100, 1, "%");
            table.Add([t.Name, At(t.Q005), At(t.Median), At(t.Q995), At(t.Least), At(t.Greatest)]);
        }

        table.Write(page, Indent);
        for (int i = 0; i < report.Rounds.Length; i++)
        {
            if (report.Rounds[i] > 0)
            {
                string rounds = i == 0 ? "once" : i == report.Rounds.Length - 1 ? $"{i + 1} times or more" : $"{i + 1} times";
                page.Line($"{new string(' ', Indent)}{Engineering.Fixed(report.Rounds[i], 0)} units went through the procedure {rounds}.", Ink.Quiet);
            }
        }

        page.Line();
    }

    private static void Calibration(Page page, BatchReport report)
    {
        if (report.Calibrations.IsEmpty)
        {
            return;
        }

        page.Line("calibration by the user", Ink.Strong);
        Table table = new([new("found", IsNumeric: false), new("0.5 %"), new("median"), new("99.5 %"), new("least"), new("greatest")]);
        foreach (BatchSpread c in report.Calibrations)
        {
            string At(double value) => c.Name == "slope" ? Engineering.Fixed(value * 100, 2, "%") : Engineering.Format(value, c.Unit, 3);
            table.Add([c.Name, At(c.Q005), At(c.Median), At(c.Q995), At(c.Least), At(c.Greatest)]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    /// <summary>In what errors of a place are shown: how many of the unit make one of its own.</summary>
    private static (double Scale, string Unit) ScaleOf(Instrument instrument, BudgetOutput place) =>
        place == BudgetOutput.Display || instrument.Loop is not { Signal: { } signal } ? (1.0, instrument.Specification.Unit) : (Math.Round(1 / signal.FineScale), signal.FineUnit);

    /// <summary>The heading over errors of the output.</summary>
    internal static string ErrorIn(Instrument instrument) => instrument.Loop is { Signal.IsVoltage: true } ? "error at the output" : "error in the loop";

    private static void Agreements(Page page, BatchReport report)
    {
        foreach (IGrouping<BudgetOutput, BatchAgreement> output in report.Agreements.GroupBy(a => a.Output))
        {
            (double scale, string unit) = ScaleOf(report.Instrument, output.Key);
            page.Line($"linear budget beside the batch, {BudgetWords.Of(output.Key, report.Instrument)} in use, 95 % of all units", Ink.Strong);
            Table table = new([
                new(report.Instrument.Specification.Measurand.Value, report.Instrument.Specification.Unit), new("linear", unit), new("batch", unit), new("u linear", unit),
                new("std. dev.", unit), new("", IsNumeric: false),
            ]);
            int decimals = Math.Clamp(2 - (int)Math.Floor(Math.Log10(Math.Max(output.Max(a => a.BatchDeviation) * scale, 1e-12))), 0, 9);
            string At(double value) => Engineering.Fixed(value * scale, decimals);
            foreach (BatchAgreement a in output)
            {
                table.Add([
                    Engineering.Number(a.Point), $"{At(a.LinearLow)} .. {At(a.LinearHigh)}", $"{At(a.BatchLow)} .. {At(a.BatchHigh)}", At(a.LinearUncertainty), At(a.BatchDeviation),
                    a.Agrees ? "agree" : "differ",
                ]);
            }

            table.Write(page, Indent);
            foreach (string why in output.Where(a => a.Why is not null).Select(a => a.Why!).Distinct())
            {
                page.Paragraph(Indent, "", $"They differ: {why}", Ink.Quiet);
            }

            page.Line();
        }
    }

    private static void Causes(Page page, BatchReport report)
    {
        foreach (BatchCauses causes in report.Causes.GroupBy(c => (c.Moment, c.Place)).Select(g => g.MaxBy(c => c.StandardDeviation)!))
        {
            Specification s = report.Instrument.Specification;
            string where = BudgetWords.Of(causes.Place, report.Instrument);
            page.Line($"what makes the {where} scatter {MomentWords.Word(causes.Moment)}, worst at {Engineering.WithUnit(Engineering.Number(causes.Point), s.Unit)}", Ink.Strong);
            Table table = new([new("cause", IsNumeric: false), new("by itself"), new("with others")]);
            foreach (VarianceShare share in causes.Shares.Take(CausesShown))
            {
                table.Add([share.Name, ShareOf(share.First), ShareOf(share.Total)]);
            }

            table.Write(page, Indent);
            page.Line();
        }

        static string ShareOf(double share) => Engineering.Fixed(Math.Clamp(share, 0, 1) * 100, 1, "%");
    }

    private static void Worst(Page page, BatchReport report)
    {
        if (report.Worst.IsEmpty)
        {
            return;
        }

        page.Line("worst units from the calibration on, greatest error over its limit", Ink.Strong);
        page.Paragraph(Indent, "", string.Join(" · ", report.Worst.Select(w =>
            $"{Engineering.Fixed(w.Unit, 0)}: {(double.IsFinite(w.OfLimit) ? Engineering.Percent(w.OfLimit, 3) : "no reading")}")));
        page.Paragraph(Indent, "", $"`--unit {report.Worst[0].Unit}` shows the first of them.", Ink.Quiet);
    }
}
