using System.Collections.Immutable;
using System.Globalization;

namespace Throughline.Testing;

/// <summary>A published table of <c>data/</c>: comma separated, one header row, cells in double quotes where they hold a comma.</summary>
public sealed class PublishedTable
{
    private PublishedTable(ImmutableArray<PublishedRow> rows) => Rows = rows;

    public ImmutableArray<PublishedRow> Rows { get; }

    /// <summary>Reads <c>data/FOLDER/FILE</c>.</summary>
    public static PublishedTable Read(string folder, string file)
    {
        string[] lines = File.ReadAllLines(Repository.PathOf("data", folder, file));
        ImmutableArray<string> header = Cells(lines[0]);
        return new([.. lines.Skip(1).Where(l => l.Length > 0).Select(l => new PublishedRow(l, header, Cells(l)))]);
    }

    private static ImmutableArray<string> Cells(string line)
    {
        var cells = ImmutableArray.CreateBuilder<string>();
        int start = 0;
        bool quoted = false;
        for (int i = 0; i <= line.Length; i++)
        {
            if (i == line.Length || (line[i] == ',' && !quoted))
            {
                cells.Add(line[start..i].Trim().Trim('"'));
                start = i + 1;
            }
            else if (line[i] == '"')
            {
                quoted = !quoted;
            }
        }

        return cells.ToImmutable();
    }
}

/// <summary>One row of a published table.</summary>
public sealed class PublishedRow(string line, ImmutableArray<string> header, ImmutableArray<string> cells)
{
    /// <summary>The cell of a column as printed.</summary>
    public string this[string column] =>
        header.IndexOf(column) is >= 0 and int index ? cells[index] : throw new ArgumentException("No column " + column + ".", nameof(column));

    /// <summary>The cell of a column as a number; NaN when it is empty.</summary>
    public double Number(string column) =>
        this[column] is { Length: > 0 } text ? double.Parse(text, NumberStyles.Float, CultureInfo.InvariantCulture) : double.NaN;

    /// <summary>Half of the last printed digit of a cell, a little more so that a value in the middle between two digits may be rounded either way.</summary>
    public double HalfDigit(string column)
    {
        string text = this[column];
        int point = text.IndexOf('.', StringComparison.Ordinal);
        return 0.5000001 * Math.Pow(10, point < 0 ? 0 : -(text.Length - point - 1));
    }

    public override string ToString() => line;
}
