using System.Text;

namespace Throughline.Instruments;

/// <summary>Pieces of regular expressions in the dialect of JSON Schema (ECMA-262), equal to what the hand-written parser takes.</summary>
internal static class PatternText
{
    /// <summary>A blank: space, no-break space, thin space, narrow no-break space.</summary>
    public const string Blank = "[ \u00A0\u2009\u202F]";

    /// <summary>Digits may be grouped by an underscore, a thin or a narrow no-break space.</summary>
    public const string Digits = "[0-9]+(?:[_\u2009\u202F][0-9]+)*";

    /// <summary>A number without sign.</summary>
    public const string Number = "[0-9]+(?:[_\u2009\u202F][0-9]+)*(?:\\.[0-9]+(?:[_\u2009\u202F][0-9]+)*)?(?:[eE][+\\-\u2212]?[0-9]{1,3})?";

    public const string PlusMinus = "(?:\u00B1|\\+/?[\\-\u2212])";

    public const string Minus = "[\\-\u2212]";

    public const string Dots = "(?:\\.\\.|\u2026)";

    public static bool IsBlank(char c) => c is ' ' or '\u00A0' or '\u2009' or '\u202F';

    /// <summary>The whole text and nothing else. <c>$</c> would let a line break pass in some engines.</summary>
    public static string Whole(string pattern) => $"^(?:{pattern})(?![\\s\\S])";

    public static string Escape(string text)
    {
        StringBuilder escaped = new(text.Length + 8);
        foreach (char c in text)
        {
            if (c == ' ')
            {
                escaped.Append(Blank).Append('+');
                continue;
            }

            if (@"\^$.|?*+()[]{}/-".Contains(c))
            {
                escaped.Append('\\');
            }

            escaped.Append(c);
        }

        return escaped.ToString();
    }
}
