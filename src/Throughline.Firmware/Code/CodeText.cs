using System.Globalization;
using System.Text;

namespace Throughline.Firmware;

/// <summary>Texts and numbers as C can hold them.</summary>
internal static class CodeText
{
    public static string Number(Int128 value) => value.ToString(CultureInfo.InvariantCulture);

    /// <summary>A number as C writes it in an expression of a type.</summary>
    public static string Literal(Int128 value, Word word)
    {
        if (!word.IsSigned)
        {
            return Number(value) + (word.Bits == 64 ? "ULL" : "U");
        }

        string suffix = word.Bits == 64 ? "LL" : "";

        // The least number has no positive counterpart that a literal could say.
        return value == word.Least ? $"({Number(value + 1)}{suffix} - 1)" : Number(value) + suffix;
    }

    public static string StepText(Node node) => (node.Step.ToString("G6", CultureInfo.InvariantCulture) + " " + Plain(node.Unit)).TrimEnd();

    /// <summary>A text that is safe inside of a comment and that every compiler reads.</summary>
    public static string Comment(string text) => Plain(text).Replace("*/", "* /", StringComparison.Ordinal).Replace("/*", "/ *", StringComparison.Ordinal);

    /// <summary>A text in the characters that every compiler reads.</summary>
    public static string Plain(string text)
    {
        StringBuilder plain = new();
        foreach (char c in text.Replace("°C", "degrees Celsius", StringComparison.Ordinal).Replace("Ω", "ohm", StringComparison.Ordinal).Replace("°", "degrees ", StringComparison.Ordinal))
        {
            plain.Append(c is >= ' ' and < '\u007f' and not '\\' ? c : c is '–' or '−' ? '-' : c == 'µ' ? 'u' : '?');
        }

        return plain.ToString();
    }
}
