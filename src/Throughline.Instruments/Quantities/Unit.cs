namespace Throughline.Instruments;

/// <summary>A unit as it may be written.</summary>
/// <param name="Dimension">The kind of quantity it counts.</param>
/// <param name="Factor">How many of the dimension's own unit it is.</param>
/// <param name="IsDecibel">Whether the number is 20 times the decimal logarithm of the ratio.</param>
internal readonly record struct Unit(Dimension Dimension, double Factor, bool IsDecibel = false)
{
    // 100 nF is 100 / 1e9, correctly rounded; 100 × 1e−9 is not, since 1e−9 itself is rounded.
    private readonly double _divisor = Factor < 1 ? Math.Round(1 / Factor) : 1;

    /// <summary>A number of this unit in the dimension's own unit.</summary>
    public double ToOwn(double number) => IsDecibel ? Math.Pow(10, number / 20) : Factor < 1 ? number / _divisor : number * Factor;
}

/// <summary>A unit with its spellings and the SI prefixes it takes.</summary>
/// <param name="Prefixes">Letters of SI prefixes, <c>u</c> standing for micro in each of its spellings; the unit alone is always allowed.</param>
/// <param name="Spellings">The first is the one written to people. A blank inside stands for one or more blanks.</param>
internal sealed record UnitFamily(Dimension Dimension, double Factor, string Prefixes, params string[] Spellings)
{
    public bool IsDecibel { get; init; }

    /// <summary>Every way of writing it, with its unit.</summary>
    public IEnumerable<(string Text, Unit Unit)> Expand()
    {
        foreach (string spelling in Spellings)
        {
            yield return (spelling, new Unit(Dimension, Factor, IsDecibel));
            foreach (char prefix in Prefixes)
            {
                double scaled = SiPrefix.Scale(Factor, prefix);
                foreach (char letter in SiPrefix.Letters(prefix))
                {
                    yield return (letter + spelling, new Unit(Dimension, scaled, IsDecibel));
                }
            }
        }
    }

    /// <summary>A regular expression (ECMA-262) for exactly <see cref="Expand"/>.</summary>
    public string Pattern()
    {
        string units = string.Join('|', Spellings.Select(PatternText.Escape));
        if (Spellings.Length > 1)
        {
            units = $"(?:{units})";
        }

        return Prefixes.Length == 0 ? units : $"[{string.Concat(Prefixes.Select(SiPrefix.Letters))}]?{units}";
    }
}

/// <summary>SI prefixes (BIPM, SI Brochure, 9th edition, table 7).</summary>
internal static class SiPrefix
{
    /// <summary>The power of ten; <c>u</c> is micro.</summary>
    public static int Exponent(char prefix) => prefix switch
    {
        'f' => -15,
        'p' => -12,
        'n' => -9,
        'u' or '\u00B5' or '\u03BC' => -6,
        'm' => -3,
        'c' => -2,
        'h' => 2,
        'k' => 3,
        'M' => 6,
        'G' => 9,
        'T' => 12,
        _ => throw new ArgumentOutOfRangeException(nameof(prefix), prefix, "Not a prefix in use here."),
    };

    /// <summary>The factor times the prefix, correctly rounded: dividing by an exact power of ten, since 1e−3 itself is not exact.</summary>
    public static double Scale(double factor, char prefix)
    {
        int exponent = Exponent(prefix);
        return exponent < 0 ? factor / Math.Pow(10, -exponent) : factor * Math.Pow(10, exponent);
    }

    /// <summary>The letters that stand for a prefix: micro has the micro sign, the Greek letter and u.</summary>
    public static string Letters(char prefix) => prefix == 'u' ? "\u00B5\u03BCu" : prefix.ToString();
}
