using System.Globalization;
using System.Text;

namespace Throughline.Circuits.Tests;

/// <summary>A row of data/circuits/elements.csv.</summary>
public sealed record ElementRow(string Example, string Name, string Kind, string[] Nodes, double Value);

/// <summary>A row of data/circuits/answers.csv.</summary>
public sealed record AnswerRow(
    string Example, string Quantity, string Probe, string Condition, double Value, string Unit, double RelativeTolerance, string Published, string Source)
{
    /// <summary>What tells it from the other rows.</summary>
    public string Key => Condition.Length == 0 ? $"{Example}: {Quantity}" : $"{Example}: {Quantity} [{Condition}]";

    public override string ToString() => Key;
}

/// <summary>The tables under data/circuits; their README says where they come from.</summary>
public static class ReferenceTables
{
    public static IReadOnlyList<ElementRow> Elements { get; } =
        [.. Read("elements.csv").Select(static cells => new ElementRow(
            cells[0], cells[1], cells[2], [.. cells[3..7].Where(static cell => cell.Length > 0)], cells[7].Length > 0 ? Number(cells[7]) : double.NaN))];

    public static IReadOnlyList<AnswerRow> Answers { get; } =
        [.. Read("answers.csv").Select(static cells => new AnswerRow(
            cells[0], cells[1], cells[2], cells[3], Number(cells[4]), cells[5], Number(cells[6]), cells[7], cells[9]))];

    public static AnswerRow Answer(string key) => Answers.First(row => row.Key == key);

    /// <summary>The repository's root: the folder above the tests that holds the solution.</summary>
    public static string Root { get; } = FindRoot();

    public static double Number(string text) => double.Parse(text, NumberStyles.Float, CultureInfo.InvariantCulture);

    /// <summary>A value as the conditions write it: 10k, 9.9k, 210n, 2e5.</summary>
    public static double Quantity(string text)
    {
        double factor = text[^1] switch { 'k' => 1e3, 'M' => 1e6, 'm' => 1e-3, 'u' => 1e-6, 'n' => 1e-9, 'p' => 1e-12, _ => 1 };
        return Number(factor == 1 ? text : text[..^1]) * factor;
    }

    private static string FindRoot()
    {
        string? folder = AppContext.BaseDirectory;
        while (folder is not null && !File.Exists(Path.Combine(folder, "Throughline.slnx")))
            folder = Path.GetDirectoryName(folder);
        return folder ?? throw new InvalidOperationException("The tests run inside the repository.");
    }

    private static IEnumerable<string[]> Read(string file) =>
        File.ReadLines(Path.Combine(FindRoot(), "data", "circuits", file)).Skip(1).Where(static line => line.Length > 0).Select(Cells);

    private static string[] Cells(string line)
    {
        var cells = new List<string>();
        var cell = new StringBuilder();
        bool isQuoted = false;
        foreach (char character in line)
        {
            if (character == '"')
            {
                isQuoted = !isQuoted;
            }
            else if (character == ',' && !isQuoted)
            {
                cells.Add(cell.ToString());
                cell.Clear();
            }
            else
            {
                cell.Append(character);
            }
        }

        cells.Add(cell.ToString());
        return [.. cells];
    }
}
