using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>
/// Error budgets for a person. First where in the range the error stands at each moment; then, for the worst point or those asked for, every contribution with its effect at
/// each moment, so that a row shows what adjustment and calibration take away of it.
/// </summary>
internal static class BudgetText
{
    private const int Indent = 2;
    private const int Gap = 3;

    /// <summary>Of the variance over rated conditions, and of the allowed error: what stays below both is summed up in one line.</summary>
    private const double LeastShare = 0.001;
    private const double LeastEffect = 0.01;

    public static void Write(Page page, Instrument instrument, ErrorBudgetReport report, bool isChosen)
    {
        ReviewText.Title(page, instrument);
        page.Line("error budget, linear", Ink.Quiet);
        page.Line();
        if (report.Tables.IsEmpty)
        {
            page.Paragraph(0, "", "The nominal unit has no operating point, so nothing has a sensitivity. `throughline check` says what stands in the way.");
            return;
        }

        foreach (IGrouping<BudgetOutput, BudgetTable> output in report.Tables.GroupBy(t => t.Output))
        {
            Scale scale = Scale.Of(output.First(), instrument.Specification);
            Overview(page, instrument, report, [.. output], scale);
            BudgetTable worst = output.Where(t => t.Moment == report.Moments[^1]).MaxBy(t => t.Expanded)!;
            foreach (double point in isChosen ? report.Points : [worst.Measurand])
            {
                Detail(page, instrument, report, [.. report.Of(output.Key, point)], scale);
            }
        }

        Legend(page, report);
    }

    /// <summary>How errors of one output are shown: the measurand's unit, or per cent of the loop's span.</summary>
    private sealed record Scale(double Factor, string Unit, int Decimals)
    {
        public static Scale Of(BudgetTable table, Specification specification)
        {
            (double factor, string unit) = table.Output == BudgetOutput.Loop ? (100 / table.Span, "% of span") : (1, specification.Unit);

            // A thousandth of what is allowed still shows.
            return new Scale(factor, unit, Math.Clamp((int)Math.Ceiling(-Math.Log10(table.Allowed * factor / 1000) - 1e-9), 0, 9));
        }

        public string Text(double error) => Engineering.Fixed(error * Factor, Decimals);

        public string WithUnit(double error) => Engineering.WithUnit(Engineering.Number(error * Factor, 3), Unit);

        /// <summary>An effect: what is nothing at this many decimals is a point, so that the eye sees what went away.</summary>
        public string Effect(double effect) => Math.Abs(effect * Factor) < 0.5 * Math.Pow(10, -Decimals) ? "·" : Text(effect);
    }

    private static string At(Instrument instrument, double measurand) => Engineering.WithUnit(Engineering.Number(measurand), instrument.Specification.Unit);

    private static void Overview(Page page, Instrument instrument, ErrorBudgetReport report, ImmutableArray<BudgetTable> tables, Scale scale)
    {
        page.Write(BudgetWords.Of(tables[0].Output, instrument), Ink.Strong).Line($"   error in {scale.Unit}, allowed ±{Engineering.Number(tables[0].Allowed * scale.Factor)}");
        Table table = new(
        [
            new(instrument.Specification.Measurand.Value, instrument.Specification.Unit == instrument.Specification.Measurand.Value ? "" : instrument.Specification.Unit),
            new("moment", IsNumeric: false), new("nominal"), new("95\u2009%"), new("root sum"), new("straight"), new("in full"),
        ]);
        foreach (double point in report.Points)
        {
            bool isFirst = true;
            foreach (BudgetTable t in tables.Where(t => t.Measurand == point))
            {
                double full = Math.Max(Math.Abs(t.FullLow), Math.Abs(t.FullHigh));
                table.Add(
                    [
                        isFirst ? Engineering.Number(point) : "", BudgetWords.Of(t.Moment), scale.Text(t.NominalError), scale.Text(t.Expanded), scale.Text(t.LikelyCase),
                        scale.Text(t.WorstCase), scale.Text(full),
                    ],
                    t.Moment == report.Moments[^1] && !(t.Expanded <= t.Allowed) ? "over" : "");
                isFirst = false;
            }
        }

        table.Write(page, Indent);
        if (tables[0].Output == BudgetOutput.Loop && report.Trim is { } trim)
        {
            page.Paragraph(Indent, "", TrimWords.Of(trim, instrument));
        }

        page.Line();
    }

    private static void Detail(Page page, Instrument instrument, ErrorBudgetReport report, ImmutableArray<BudgetTable> tables, Scale scale)
    {
        if (tables.IsEmpty)
        {
            return;
        }

        BudgetTable last = tables[^1];
        page.Write($"{BudgetWords.Of(last.Output, instrument)} at {At(instrument, last.Measurand)}", Ink.Strong).Line($"   greatest effects in {scale.Unit}");
        List<Row> rows = [.. Rows(tables)];
        (Row[] shown, Row[] rest) = (
            [.. rows.Where(r => r.Share >= LeastShare || r.Effects.Any(e => e >= LeastEffect * last.Allowed))],
            [.. rows.Where(r => r.Share < LeastShare && r.Effects.All(e => e < LeastEffect * last.Allowed))]);
        bool isRoomy = page.Width is null or >= 112;
        int nameWidth = page.Width is not int width || isRoomy ? 44 : Math.Max(16, width - Indent - 56);
        List<TableColumn> columns = [new("contribution", IsNumeric: false)];
        if (isRoomy)
        {
            columns.Add(new("limit"));
            columns.Add(new("sensitivity"));
        }

        columns.AddRange(tables.Select(t => new TableColumn(BudgetWords.Of(t.Moment))));
        columns.Add(new("share"));
        Table table = new(columns);
        foreach (string stage in Reviewer.StagesInOrder(instrument).Where(s => shown.Any(r => r.Line.Stage == s)).Concat(shown.Select(r => r.Line.Stage)).Distinct())
        {
            Add(stage, "", "", [.. tables.Select(_ => "")], "");
            foreach (Row row in shown.Where(r => r.Line.Stage == stage).OrderByDescending(r => r.Share).ThenByDescending(r => r.Effects.Max()))
            {
                Add(
                    "  " + row.Line.Name,
                    "±" + Limit(row.Line),
                    Sensitivity(row.Line, last, scale),
                    [.. row.Effects.Select(scale.Effect)],
                    row.Share >= 0.0005 ? Engineering.Fixed(row.Share * 100, 1, "%") : "·");
            }
        }

        if (rest.Length > 0)
        {
            Add(
                $"{Engineering.Fixed(rest.Length, 0)} more, straight sum", "", "",
                [.. tables.Select((_, i) => scale.Effect(rest.Sum(r => r.Effects[i])))],
                rest.Sum(r => r.Share) >= 0.0005 ? Engineering.Fixed(rest.Sum(r => r.Share) * 100, 1, "%") : "·");
        }

        Add("", "", "", [.. tables.Select(_ => "")], "");
        Total("nominal error", t => scale.Text(t.NominalError));
        Total("standard uncertainty u", t => scale.Text(t.StandardUncertainty));
        Total("degrees of freedom", t => Engineering.Number(Math.Floor(t.EffectiveDegreesOfFreedom)));
        Total("coverage factor k", t => Engineering.Fixed(t.CoverageFactor, 2));
        Total("95\u2009% of all units", t => scale.Text(t.Expanded));
        Total("root sum of squares", t => scale.Text(t.LikelyCase));
        Total("straight sum", t => scale.Text(t.WorstCase));
        Total("worst unit in full", t => scale.Text(Math.Max(Math.Abs(t.FullLow), Math.Abs(t.FullHigh))));
        table.Write(page, Indent);
        page.Line();
        if (tables.Any(t => t.IsDoubtful))
        {
            foreach (BudgetTable doubtful in tables.Where(t => t.IsDoubtful))
            {
                page.Paragraph(
                    Indent,
                    "▲ ",
                    $"{BudgetWords.Of(doubtful.Moment)}: the chain is curved here. The worst unit, solved in full, is off by {scale.WithUnit(Math.Max(Math.Abs(doubtful.FullLow), Math.Abs(doubtful.FullHigh)))}, "
                        + $"the linear sum says {scale.WithUnit(doubtful.WorstCase)}.");
            }

            page.Line();
        }

        void Total(string name, Func<BudgetTable, string> of) => Add(name, "", "", [.. tables.Select(of)], "");

        void Add(string name, string limit, string sensitivity, string[] effects, string share)
        {
            List<string> cells = [Cells.Fit(Cells.Clean(name), nameWidth)];
            if (isRoomy)
            {
                cells.Add(limit);
                cells.Add(sensitivity);
            }

            table.Add([.. cells, .. effects, share]);
        }
    }

    /// <summary>A year of 365 days.</summary>
    private const double SecondsPerYear = 365 * 86_400;

    /// <summary>One contribution over the moments.</summary>
    private sealed record Row(BudgetLine Line, double[] Effects, double Share);

    private static IEnumerable<Row> Rows(ImmutableArray<BudgetTable> tables)
    {
        Dictionary<string, BudgetLine>[] byName = [.. tables.Select(t => t.Lines.ToDictionary(l => l.Name))];
        foreach (string name in tables.Reverse().SelectMany(t => t.Lines.Select(l => l.Name)).Distinct())
        {
            BudgetLine line = byName.Reverse().Select(d => d.GetValueOrDefault(name)).First(l => l is not null)!;
            yield return new Row(line, [.. byName.Select(d => d.GetValueOrDefault(name)?.Effect ?? 0)], byName[^1].GetValueOrDefault(name)?.Share ?? 0);
        }
    }

    private static string Limit(BudgetLine line) => line.Unit switch
    {
        "" when line.Limit >= 1 => Engineering.Number(line.Limit, 3),
        "" when line.Limit < 1e-4 => Engineering.WithUnit(Engineering.Number(line.Limit * 1e6, 3), "ppm"),
        "" => Engineering.Percent(line.Limit),
        "1/K" => Engineering.WithUnit(Engineering.Number(line.Limit * 1e6, 3), "ppm/K"),
        "1/s" => Engineering.WithUnit(Engineering.Number(line.Limit * SecondsPerYear * 1e6, 3), "ppm/a"),
        "s" => Engineering.Duration(line.Limit),
        { } unit when unit.EndsWith("/s", StringComparison.Ordinal) => Engineering.Format(line.Limit * 86_400, unit[..^1] + "d", 3),
        _ => Engineering.Format(line.Limit, line.Unit, 3),
    };

    /// <summary>Per limit's unit, in the error's unit.</summary>
    private static string Sensitivity(BudgetLine line, BudgetTable table, Scale scale) =>
        table.Output == BudgetOutput.Loop ? Engineering.Number(line.Sensitivity * scale.Factor, 3) : Engineering.Number(line.Sensitivity, 3);

    private static void Legend(Page page, ErrorBudgetReport report)
    {
        foreach (BudgetMoment moment in report.Moments)
        {
            page.Paragraph(0, Cells.PadRight(BudgetWords.Of(moment), 13), BudgetWords.Meaning(moment), Ink.Quiet);
        }

        page.Line();
        page.Paragraph(
            0, "", "Nominal is the error of the stated values themselves; every other figure holds it. Straight: all limits at once, the wrong way. Root sum: of the squares of the limits. "
            + "95 %: error of the mean and k u by the GUM. In full: the two worst units adjusted, calibrated and solved, nothing linear. Share: of the variance at the last moment.", Ink.Quiet);
    }
}
