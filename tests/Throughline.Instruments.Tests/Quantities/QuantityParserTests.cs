using CsCheck;
using Xunit;

namespace Throughline.Instruments.Tests.Quantities;

public class QuantityParserTests
{
    private static readonly QuantityForm Ohms = QuantityForm.Of(UnitSets.Resistance).WithDrift();
    private static readonly QuantityForm Volts = QuantityForm.Of(UnitSets.Voltage).AsInDataSheet().WithSign();
    private static readonly QuantityForm Celsius = QuantityForm.Of(UnitSets.Temperature).WithSign().OrRange();

    [Theory] // SI Brochure, 9th edition, table 7: prefixes
    [InlineData("49.9 kΩ", 49900)]
    [InlineData("49.9kΩ", 49900)]
    [InlineData("49.9\u2009kΩ", 49900)]
    [InlineData("49.9 kOhm", 49900)]
    [InlineData("49.9 kohm", 49900)]
    [InlineData("49.9 k\u2126", 49900)]
    [InlineData("1_000 Ω", 1000)]
    [InlineData("10\u2009000 Ω", 10000)]
    [InlineData("1.2e3 Ω", 1200)]
    [InlineData("1.2E−3 MΩ", 1200)]
    [InlineData("470 µΩ", 470e-6)]
    [InlineData("470 uΩ", 470e-6)]
    [InlineData("3 GΩ", 3e9)]
    [InlineData("1 TΩ", 1e12)]
    [InlineData("+5 Ω", 5)]
    [InlineData("4k7 ±1 %", 4700)]
    public void Parse_Values_AreInTheUnitOfTheirKind(string text, double expected) =>
        Assert.Equal(expected, QuantityParser.Parse(text, Ohms)!.Value);

    [Theory] // text, value, low, high, drift, signed drift
    [InlineData("20.0 kΩ ±1 % ±100 ppm/K", 20000, 19800, 20200, 2, 0)]
    [InlineData("20.0 kΩ ±100 ppm/K ±1 %", 20000, 19800, 20200, 2, 0)]
    [InlineData("20.0 kΩ, ±1 %, ±100 ppm/K", 20000, 19800, 20200, 2, 0)]
    [InlineData("20.0 kΩ +-1% +/-100ppm/K", 20000, 19800, 20200, 2, 0)]
    [InlineData("100 Ω +10 −20 %", 100, 80, 110, 0, 0)]
    [InlineData("100 Ω −20 +10 %", 100, 80, 110, 0, 0)]
    [InlineData("100 Ω +10 % -20 %", 100, 80, 110, 0, 0)]
    [InlineData("100 Ω ±2 Ω", 100, 98, 102, 0, 0)]
    [InlineData("100 Ω +3900 ppm/K", 100, 100, 100, 0, 0.39)]
    [InlineData("100 Ω −0.2 Ω/K", 100, 100, 100, 0, -0.2)]
    [InlineData("100 Ω ±0.1 %/K", 100, 100, 100, 0.1, 0)]
    [InlineData("100 Ω ±50 ppm/K +3900 ppm/K", 100, 100, 100, 0.005, 0.39)]
    [InlineData("1k00F", 1000, 990, 1010, 0, 0)]
    [InlineData("1 ±0.1 kΩ", 1000, 900, 1100, 0, 0)]
    public void Parse_TolerancesAndDrifts_AreLimitsInTheUnit(string text, double value, double low, double high, double drift, double signedDrift)
    {
        ParsedQuantity parsed = QuantityParser.Parse(text, Ohms)!;

        // Each limit is a sum of two rounded numbers.
        double rounding = Math.Abs(value) * 1e-14;
        Assert.Null(parsed.Problem);
        Assert.Equal(value, parsed.Value);
        Assert.Equal(low, parsed.Low, rounding);
        Assert.Equal(high, parsed.High, rounding);
        Assert.Equal(drift, parsed.Drift, rounding);
        Assert.Equal(signedDrift, parsed.SignedDrift, rounding);
    }

    [Theory]
    [InlineData("2 mV typ, 7 mV max", 2e-3, 2e-3, 7e-3)]
    [InlineData("2 mV typ 7 mV max", 2e-3, 2e-3, 7e-3)]
    [InlineData("2 mV, 7 mV max", 2e-3, 2e-3, 7e-3)]
    [InlineData("7 mV max", 7e-3, double.NegativeInfinity, 7e-3)]
    [InlineData("7 mV min", 7e-3, 7e-3, double.PositiveInfinity)]
    [InlineData("1 mV min, 2 mV typ, 3 mV max", 2e-3, 1e-3, 3e-3)]
    [InlineData("2 mV typ", 2e-3, 2e-3, 2e-3)]
    [InlineData("±5 mV", 0, -5e-3, 5e-3)]
    [InlineData("−5 mV ±1 mV", -5e-3, -6e-3, -4e-3)]
    public void Parse_FiguresOfADataSheet_AreValueAndLimits(string text, double value, double low, double high)
    {
        ParsedQuantity parsed = QuantityParser.Parse(text, Volts)!;
        Assert.Null(parsed.Problem);
        Assert.Equal(value, parsed.Value, 1e-17);
        Assert.Equal(low, parsed.Low, 1e-17);
        Assert.Equal(high, parsed.High, 1e-17);
    }

    [Theory]
    [InlineData("5 .. 45 °C", 5, 45)]
    [InlineData("5..45°C", 5, 45)]
    [InlineData("5 °C … 45 degC", 5, 45)]
    [InlineData("−10 .. 45 deg C", -10, 45)]
    [InlineData("25 °C", 25, 25)]
    public void Parse_Ranges_HaveTwoEnds(string text, double low, double high)
    {
        ParsedQuantity parsed = QuantityParser.Parse(text, Celsius)!;
        Assert.Equal((low, high), (parsed.Low, parsed.High));
    }

    [Theory] // 20 dB is a factor of ten: IEC 60027-3
    [InlineData("20 dB", 10)]
    [InlineData("100 dB", 100000)]
    [InlineData("0 dB", 1)]
    [InlineData("10 V/V", 10)]
    [InlineData("200 V/mV", 200000)]
    public void Parse_Gains_AreRatios(string text, double expected) =>
        Assert.Equal(expected, QuantityParser.Parse(text, QuantityForm.Of(UnitSets.Gain))!.Value, expected * 1e-14);

    [Theory]
    [InlineData("4.7 V")]
    [InlineData("4.7")]
    [InlineData("−4.7 Ω")]
    [InlineData("4,7 kΩ")]
    [InlineData("4.7 kΩ 1 %")]
    [InlineData("4.7 kΩ ±")]
    [InlineData("kΩ")]
    [InlineData("")]
    [InlineData("4.7 KΩ")]
    [InlineData("1 .. 2 kΩ")]
    [InlineData("4k7 extra")]
    [InlineData("4.7 kΩ\n")]
    public void Parse_SomethingElse_IsNull(string text) => Assert.Null(QuantityParser.Parse(text, Ohms));

    [Theory]
    [InlineData("1 Ω ±100 %", Codes.ToleranceOutOfRange)]
    [InlineData("1 Ω ±150 %", Codes.ToleranceOutOfRange)]
    [InlineData("1 Ω ±1 % ±2 %", Codes.SaidTwice)]
    [InlineData("1 Ω ±1 ppm/K ±2 ppm/K", Codes.SaidTwice)]
    [InlineData("1e999 Ω", Codes.OutOfRange)]
    [InlineData("1 Ω +1 −2 Ω +1 −2 %", Codes.SaidTwice)]
    public void Parse_ContradictionsOfItsNumbers_AreProblems(string text, string code) =>
        Assert.Equal(code, QuantityParser.Parse(text, Ohms)!.Problem?.Code);

    [Theory]
    [InlineData("−273.16 °C")]
    [InlineData("−300 .. 20 °C")]
    [InlineData("45 .. 5 °C")]
    public void Parse_ImpossibleTemperatures_AreProblems(string text) =>
        Assert.Equal(Codes.OutOfRange, QuantityParser.Parse(text, Celsius)!.Problem?.Code);

    [Fact] // Property: a value is read back to the last bit, whatever its size
    public void Format_AnyValue_ReadsBackTheSame() =>
        Gen.Select(Gen.Double[-16, 14], Gen.Double[1, 10], Gen.Bool, Gen.Enum<Dimension>()).Sample((exponent, mantissa, negative, dimension) =>
        {
            double value = (negative ? -1 : 1) * mantissa * Math.Pow(10, Math.Floor(exponent));
            string text = QuantityText.Format(value, dimension);
            QuantityForm form = QuantityForm.Of(UnitSets.Of(dimension)).WithSign().OrBare();
            return QuantityParser.Parse(text, form) is { } read && read.Value == value;
        });

    [Fact] // Property: values as people write them keep their digits and get the prefix of engineering notation
    public void Format_RoundValue_IsShort() =>
        Gen.Select(Gen.Int[1, 9999], Gen.Int[-9, 6]).Sample((digits, exponent) =>
        {
            double value = double.Parse(FormattableString.Invariant($"{digits}E{exponent}"), System.Globalization.CultureInfo.InvariantCulture);
            string text = QuantityText.Format(value, Dimension.Resistance);
            string number = text.Split(' ')[0];
            return text.EndsWith('Ω') && number.Length <= 12
                && QuantityParser.Parse(text, Ohms) is { } read && read.Value == value;
        });

    [Fact] // Property: a whole quantity is read back; its limits are sums, so they may differ in the last digits
    public void Format_AnyQuantity_ReadsBackTheSame() =>
        Gen.Select(Gen.Double[1, 999], Gen.Double[0, 0.9], Gen.Double[0, 0.9], Gen.Double[0, 1e-3], Gen.Double[-1e-3, 1e-3]).Sample(
            (value, below, above, drift, signedDrift) =>
            {
                Quantity quantity = new(
                    Dimension.Voltage, value, value * (1 - below), value * (1 + above), value * drift, value * signedDrift, default, "");
                string text = QuantityText.Format(quantity);
                ParsedQuantity? read = QuantityParser.Parse(text, Volts);
                bool Near(double a, double b) => Math.Abs(a - b) <= 1e-8 * value;
                Assert.True(
                    read is not null && read.Value == value && Near(read.Low, quantity.Low) && Near(read.High, quantity.High)
                    && read.Drift == quantity.Drift && read.SignedDrift == quantity.SignedDrift,
                    $"{text} is read as {read?.Value:R} {read?.Low:R} {read?.High:R} {read?.Drift:R} {read?.SignedDrift:R}");
            });
}
