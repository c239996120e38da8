namespace Throughline.Instruments;

/// <summary>Finds out what a text is that is not the quantity asked for. Runs only when there is something to complain about.</summary>
internal static class QuantityComplaint
{
    private static readonly QuantityForm Anything = QuantityForm.Of(UnitSets.Any) with
    {
        Bare = true,
        Tolerance = true,
        Drift = true,
        Bounds = true,
        Alone = ToleranceAlone.Allowed,
        Extent = Extent.ValueOrRange,
        Signed = true,
        Rkm = RkmKind.Resistance,
        Prefix = "every",
        Suffix = "of span",
    };

    private static readonly string[] Tolerances = ["\u00B1", "+-", "+/-"];

    /// <summary>Units as people write them by habit, with the spelling meant.</summary>
    private static readonly Dictionary<string, string> Habits = new(StringComparer.Ordinal)
    {
        ["C"] = "°C",
        ["ºC"] = "°C",
        ["sec"] = "s",
        ["secs"] = "s",
        ["second"] = "s",
        ["seconds"] = "s",
        ["hr"] = "h",
        ["hrs"] = "h",
        ["mins"] = "min",
        ["volt"] = "V",
        ["volts"] = "V",
        ["amp"] = "A",
        ["amps"] = "A",
        ["ohms"] = "Ω",
        ["Ohms"] = "Ω",
    };

    public static (string Code, string Found, string? Mend) Explain(ScalarNode node, QuantityForm form)
    {
        string found = node.Found;
        if (node.Type == ScalarType.Number)
        {
            return node.Number < 0 && !form.Signed && form.Bare
                ? (Codes.NotAQuantity, found + ", a negative number", null)
                : (Codes.NotAQuantity, found + ", a number without unit", UnitMend(node.Text, form));
        }

        if (node.Type != ScalarType.Text)
        {
            return (Codes.NotAQuantity, found, null);
        }

        string text = node.Text.Trim();
        QuantityForm generous = form with
        {
            Bare = true,
            Tolerance = true,
            Drift = true,
            Bounds = true,
            Signed = true,
            Alone = ToleranceAlone.Allowed,
            Extent = Extent.ValueOrRange,
            Prefix = "every",
            Suffix = form.Suffix ?? "of span",
        };
        if (QuantityParser.Parse(text, generous) is { } near)
        {
            return Describe(node, form, near);
        }

        if (QuantityParser.Parse(text, Anything) is { } other)
        {
            return (Codes.WrongUnit, $"{found}, {UnitSets.Noun(other.Dimension)}", null);
        }

        string withPoint = text.Replace(',', '.');
        if (withPoint != text && QuantityParser.Parse(withPoint, form) is not null)
        {
            return (Codes.NotAQuantity, found, $"write a decimal point: `{withPoint}`");
        }

        if (WithSignsOnce(text) is var once && once != text && QuantityParser.Parse(once, form) is not null)
        {
            return (Codes.NotAQuantity, found, $"write the sign once: `{once}`");
        }

        return (Codes.NotAQuantity, found, UnitWord(text) is { Length: > 0 } unit ? HabitMend(text, unit, form) ?? Nearest.Mend(unit, form.Units.Spellings) : null);
    }

    /// <summary>The text with one ± wherever several follow each other.</summary>
    private static string WithSignsOnce(string text)
    {
        string once = Tolerances[1..].Aggregate(text, (t, sign) => t.Replace(sign, Tolerances[0], StringComparison.Ordinal));
        while (once.Contains("±±", StringComparison.Ordinal) || once.Contains("± ±", StringComparison.Ordinal))
        {
            once = once.Replace("± ±", "±", StringComparison.Ordinal).Replace("±±", "±", StringComparison.Ordinal);
        }

        return once;
    }

    private static (string Code, string Found, string? Mend) Describe(ScalarNode node, QuantityForm form, ParsedQuantity near)
    {
        string found = node.Found;
        if (near.IsBare && !form.Bare)
        {
            return (Codes.NotAQuantity, found + " without a unit", UnitMend(node.Text, form));
        }

        if (near.IsRange && form.Extent == Extent.Value)
        {
            return (Codes.NotAQuantity, found + ", a range", "write one value");
        }

        if (!near.IsRange && form.Extent == Extent.Range)
        {
            return (Codes.NotAQuantity, found + ", a single value", "write both ends with `..` between them");
        }

        if (!form.Signed && (near.Value < 0 || near.Low < 0) && !near.IsAlone)
        {
            return (Codes.NotAQuantity, found + ", which is negative", "write it without the minus sign");
        }

        if (!near.IsAlone && form.Alone == ToleranceAlone.Required)
        {
            return (Codes.NotAQuantity, found + " without ±", "put ± in front");
        }

        if (near.IsAlone && form.Alone == ToleranceAlone.No)
        {
            return (Codes.NotAQuantity, found + ", a tolerance without a value", "write the value in front of the tolerance");
        }

        if (near.HasTypical || near.HasMinimum || near.HasMaximum)
        {
            return (Codes.NotAQuantity, found, "write the value without typ, min and max");
        }

        if (!form.Drift && (near.Drift != 0 || near.SignedDrift != 0))
        {
            return (Codes.NotAQuantity, found + ", with a change per kelvin", "leave the change per kelvin out");
        }

        return !form.Tolerance && (near.Low != near.Value || near.High != near.Value)
            ? (Codes.NotAQuantity, found + ", with a tolerance", "leave the tolerance out")
            : (Codes.NotAQuantity, found, null);
    }

    /// <summary>The text with its unit where the reader takes it: at the end, or in front of a tolerance in per cent.</summary>
    private static string? UnitMend(string number, QuantityForm form)
    {
        if (form.Units.Families.Length == 0 || number.Length > 30)
        {
            return null;
        }

        string unit = form.Units.Families[0].Spellings[0];
        string[] places = [$"{number} {unit}", .. Tolerances.Select(t => number.IndexOf(t, StringComparison.Ordinal)).Where(at => at > 0).Select(at => $"{number[..at].TrimEnd()} {unit} {number[at..]}")];
        return places.FirstOrDefault(p => QuantityParser.Parse(p, form) is not null) is { } written ? $"add the unit: `{written}`" : $"add the unit, such as `{unit}`";
    }

    /// <summary>The text with the unit that a person writes by habit put right; null when that is no unit of this place.</summary>
    private static string? HabitMend(string text, string unit, QuantityForm form)
    {
        if (text.Length > 30 || !Habits.TryGetValue(unit, out string? meant))
        {
            return null;
        }

        string written = text.Replace(unit, meant, StringComparison.Ordinal);
        return QuantityParser.Parse(written, form) is null ? null : $"write `{written}`";
    }

    /// <summary>What stands between the first number and the next blank.</summary>
    private static string UnitWord(string text)
    {
        int at = 0;
        while (at < text.Length && (char.IsAsciiDigit(text[at]) || text[at] is '.' or '-' or '+' or '\u2212' or '\u00B1' || PatternText.IsBlank(text[at])))
        {
            at++;
        }

        int start = at;
        while (at < text.Length && !PatternText.IsBlank(text[at]) && text[at] is not ('\u00B1' or ','))
        {
            at++;
        }

        return start == 0 ? "" : text[start..at];
    }
}
