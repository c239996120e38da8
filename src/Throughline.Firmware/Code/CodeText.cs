using System.Globalization;
using System.Text;

namespace Throughline.Firmware;

/// <summary>Texts as C can hold them.</summary>
internal static class CodeText
{
    public static string Number(long number) => number.ToString(CultureInfo.InvariantCulture);

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
