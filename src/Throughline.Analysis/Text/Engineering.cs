using System.Globalization;
using System.Text;

namespace Throughline.Analysis;

/// <summary>
/// Writes numbers for people: prefixes in steps of a thousand, significant digits, a true minus, a narrow space that never breaks before the
/// unit. Always the same text whatever the machine's culture. NaN is an em dash; infinities are ∞ and −∞. Safe on any thread.
/// </summary>
/// <remarks>A number that fewer digits say exactly is written with those (<c>500 Ω</c>, <c>4.9 V</c>), so a padded zero always says that the value was
/// rounded. Prefixes and spacing follow the SI Brochure, 9th edition, sections 3 and 5.4.</remarks>
public static class Engineering
{
    /// <summary>The space between a number and its unit and between groups of three digits: U+202F, narrow and unbreakable.</summary>
    public const char ThinSpace = '\u202F';

    /// <summary>The true minus, U+2212.</summary>
    public const char Minus = '\u2212';

    /// <summary>What stands for a value that does not exist.</summary>
    public const string NoValue = "—";

    /// <summary>A difference this small against the number itself is rounding of the computation.</summary>
    private const double Noise = 1e-10;

    private const int LeastPrefix = -5;

    private const int MostDecimals = 15;

    private static readonly string[] Prefixes = ["f", "p", "n", "µ", "m", "", "k", "M", "G", "T"];

    /// <summary>Units that take prefixes. A unit in which one is already inside (kg, mV), a temperature, a pH and a ratio do not.</summary>
    private static readonly HashSet<string> Prefixable =
        ["V", "A", "Ω", "W", "F", "H", "Hz", "S", "s", "N", "Pa", "J", "m", "B", "C", "VA"];

    /// <summary>A value in engineering notation: <c>2.031 V</c>, <c>−12.5 mV</c>, <c>49.9 kΩ</c>, <c>80 fA</c>.</summary>
    /// <param name="value">In <paramref name="unit"/>; any double.</param>
    /// <param name="unit">Unit without prefix; it gets one where the unit takes prefixes (also before a solidus, as in <c>V/K</c>). Empty for a ratio
    /// or a code.</param>
    /// <param name="significantDigits">1 to 15.</param>
    /// <param name="signed">Whether a positive value is written with its plus.</param>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="significantDigits"/> is out of its range.</exception>
    public static string Format(double value, string unit, int significantDigits = 4, bool signed = false)
    {
        if (!double.IsFinite(value) || value == 0)
        {
            return WithUnit(Number(value, significantDigits, signed), unit);
        }

        int step = PrefixStep(Exponent(value, significantDigits), unit);
        string prefix = Prefixes[step - LeastPrefix];
        return WithUnit(Digits(value, significantDigits, 3 * step, signed), prefix + unit);
    }

    /// <summary>Two ends with one unit and one prefix, that of the larger: <c>0.412 .. 2.031 V</c>.</summary>
    public static string Range(double low, double high, string unit, int significantDigits = 4)
    {
        double larger = Math.Max(Math.Abs(low), Math.Abs(high));
        if (!double.IsFinite(low) || !double.IsFinite(high) || larger == 0)
        {
            return WithUnit(Number(low, significantDigits) + " .. " + Number(high, significantDigits), unit);
        }

        int exponent = Exponent(larger, significantDigits);
        int step = PrefixStep(exponent, unit);
        int decimals = Math.Max(0, significantDigits - 1 - (exponent - (3 * step)));
        if (decimals > MostDecimals)
        {
            // Below the least prefix; what is left of a current that should be none.
            return WithUnit(Number(low, significantDigits) + " .. " + Number(high, significantDigits), unit);
        }

        string Shown(double end) => Shorten(end, Fixed(Scaled(end, 3 * step), decimals), 3 * step);
        return WithUnit(Shown(low) + " .. " + Shown(high), Prefixes[step - LeastPrefix] + unit);
    }

    /// <summary>A plain number with significant digits: <c>2 048</c>, <c>0.0125</c>; very large and very small ones with a power of ten.</summary>
    /// <param name="value">Any double.</param>
    /// <param name="significantDigits">1 to 15; digits before the point are never rounded away below 10⁷.</param>
    /// <param name="signed">Whether a positive value is written with its plus.</param>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="significantDigits"/> is out of its range.</exception>
    public static string Number(double value, int significantDigits = 4, bool signed = false)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(significantDigits, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(significantDigits, 15);
        if (double.IsNaN(value))
        {
            return NoValue;
        }

        if (double.IsInfinity(value))
        {
            return value > 0 ? (signed ? "+∞" : "∞") : Minus + "∞";
        }

        return value == 0 ? "0" : Digits(value, significantDigits, 0, signed);
    }

    /// <summary>A number with a fixed count of decimals, for columns that line up: <c>7.00</c>, <c>−59.16</c>, <c>12 345</c>.</summary>
    /// <param name="value">Any double; what rounds to zero has no sign.</param>
    /// <param name="decimals">0 to 15.</param>
    /// <param name="unit">Its unit, as it stands: no prefix is put before it. Empty for none.</param>
    /// <exception cref="ArgumentOutOfRangeException"><paramref name="decimals"/> is out of its range.</exception>
    public static string Fixed(double value, int decimals, string unit = "")
    {
        ArgumentOutOfRangeException.ThrowIfNegative(decimals);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(decimals, MostDecimals);
        if (!double.IsFinite(value))
        {
            return WithUnit(Number(value), unit);
        }

        // A decimal tie that binary stores a hair low, such as 2.0305, is rounded as it is written on paper.
        string text = Math.Abs(value) < 1e15 / Math.Pow(10, decimals)
            ? Math.Round((decimal)value, decimals, MidpointRounding.AwayFromZero).ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture)
            : value.ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        bool isZero = !text.AsSpan().ContainsAnyInRange('1', '9');
        string digits = Group(text.TrimStart('-'));
        return WithUnit(text[0] == '-' && !isZero ? Minus + digits : digits, unit);
    }

    /// <summary>A ratio in per cent: 0.006 is <c>0.6 %</c>.</summary>
    /// <param name="ratio">1 is a hundred per cent; any double.</param>
    /// <param name="significantDigits">1 to 15.</param>
    /// <param name="signed">Whether a positive value is written with its plus.</param>
    public static string Percent(double ratio, int significantDigits = 3, bool signed = false) =>
        WithUnit(Number(ratio * 100, significantDigits, signed), "%");

    /// <summary>A time in the unit a person would say: <c>5 ms</c>, <c>8 s</c>, <c>10 min</c>, <c>4 h</c>, <c>30 d</c>.</summary>
    /// <param name="seconds">Any double.</param>
    /// <param name="significantDigits">1 to 15.</param>
    public static string Duration(double seconds, int significantDigits = 3) => Math.Abs(seconds) switch
    {
        >= 172_800 and < double.PositiveInfinity => WithUnit(Number(seconds / 86_400, significantDigits), "d"),
        >= 7_200 and < double.PositiveInfinity => WithUnit(Number(seconds / 3_600, significantDigits), "h"),
        >= 120 and < double.PositiveInfinity => WithUnit(Number(seconds / 60, significantDigits), "min"),
        _ => Format(seconds, "s", significantDigits),
    };

    /// <summary>A number's text and its unit with the space between them, none when there is no unit or no number.</summary>
    public static string WithUnit(string number, string unit) =>
        unit.Length == 0 || number == NoValue ? number : number + ThinSpace + unit;

    /// <summary>Exponent of ten after rounding, so that 0.99996 counts as 1.000.</summary>
    private static int Exponent(double value, int significantDigits)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(significantDigits, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(significantDigits, 15);
        string text = value.ToString("E" + (significantDigits - 1).ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
        return int.Parse(text.AsSpan(text.IndexOf('E', StringComparison.Ordinal) + 1), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
    }

    private static int PrefixStep(int exponent, string unit)
    {
        if (!TakesPrefix(unit))
        {
            return 0;
        }

        int step = (int)Math.Floor(exponent / 3.0);
        int greatest = unit == "s" ? 0 : LeastPrefix + Prefixes.Length - 1;   // nobody says kiloseconds
        int least = unit == "B" ? 0 : LeastPrefix;
        return Math.Clamp(step, least, greatest);
    }

    private static bool TakesPrefix(string unit)
    {
        int end = unit.AsSpan().IndexOfAny('/', '·');
        string head = end < 0 ? unit : unit[..end];
        return Prefixable.Contains(head) && (end < 0 || unit[(end + 1)..] != head);   // V/V is a ratio
    }

    private static string Digits(double value, int significantDigits, int shift, bool signed)
    {
        int exponent = Exponent(value, significantDigits);
        int shown = exponent - shift;
        string sign = value < 0 ? Minus.ToString() : signed ? "+" : "";
        double magnitude = Math.Abs(value);
        if (shown is < -4 or > 6)
        {
            string mantissa = Shorten(magnitude, Scaled(magnitude, exponent).ToString("F" + (significantDigits - 1).ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture), exponent);
            return sign + mantissa + "×10" + Superscript(exponent);
        }

        int decimals = Math.Clamp(significantDigits - 1 - shown, 0, MostDecimals);
        return sign + Shorten(magnitude, Fixed(Scaled(magnitude, shift), decimals), shift);
    }

    /// <summary>value / 10^shift, by division or multiplication with an exact power where there is one: 1.25e-3 becomes 1.25 and not a hair less.</summary>
    private static double Scaled(double value, int shift) => shift switch
    {
        0 => value,
        < 0 and >= -22 => value * Math.Pow(10, -shift),
        > 0 and <= 22 => value / Math.Pow(10, shift),
        _ => value / Math.Pow(10, shift),
    };

    /// <summary>Drops the zeros at the end when without them the number is still exactly the value.</summary>
    private static string Shorten(double value, string text, int shift)
    {
        if (!text.Contains('.', StringComparison.Ordinal))
        {
            return text;
        }

        string plain = text.Replace(ThinSpace.ToString(), "", StringComparison.Ordinal).Replace(Minus, '-');
        double said = double.Parse(plain, NumberStyles.Float, CultureInfo.InvariantCulture);
        double meant = Scaled(value, shift);
        return Math.Abs(said - meant) <= Noise * Math.Abs(meant) ? text.TrimEnd('0').TrimEnd('.') : text;
    }

    /// <summary>Thin spaces between groups of three digits before the point, from five digits on.</summary>
    private static string Group(string text)
    {
        int point = text.IndexOf('.', StringComparison.Ordinal);
        int whole = point < 0 ? text.Length : point;
        if (whole < 5)
        {
            return text;
        }

        StringBuilder grouped = new(text);
        for (int at = whole - 3; at > 0; at -= 3)
        {
            grouped.Insert(at, ThinSpace);
        }

        return grouped.ToString();
    }

    private static string Superscript(int exponent)
    {
        StringBuilder text = new();
        foreach (char c in exponent.ToString(CultureInfo.InvariantCulture))
        {
            text.Append(c == '-' ? '⁻' : "⁰¹²³⁴⁵⁶⁷⁸⁹"[c - '0']);
        }

        return text.ToString();
    }
}
