using System.Globalization;

namespace Throughline.Instruments;

/// <summary>For what a letter and digit code is read: the same letter means different powers of ten.</summary>
internal enum RkmKind
{
    None,
    Resistance,
    Capacitance,
}

/// <summary>
/// The letter and digit code of IEC 60062:2016 + A1:2019: a multiplier letter in the place of the decimal mark, then an optional tolerance letter.
/// Beyond the standard, common practice: lower-case k, the sign Ω for R, L and m for a thousandth of an ohm, u and both mu for micro.
/// </summary>
internal static class RkmCode
{
    private const string ResistanceLetters = "RKkMGTLmΩ\u2126";
    private const string CapacitanceLetters = "pnum\u00B5\u03BCF";

    /// <summary>More digits before or behind the letter than a double tells apart are a slip of the finger.</summary>
    private const int MostDigits = 15;

    // IEC 60062: E L P W B C D F G H J K M N symmetric, Q T S Z asymmetric.
    private const string ToleranceLetters = "ELPWBCDFGHJKMNQTSZ";

    private static readonly double[] Below =
        [0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 3, 5, 10, 20, 30, 10, 10, 20, 20];

    private static readonly double[] Above =
        [0.005, 0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1, 2, 3, 5, 10, 20, 30, 30, 50, 50, 80];

    /// <summary>The regular expression of the codes, without anchors.</summary>
    public static string Pattern(RkmKind kind)
    {
        // Without a tolerance letter 10F is ten farad; 10nF is everyday writing for 10 nF, so after a capacitance F is no tolerance here.
        string tolerance = kind == RkmKind.Capacitance ? ToleranceLetters.Replace("F", "", StringComparison.Ordinal) : ToleranceLetters;
        string letters = kind == RkmKind.Capacitance ? CapacitanceLetters : ResistanceLetters;
        return $"(?:[0-9]{{1,{MostDigits}}}[{letters}][0-9]{{0,{MostDigits}}}|[{letters}][0-9]{{1,{MostDigits}}})[{tolerance}]?";
    }

    /// <summary>Reads a code at the start of a text.</summary>
    /// <param name="length">Characters of the code.</param>
    /// <param name="value">Ohm or farad.</param>
    /// <param name="below">Tolerance below the value, a fraction; 0 without a letter.</param>
    /// <param name="above">Tolerance above the value, a fraction.</param>
    public static bool TryRead(ReadOnlySpan<char> text, RkmKind kind, out int length, out double value, out double below, out double above)
    {
        length = 0;
        value = below = above = 0;
        string letters = kind == RkmKind.Capacitance ? CapacitanceLetters : ResistanceLetters;
        int whole = Digits(text);
        if (kind == RkmKind.None || whole == text.Length || !letters.Contains(text[whole]))
        {
            return false;
        }

        int fraction = Digits(text[(whole + 1)..]);
        if (whole + fraction == 0 || whole > MostDigits || fraction > MostDigits)
        {
            return false;
        }

        Span<char> digits = stackalloc char[40];
        text[..whole].CopyTo(digits);
        text.Slice(whole + 1, fraction).CopyTo(digits[whole..]);
        int used = whole + fraction;
        digits[used++] = 'E';
        int exponent = Exponent(text[whole], kind) - fraction;
        exponent.TryFormat(digits[used..], out int written, provider: CultureInfo.InvariantCulture);
        value = double.Parse(digits[..(used + written)], NumberStyles.Float, CultureInfo.InvariantCulture);
        length = whole + 1 + fraction;
        if (length < text.Length && ToleranceLetters.IndexOf(text[length], StringComparison.Ordinal) is >= 0 and int letter
            && !(kind == RkmKind.Capacitance && text[length] == 'F'))
        {
            below = Below[letter] / 100;
            above = Above[letter] / 100;
            length++;
        }

        return true;
    }

    private static int Exponent(char letter, RkmKind kind) => kind == RkmKind.Capacitance
        ? letter == 'F' ? 0 : SiPrefix.Exponent(letter)
        : letter switch { 'K' or 'k' => 3, 'M' => 6, 'G' => 9, 'T' => 12, 'L' or 'm' => -3, _ => 0 };

    private static int Digits(ReadOnlySpan<char> text)
    {
        int count = 0;
        while (count < text.Length && char.IsAsciiDigit(text[count]))
        {
            count++;
        }

        return count;
    }
}
