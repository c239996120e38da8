using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>A group of <c>#</c> in a line: where a value is shown.</summary>
/// <param name="Column">From 0.</param>
/// <param name="Width">Columns, the point and a sign among them.</param>
/// <param name="Decimals">Digits behind the point.</param>
public readonly record struct PanelField(int Column, int Width, int Decimals)
{
    /// <summary>The fields of a line from the left.</summary>
    public static ImmutableArray<PanelField> In(string line)
    {
        ImmutableArray<PanelField>.Builder fields = ImmutableArray.CreateBuilder<PanelField>();
        for (int i = 0; i < line.Length; i++)
        {
            if (line[i] != '#')
            {
                continue;
            }

            int start = i;
            while (i < line.Length && line[i] == '#')
            {
                i++;
            }

            int decimals = 0;
            if (i + 1 < line.Length && line[i] == '.' && line[i + 1] == '#')
            {
                int point = i;
                for (i++; i < line.Length && line[i] == '#'; i++)
                {
                }

                decimals = i - point - 1;
            }

            fields.Add(new PanelField(start, i - start, decimals));
            i--;
        }

        return fields.ToImmutable();
    }

    internal static int CountIn(string line) => In(line).Length;
}
