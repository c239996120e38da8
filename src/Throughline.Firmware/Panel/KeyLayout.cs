using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Which labels stand above which keys: the display's last row, cut into as many equal stretches as there are keys.</summary>
/// <param name="Keys">The screen's keys.</param>
/// <param name="Strays">Words of the row that are no key's label, with their columns.</param>
public sealed record KeyLayout(ImmutableArray<PlacedKey> Keys, ImmutableArray<(string Text, int Column)> Strays)
{
    /// <param name="panel">Display and keys.</param>
    /// <param name="lines">In one language.</param>
    /// <param name="keys">The screen's keys.</param>
    /// <param name="labels">Their labels in that language, in the order of the keys; empty for those of the keys themselves.</param>
    public static KeyLayout Of(PanelSection panel, ImmutableArray<Located<string>> lines, ImmutableArray<PanelKey> keys, ImmutableArray<Located<string>> labels)
    {
        string row = lines.Length == panel.Rows && panel.Rows > 0 ? lines[^1].Value : "";
        List<(string Text, int Column)> words = [.. WordsOf(row)];
        ImmutableArray<PlacedKey>.Builder placed = ImmutableArray.CreateBuilder<PlacedKey>();
        HashSet<int> used = [];
        for (int i = 0; i < keys.Length; i++)
        {
            PanelKey key = keys[i];
            Located<string> label = i < labels.Length ? labels[i] : key.Label;
            int column = FindLabel(row, label.Value, used);
            if (column >= 0)
            {
                for (int c = column; c < column + label.Value.Length; c++)
                {
                    used.Add(c);
                }
            }

            (int, int)? above = column < 0 ? null : (KeyAt(panel, column), KeyAt(panel, column + label.Value.Length - 1));
            // A label that is not centred above its key is still read as the key's that most of it stands above.
            int? number = key.Number ?? (column < 0 ? null : KeyAt(panel, column + ((label.Value.Length - 1) / 2)));
            placed.Add(new PlacedKey(key, label, number >= panel.Keys ? null : number, column, above));
        }

        return new KeyLayout(placed.ToImmutable(), [.. words.Where(w => !used.Contains(w.Column))]);
    }

    private static int KeyAt(PanelSection panel, int column) => panel.Keys == 0 ? 0 : Math.Min(column, panel.Columns - 1) * panel.Keys / panel.Columns;

    /// <summary>The first place where the label stands alone and no other label has been found; −1 for none.</summary>
    private static int FindLabel(string row, string label, HashSet<int> used)
    {
        for (int at = row.IndexOf(label, StringComparison.Ordinal); at >= 0; at = row.IndexOf(label, at + 1, StringComparison.Ordinal))
        {
            bool alone = (at == 0 || row[at - 1] == ' ') && (at + label.Length == row.Length || row[at + label.Length] == ' ');
            if (alone && !used.Contains(at))
            {
                return at;
            }
        }

        return -1;
    }

    private static IEnumerable<(string, int)> WordsOf(string row)
    {
        for (int i = 0; i < row.Length; i++)
        {
            if (row[i] == ' ')
            {
                continue;
            }

            int start = i;
            while (i < row.Length && row[i] != ' ')
            {
                i++;
            }

            yield return (row[start..i], start);
        }
    }
}

/// <summary>A key of a screen with its label as it stands.</summary>
/// <param name="Number">The key it is, from 0 at the left; null when neither file nor label says it.</param>
/// <param name="Column">Where its label begins; −1 when it is not in the row.</param>
/// <param name="Above">The first and the last key that the label stands above; null when it is not in the row.</param>
public sealed record PlacedKey(PanelKey Key, Located<string> Label, int? Number, int Column, (int First, int Last)? Above);
