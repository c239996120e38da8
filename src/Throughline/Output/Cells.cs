using System.Globalization;
using System.Text;

namespace Throughline.Output;

/// <summary>Text as a terminal shows it: in cells of one column.</summary>
internal static class Cells
{
    /// <summary>Columns that a text takes: 2 for a wide East Asian character, 0 for a combining mark.</summary>
    public static int Width(string text)
    {
        int width = 0;
        foreach (Rune rune in text.EnumerateRunes())
        {
            width += Width(rune);
        }

        return width;
    }

    /// <summary>What the user wrote, made safe to show: a control or direction character becomes U+FFFD, a tab or a line break a space.</summary>
    public static string Clean(string text)
    {
        int at = 0;
        while (at < text.Length && !IsHidden(text[at]))
        {
            at++;
        }

        if (at == text.Length)
        {
            return text;
        }

        StringBuilder clean = new(text);
        for (; at < clean.Length; at++)
        {
            if (IsHidden(clean[at]))
            {
                clean[at] = clean[at] is '\t' or '\n' or '\r' ? ' ' : '\uFFFD';
            }
        }

        return clean.ToString();
    }

    public static string PadRight(string text, int width) => text + new string(' ', Math.Max(0, width - Width(text)));

    public static string PadLeft(string text, int width) => new string(' ', Math.Max(0, width - Width(text))) + text;

    /// <summary>The text when it fits, else its beginning and an ellipsis.</summary>
    public static string Fit(string text, int width)
    {
        if (Width(text) <= width)
        {
            return text;
        }

        StringBuilder kept = new();
        int used = 0;
        foreach (Rune rune in text.EnumerateRunes())
        {
            used += Width(rune);
            if (used > width - 1)
            {
                break;
            }

            kept.Append(rune.ToString());
        }

        return kept.ToString().TrimEnd(' ') + (width > 0 ? "…" : "");
    }

    /// <summary>Breaks a text at its spaces into lines of at most a width; a word that is wider stands alone. A thin space never breaks.</summary>
    public static IEnumerable<string> Wrap(string text, int width)
    {
        StringBuilder line = new();
        int used = 0;
        foreach (string word in text.Split(' ', StringSplitOptions.RemoveEmptyEntries))
        {
            int wordWidth = Width(word);
            if (used > 0 && used + 1 + wordWidth > width)
            {
                yield return line.ToString();
                line.Clear();
                used = 0;
            }

            if (used > 0)
            {
                line.Append(' ');
                used++;
            }

            line.Append(word);
            used += wordWidth;
        }

        if (used > 0)
        {
            yield return line.ToString();
        }
    }

    private static int Width(Rune rune) => Rune.GetUnicodeCategory(rune) switch
    {
        UnicodeCategory.NonSpacingMark or UnicodeCategory.EnclosingMark or UnicodeCategory.Format or UnicodeCategory.Control => 0,
        _ => IsWide(rune.Value) ? 2 : 1,
    };

    /// <summary>The blocks that Unicode Standard Annex 11 calls wide.</summary>
    private static bool IsWide(int code) => code is (>= 0x1100 and <= 0x115F) or (>= 0x2E80 and <= 0x303E) or (>= 0x3041 and <= 0x4DBF)
        or (>= 0x4E00 and <= 0xA4CF) or (>= 0xAC00 and <= 0xD7A3) or (>= 0xF900 and <= 0xFAFF) or (>= 0xFE30 and <= 0xFE6F)
        or (>= 0xFF00 and <= 0xFF60) or (>= 0xFFE0 and <= 0xFFE6) or (>= 0x1F300 and <= 0x1F64F) or (>= 0x1F900 and <= 0x1F9FF)
        or (>= 0x20000 and <= 0x3FFFD);

    private static bool IsHidden(char c) => char.IsControl(c) || c is (>= '\u202A' and <= '\u202E') or (>= '\u2066' and <= '\u2069')
        or '\u200E' or '\u200F' or '\u061C' or '\u2028' or '\u2029';
}
