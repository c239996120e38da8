using System.Globalization;

namespace Throughline.Instruments;

/// <summary>Tag resolution of the core schema, YAML 1.2.2 section 10.3.2, so that a JSON reader of the same document sees the same types.</summary>
internal static class CoreSchema
{
    /// <param name="number">The value of a number; infinity when it is <c>.inf</c> or too large, NaN when it is <c>.nan</c>.</param>
    public static ScalarType Resolve(string text, out double number)
    {
        number = 0;
        switch (text)
        {
            case "" or "~" or "null" or "Null" or "NULL":
                return ScalarType.Null;
            case "true" or "True" or "TRUE" or "false" or "False" or "FALSE":
                return ScalarType.Boolean;
            case ".nan" or ".NaN" or ".NAN":
                number = double.NaN;
                return ScalarType.Number;
        }

        return TryNumber(text, out number) ? ScalarType.Number : ScalarType.Text;
    }

    private static bool TryNumber(ReadOnlySpan<char> text, out double number)
    {
        number = 0;
        if (text.StartsWith("0o", StringComparison.Ordinal) && text.Length > 2)
        {
            foreach (char c in text[2..])
            {
                if (c is < '0' or > '7')
                {
                    return false;
                }

                number = (number * 8) + (c - '0');
            }

            return true;
        }

        if (text.StartsWith("0x", StringComparison.Ordinal) && text.Length > 2)
        {
            foreach (char c in text[2..])
            {
                if (!char.IsAsciiHexDigit(c))
                {
                    return false;
                }

                number = (number * 16) + Convert.ToInt32(c.ToString(), 16);
            }

            return true;
        }

        int at = text[0] is '+' or '-' ? 1 : 0;
        if (text[at..] is ".inf" or ".Inf" or ".INF")
        {
            number = text[0] == '-' ? double.NegativeInfinity : double.PositiveInfinity;
            return true;
        }

        // [-+]? ( \. [0-9]+ | [0-9]+ ( \. [0-9]* )? ) ( [eE] [-+]? [0-9]+ )?
        int whole = Digits(text, at);
        at += whole;
        if (at < text.Length && text[at] == '.')
        {
            int fraction = Digits(text, at + 1);
            at += 1 + fraction;
            if (whole + fraction == 0)
            {
                return false;
            }
        }
        else if (whole == 0)
        {
            return false;
        }

        if (at < text.Length && text[at] is 'e' or 'E')
        {
            at++;
            if (at < text.Length && text[at] is '+' or '-')
            {
                at++;
            }

            int exponent = Digits(text, at);
            if (exponent == 0)
            {
                return false;
            }

            at += exponent;
        }

        return at == text.Length && double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out number);
    }

    private static int Digits(ReadOnlySpan<char> text, int start)
    {
        int at = start;
        while (at < text.Length && char.IsAsciiDigit(text[at]))
        {
            at++;
        }

        return at - start;
    }
}
