using System.Globalization;

namespace Throughline.Output;

/// <summary>Comma-separated values (RFC 4180, with \n).</summary>
internal static class Csv
{
    /// <summary>A number with all its digits; nothing for one that is not there.</summary>
    public static string Of(double value) => double.IsFinite(value) ? value.ToString("R", CultureInfo.InvariantCulture) : "";

    public static void Row(TextWriter to, params string[] cells)
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
