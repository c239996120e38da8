using System.Text;
using System.Text.RegularExpressions;
using Xunit;

namespace Throughline.Instruments.Tests.Quantities;

/// <summary>The pattern of the JSON Schema and the hand-written parser are two implementations of one grammar.</summary>
public class QuantityPatternTests
{
    private static readonly string[] Pieces =
    [
        "5", "0", "4.7", "1_000", "10\u2009000", "1e3", "2.5E-3", "1e−2", "5.", ".5", "000", "12345", " ", " ", " ", "  ", "\u00A0", "\u2009", "\n", "\t", "±", "+-", "+/-", "+", "-",
        "−", "..", "…", "...", ",", ".", "%", "ppm", "ppm/K", "%/K", "K", "mK", "°C", "deg C", "degC", "deg", "C", "Ω", "kΩ", "MΩ", "mΩ", "Ohm", "V", "mV", "µV", "uV", "A", "nA", "pA", "mA",
        "F", "nF", "µF", "H", "s", "ms", "min", "h", "d", "day", "week", "Hz", "kHz", "pH", "pH/week", "V/week", "%/year", "ppm/kh", "mV/K", "µV/K", "V/V", "mV/V", "dB", "V/µs", "nV/√Hz", "K/W", "kg", "g", "N",
        "Pa", "kPa", "bar", "m", "mm", "mol/L", "mol/m3", "B", "KiB", "LSB", "writes", "k writes", "k", "M", "digit", "typ", "max", "of span", "of", "every", "4k7", "R47", "2R2", "100n",
        "1k0F", "47K", "10nF", "5m0", "at 25 °C", "at rated load", "x",
    ];

    public static IEnumerable<string> Corpus() =>
    [
        "4.7 kΩ", "20.0 kΩ ±1 % ±100 ppm/K", "7.00 ±0.40 pH", "65 pA typ, 400 pA max", "±0.6 % of span", "every 30 days", "5 .. 45 °C", "50 .. 600 MΩ", "100 k writes", "4.5 digit", "±2 LSB",
        "−12 V ±5 %", "2048", "3.6 V max", "100 Ω +10 −20 %", "−2 mV/K", "1 .. 2", "0.02 pH/week", "±0.1 %/year", "±25 ppm/kh", "100 dB min", "1 MHz typ 0.7 MHz min", "10 kΩ ±1 % at 25 °C", "2.000 mV/V ±0.25 %",
    ];

    [Fact]
    public void Pattern_OfEveryForm_TakesWhatTheParserTakes()
    {
        Assert.True(ShapeWalk.Forms.Count > 40);
        Random random = new(20260101);
        List<string> texts = [.. Corpus()];
        StringBuilder text = new();
        for (int i = 0; i < 3000; i++)
        {
            text.Clear();
            for (int pieces = random.Next(1, 9); pieces > 0; pieces--)
            {
                text.Append(Pieces[random.Next(Pieces.Length)]);
            }

            texts.Add(text.ToString());
        }

        int taken = 0;
        foreach (QuantityForm form in ShapeWalk.Forms)
        {
            // Half of the texts are made of what the form itself takes, so that many are taken.
            List<string> near = [.. texts, .. Grown(form, random, 1500)];
            Regex pattern = new(form.Pattern, RegexOptions.ECMAScript | RegexOptions.CultureInvariant);
            foreach (string candidate in near)
            {
                bool parsed = QuantityParser.Parse(candidate, form) is not null;
                Assert.True(parsed == pattern.IsMatch(candidate), $"{form.Expected}: the parser {(parsed ? "takes" : "refuses")} '{candidate}', its pattern does not: {form.Pattern}");
                taken += parsed ? 1 : 0;
            }
        }

        // A comparison in which everything is refused by both would show nothing.
        Assert.True(taken > 10000, $"only {taken} texts were taken");
    }

    private static IEnumerable<string> Grown(QuantityForm form, Random random, int count)
    {
        string[] units = [.. form.Units.Spellings, ""];
        string[] numbers = ["5", "0.25", "1_000", "3e2", "12", "7.00"];
        string Unit() => units[random.Next(units.Length)];
        string Number() => numbers[random.Next(numbers.Length)];
        string Blank() => random.Next(4) == 0 ? "" : " ";
        string Value() => Number() + Blank() + Unit();
        string Share() => random.Next(3) switch { 0 => "%", 1 => "ppm", _ => Unit() };
        string Tail() => random.Next(9) switch
        {
            0 => $"±{Number()}{Blank()}{Share()}",
            1 => $"+{Number()} {Share()} −{Number()} {Share()}",
            2 => $"+{Number()} -{Number()} {Share()}",
            3 => $"±{Number()} {Share()}/K",
            4 => $"-{Number()} {Share()}/K",
            5 => "max",
            6 => "typ",
            7 => $"{Value()} max",
            _ => $",{Value()} min",
        };
        for (int i = 0; i < count; i++)
        {
            string text = random.Next(8) switch
            {
                0 => $"{Value()}{Blank()}..{Blank()}{Value()}",
                1 => $"{Number()} … {Value()}",
                2 => $"±{Value()}",
                3 => $"-{Value()}",
                4 => $"{Number()} ±{Value()}",
                _ => Value(),
            };
            for (int tails = random.Next(3); tails > 0; tails--)
            {
                text += Blank() + Tail();
            }

            if (form.Prefix is not null && random.Next(2) == 0)
            {
                text = form.Prefix + " " + text;
            }

            if (form.Suffix is not null && random.Next(2) == 0)
            {
                text += " " + form.Suffix;
            }

            yield return text;
        }
    }
}
