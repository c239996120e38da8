using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The bill of materials for a person, and as comma-separated values.</summary>
internal static class BomText
{
    private const int Indent = 2;
    private const int MostOwners = 40;
    private const int MostChanges = 12;

    public static void Write(Page page, Instrument instrument, BillOfMaterials bill, ClassReport? classes)
    {
        ReviewText.Title(page, instrument);
        page.Line("bill of materials, for one instrument", Ink.Quiet);
        page.Line();
        Table table = new(
        [
            new("count"),
            new("article", IsNumeric: false),
            new("class or grade", IsNumeric: false),
            new("for", IsNumeric: false),
            .. bill.Quantities.Select((q, i) => new TableColumn(i == 0 ? $"of {Engineering.Number(q)}" : Engineering.Number(q), bill.Currency)),
        ]);
        foreach (BillLine line in bill.Lines)
        {
            table.Add(
                [Engineering.Fixed(line.Count, 0), line.Article, line.Class, Owners(line), .. bill.Quantities.Select(q => Money(line.Cost(q)))],
                line.Price is null ? "no price" : "");
        }

        table.Add(["", "together", "", "", .. bill.Quantities.Select(q => Money(bill.Total(q)))]);
        table.Write(page, Indent);
        page.Line();
        int open = bill.Unpriced.Count();
        if (open > 0)
        {
            page.Paragraph(0, "", $"{(open == 1 ? "One article has" : Engineering.Number(open) + " articles have")} no price: `cost` of a grade, or `prices` in the parts file.", Ink.Marginal);
        }

        page.Paragraph(0, "", "Of a part, the cheapest class is bought that keeps the tolerance and temperature coefficient which the file states.", Ink.Quiet);
        if (classes is not null)
        {
            Classes(page, instrument.Output.Place, bill, classes);
        }
    }

    public static void WriteCsv(Surroundings surroundings, BillOfMaterials bill)
    {
        TextWriter to = surroundings.Output;
        Csv.Row(to, ["count", "article", "class or grade", "for", .. bill.Quantities.Select(q => $"cost of one when {q.ToString(CultureInfo.InvariantCulture)} are built")]);
        foreach (BillLine line in bill.Lines)
        {
            Csv.Row(to, [line.Count.ToString(CultureInfo.InvariantCulture), line.Article, line.Class, string.Join(' ', line.Owners), .. bill.Quantities.Select(q => Csv.Of(line.Cost(q)))]);
        }
    }

    private static void Classes(Page page, string place, BillOfMaterials bill, ClassReport report)
    {
        string of = $"at {Engineering.Number(bill.Quantities[^1])}";
        page.Line();
        page.Write("What buys accuracy", Ink.Strong).Line($"   each alone, {of}", Ink.Quiet);
        Changes(page, place, report, [.. report.Better.Take(MostChanges)], "No other class of any part makes the instrument more accurate.");
        page.Write("What is better than it need be", Ink.Strong).Line($"   each alone leaves every finding as it is, {of}; of each part the greatest saving", Ink.Quiet);
        Changes(page, place, report, [.. report.Cheaper.DistinctBy(c => c.Part).Take(MostChanges)], "No part can be had in a cheaper class without a finding that turns.");
        if (report.Together.Length > 0)
        {
            page.Paragraph(
                0, "", $"{string.Join(", ", report.Together.Select(c => $"{c.Part} {c.To.Text}"))} together save {Money(-report.Together.Sum(c => c.CostChange))} and leave every finding as it is.");
        }
    }

    private static void Changes(Page page, string place, ClassReport report, ClassChange[] changes, string none)
    {
        if (changes.Length == 0)
        {
            page.Paragraph(Indent, "", none);
            page.Line();
            return;
        }

        Table table = new(
            [new("part", IsNumeric: false), new("from", IsNumeric: false), new("to", IsNumeric: false), new("cost"), new("display", "of limit"), new(place, "of limit")]);
        table.Add(["as it is", "", "", "", Share(report.Display), Share(report.Loop)]);
        foreach (ClassChange c in changes)
        {
            table.Add([c.Part, c.From.Text, c.To.Text, Engineering.Number(Math.Round(c.CostChange, 4), 3, signed: true), Share(c.Display), Share(c.Loop)]);
        }

        table.Write(page, Indent);
        page.Line();
    }

    private static string Share(double share) => double.IsNaN(share) ? "" : Engineering.Fixed(100 * share, 1) + "\u2009%";

    private static string Money(double amount) => double.IsNaN(amount) ? "" : Engineering.Fixed(amount, 2);

    /// <summary>R1, R2 … in a line's width.</summary>
    private static string Owners(BillLine line)
    {
        string all = string.Join(' ', line.Owners);
        if (all.Length <= MostOwners)
        {
            return all;
        }

        int cut = all.LastIndexOf(' ', MostOwners);
        return all[..(cut > 0 ? cut : MostOwners)] + " …";
    }
}
