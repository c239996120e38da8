namespace Throughline.Output;

/// <summary>A column of a table: a heading of one or two lines.</summary>
internal sealed record TableColumn(string Heading, string Unit = "", bool IsNumeric = true);

/// <summary>Columns of text that line up. Wider than the page, it goes on below with its first column repeated.</summary>
internal sealed class Table(IReadOnlyList<TableColumn> columns)
{
    private const int Gap = 3;
    private readonly List<(string[] Cells, string Remark)> _rows = [];

    /// <param name="cells">One for each column.</param>
    /// <param name="remark">What stands behind the row, empty for nothing.</param>
    public void Add(string[] cells, string remark = "") => _rows.Add(([.. cells.Select(Cells.Clean)], remark));

    public void Write(Page page, int indent)
    {
        int[] widths = [.. columns.Select((column, i) => Math.Max(
            Math.Max(Cells.Width(Cells.Clean(column.Heading)), Cells.Width(Cells.Clean(column.Unit))),
            _rows.Select(row => Cells.Width(row.Cells[i])).DefaultIfEmpty().Max()))];
        int first = 1;
        do
        {
            List<int> shown = [0];
            int used = indent + widths[0];
            while (first < columns.Count && (shown.Count == 1 || page.Width is null || used + Gap + widths[first] <= page.Width))
            {
                used += Gap + widths[first];
                shown.Add(first++);
            }

            bool isLast = first >= columns.Count;
            Block(page, indent, widths, shown, withRemarks: isLast);
            if (!isLast)
            {
                page.Line();
            }
        }
        while (first < columns.Count);
    }

    private void Block(Page page, int indent, int[] widths, List<int> shown, bool withRemarks)
    {
        Row(page, indent, widths, shown, i => columns[i].Heading, Ink.Strong);
        if (columns.Any(column => column.Unit.Length > 0))
        {
            Row(page, indent, widths, shown, i => columns[i].Unit, Ink.Quiet);
        }

        foreach ((string[] cells, string remark) in _rows)
        {
            Cell(page, indent, widths, shown, i => cells[i], Ink.Plain);
            if (withRemarks && remark.Length > 0)
            {
                page.Write(new string(' ', Gap)).Write("▲ " + remark, Ink.Marginal);
            }

            page.End();
        }
    }

    private void Row(Page page, int indent, int[] widths, List<int> shown, Func<int, string> text, Ink ink)
    {
        Cell(page, indent, widths, shown, text, ink);
        page.End();
    }

    private void Cell(Page page, int indent, int[] widths, List<int> shown, Func<int, string> text, Ink ink)
    {
        page.Write(new string(' ', indent));
        for (int k = 0; k < shown.Count; k++)
        {
            int i = shown[k];
            string cell = Cells.Clean(text(i));
            page.Write(k == 0 ? "" : new string(' ', Gap));
            page.Write(columns[i].IsNumeric ? Cells.PadLeft(cell, widths[i]) : Cells.PadRight(cell, widths[i]), ink);
        }
    }
}
