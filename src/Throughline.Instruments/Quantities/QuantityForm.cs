namespace Throughline.Instruments;

/// <summary>Whether a quantity may be, or has to be, a tolerance alone, such as <c>±5 mV</c>.</summary>
internal enum ToleranceAlone
{
    No,
    Allowed,
    Required,
}

/// <summary>Whether one value or a stretch is asked for.</summary>
internal enum Extent
{
    Value,
    Range,
    ValueOrRange,
}

/// <summary>
/// What may be written where a quantity stands. The parser and the pattern of the JSON Schema follow from it alike, so they take the same texts.
/// The limits <see cref="Least"/> and <see cref="Greatest"/> are relations between numbers, which a pattern can't hold: they are judged after parsing.
/// </summary>
internal sealed record QuantityForm(UnitSet Units)
{
    private string? _pattern;

    /// <summary>A number without unit is taken, in the quantity's own unit.</summary>
    public bool Bare { get; init; }

    /// <summary>A tolerance may follow the value.</summary>
    public bool Tolerance { get; init; }

    /// <summary>A change per kelvin may follow the value.</summary>
    public bool Drift { get; init; }

    /// <summary><c>typ</c>, <c>min</c> and <c>max</c> may follow values.</summary>
    public bool Bounds { get; init; }

    public ToleranceAlone Alone { get; init; }

    public Extent Extent { get; init; }

    /// <summary>A minus sign may stand before the value.</summary>
    public bool Signed { get; init; }

    /// <summary>The codes of IEC 60062 are taken, such as 4k7.</summary>
    public RkmKind Rkm { get; init; }

    /// <summary>A word that may stand before, such as <c>every</c>.</summary>
    public string? Prefix { get; init; }

    /// <summary>Words that may stand behind, such as <c>of span</c>.</summary>
    public string? Suffix { get; init; }

    /// <summary>The least value physics allows, in the dimension's unit.</summary>
    public double Least { get; init; } = double.NegativeInfinity;

    public double Greatest { get; init; } = double.PositiveInfinity;

    /// <summary>Whether zero makes no sense, as for a resistor's resistance.</summary>
    public bool NotZero { get; init; }

    /// <summary>What is asked for, such as <c>a resistance such as 4.7 kΩ</c>.</summary>
    public string Expected { get; init; } = "";

    /// <summary>The regular expression (ECMA-262) of exactly the texts that <see cref="QuantityParser"/> takes.</summary>
    public string Pattern => _pattern ??= PatternText.Whole(BuildPattern());

    public static QuantityForm Of(UnitSet units) => new(units)
    {
        Expected = $"{units.Noun} such as {units.Example}",
        Rkm = units == UnitSets.Resistance ? RkmKind.Resistance : units == UnitSets.Capacitance ? RkmKind.Capacitance : RkmKind.None,
    };

    public QuantityForm WithTolerance() => this with { Tolerance = true, _pattern = null };

    public QuantityForm WithDrift() => this with { Tolerance = true, Drift = true, _pattern = null };

    /// <summary>Tolerance, drift, typical and limiting values: what a data sheet says.</summary>
    public QuantityForm AsInDataSheet() => this with { Tolerance = true, Drift = true, Bounds = true, Alone = ToleranceAlone.Allowed, _pattern = null };

    public QuantityForm WithBounds() => this with { Bounds = true, _pattern = null };

    public QuantityForm OrToleranceAlone() => this with { Tolerance = true, Alone = ToleranceAlone.Allowed, _pattern = null };

    public QuantityForm OnlyTolerance() =>
        this with { Tolerance = true, Alone = ToleranceAlone.Required, Expected = $"a limit such as ±{Units.Example.TrimStart('±')}", _pattern = null };

    public QuantityForm WithSign() => this with { Signed = true, _pattern = null };

    public QuantityForm OrBare() => this with { Bare = true, _pattern = null };

    public QuantityForm OrRange() => this with { Extent = Extent.ValueOrRange, _pattern = null };

    public QuantityForm AsRange(string example) =>
        this with { Extent = Extent.Range, Expected = $"a range such as {example}", _pattern = null };

    public QuantityForm WithPrefix(string word) => this with { Prefix = word, _pattern = null };

    public QuantityForm WithSuffix(string words) => this with { Suffix = words, _pattern = null };

    public QuantityForm Positive() => this with { Least = 0, NotZero = true };

    public QuantityForm Between(double least, double greatest) => this with { Least = least, Greatest = greatest };

    public QuantityForm Saying(string expected) => this with { Expected = expected };

    private string BuildPattern()
    {
        const string W = PatternText.Blank;
        string sign = Signed ? "[+\\-\u2212]?" : "\\+?";
        string number = PatternText.Number;
        string unit = Units.Families.Length == 0 ? "" : W + "*" + Units.Pattern;
        string unitOrBare = Units.Families.Length == 0 ? "" : Bare ? $"(?:{unit})?" : unit;
        string absolute = "(?:" + string.Join('|', Units.ToleranceFamilies.Select(f => f.Pattern()).Append("%").Append("ppm")) + ")";
        string per = "/(?:K|°C|degC)";
        string toleranceUnit = Bare ? $"(?:{W}*{absolute})?" : $"{W}*{absolute}";

        List<string> tails = [];
        if (Tolerance)
        {
            tails.Add($"{PatternText.PlusMinus}{W}*{number}{toleranceUnit}");
            string last = $"{W}*{absolute}";
            tails.Add($"\\+{W}*{number}(?:{last})?{W}*{PatternText.Minus}{W}*{number}{last}");
            tails.Add($"{PatternText.Minus}{W}*{number}(?:{last})?{W}*\\+{W}*{number}{last}");
        }

        if (Drift)
        {
            tails.Add($"(?:{PatternText.PlusMinus}|[+\\-\u2212]){W}*{number}{W}*{absolute}{per}");
        }

        string tail = tails.Count == 0 ? "" : $"{W}*(?:,{W}*)?(?:{string.Join('|', tails)})";
        if (Bounds)
        {
            string bound = $"(?:{W}*,{W}*|{W}+)(?:{number}{unitOrBare}{W}+)?(?:typ|min|max)";
            tail = tail.Length == 0 ? bound : $"{tail}|{bound}";
        }

        string tailed = tail.Length == 0 ? "" : $"(?:{tail})*";

        List<string> heads = [];
        if (Extent != Extent.Range)
        {
            if (Alone != ToleranceAlone.Required)
            {
                string value = $"{sign}{W}*{number}{unitOrBare}";
                if (Rkm != RkmKind.None)
                {
                    value = $"(?:{value}|{RkmCode.Pattern(Rkm)})";
                }

                heads.Add(value + tailed);
                if (Tolerance && !Bare && Units.Families.Length > 0)
                {
                    // 7.00 ±0.40 pH: one unit for both.
                    heads.Add($"{sign}{W}*{number}{W}*{PatternText.PlusMinus}{W}*{number}{W}*{Units.Pattern}{tailed}");
                }
            }

            if (Alone != ToleranceAlone.No)
            {
                heads.Add($"{PatternText.PlusMinus}{W}*{number}{unitOrBare}{tailed}");
            }
        }

        if (Extent != Extent.Value)
        {
            string from = $"{sign}{W}*{number}" + (Units.Families.Length == 0 ? "" : $"(?:{unit})?");
            string dots = $"{W}*{PatternText.Dots}{W}*";
            heads.Add($"{from}{dots}{sign}{W}*{number}{unitOrBare}");
        }

        string before = Prefix is null ? "" : $"(?:{PatternText.Escape(Prefix)}{W}+)?";
        string after = Suffix is null ? "" : $"(?:{W}+{PatternText.Escape(Suffix)})?";
        return $"{W}*{before}(?:{string.Join('|', heads)}){after}{W}*";
    }
}
