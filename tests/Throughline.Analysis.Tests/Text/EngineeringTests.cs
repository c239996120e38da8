using System.Globalization;
using CsCheck;
using Xunit;

namespace Throughline.Analysis.Tests;

public sealed class EngineeringTests
{
    private static string Plain(string text) => text.Replace(Engineering.ThinSpace, ' ');

    // SI Brochure, 9th edition: table 7 (prefixes) and section 5.4.3 (a space between number and unit, spaces between groups of three digits).
    // Steps of a thousand are common practice, no source.
    [Theory]
    [InlineData(0, "V", "0 V")]
    [InlineData(2.0312345, "V", "2.031 V")]
    [InlineData(-0.0125, "V", "−12.5 mV")]
    [InlineData(49_900, "Ω", "49.9 kΩ")]
    [InlineData(600e6, "Ω", "600 MΩ")]
    [InlineData(1e12, "Ω", "1 TΩ")]
    [InlineData(8e-14, "A", "80 fA")]
    [InlineData(2.5e-6, "A", "2.5 µA")]
    [InlineData(4.7e-9, "F", "4.7 nF")]
    [InlineData(1.25e-12, "F", "1.25 pF")]
    [InlineData(0.99996, "V", "1.000 V")]
    [InlineData(0.999949999, "V", "999.9 mV")]
    [InlineData(4.000004, "V", "4.000 V")]
    [InlineData(4, "V", "4 V")]
    [InlineData(1.23456e-5, "V/K", "12.35 µV/K")]
    [InlineData(0.02, "V/V", "0.02 V/V")]
    [InlineData(6.9871, "pH", "6.987 pH")]
    [InlineData(0.0031, "°C", "0.0031 °C")]
    [InlineData(1500, "kg", "1500 kg")]
    [InlineData(12_345.6, "", "12 346")]
    [InlineData(65_535, "", "65 535")]
    [InlineData(3_600, "s", "3600 s")]
    [InlineData(0.005, "s", "5 ms")]
    [InlineData(1.5e16, "Ω", "15 000 TΩ")]
    [InlineData(1.5e-19, "A", "0.00015 fA")]
    [InlineData(1.5e-8, "", "1.5×10⁻⁸")]
    [InlineData(-1.23456e9, "pH", "−1.235×10⁹ pH")]
    [InlineData(double.NaN, "V", "—")]
    [InlineData(double.PositiveInfinity, "V", "∞ V")]
    [InlineData(double.NegativeInfinity, "V", "−∞ V")]
    public void Format_FourDigits_ReadsAsOnADrawing(double value, string unit, string expected) =>
        Assert.Equal(expected, Plain(Engineering.Format(value, unit)));

    [Fact]
    public void Format_Signed_ShowsThePlus()
    {
        Assert.Equal("+1.5 mV", Plain(Engineering.Format(0.0015, "V", signed: true)));
        Assert.Equal("−1.5 mV", Plain(Engineering.Format(-0.0015, "V", signed: true)));
        Assert.Equal("0 V", Plain(Engineering.Format(0, "V", signed: true)));
    }

    [Theory]
    [InlineData(7, 2, "pH", "7.00 pH")]
    [InlineData(-59.156, 2, "mV", "−59.16 mV")]
    [InlineData(-0.0004, 2, "", "0.00")]
    [InlineData(2.0305, 3, "", "2.031")]
    [InlineData(12_345, 0, "", "12 345")]
    [InlineData(4_095, 0, "", "4095")]
    [InlineData(double.NaN, 2, "V", "—")]
    public void Fixed_KeepsItsDecimals(double value, int decimals, string unit, string expected) =>
        Assert.Equal(expected, Plain(Engineering.Fixed(value, decimals, unit)));

    [Theory]
    [InlineData(0.006, "0.6 %")]
    [InlineData(-1, "−100 %")]
    [InlineData(0.123456, "12.3 %")]
    [InlineData(0.00012345, "0.0123 %")]
    public void Percent_OfARatio_IsAHundredTimesIt(double ratio, string expected) => Assert.Equal(expected, Plain(Engineering.Percent(ratio)));

    [Theory]
    [InlineData(0.4123, 2.0312, "V", "0.412 .. 2.031 V")]
    [InlineData(0.004, 0.02, "A", "4 .. 20 mA")]
    [InlineData(-5, 5, "V", "−5 .. 5 V")]
    [InlineData(0, 0, "V", "0 .. 0 V")]
    public void Range_SharesPrefixAndUnit(double low, double high, string unit, string expected) =>
        Assert.Equal(expected, Plain(Engineering.Range(low, high, unit)));

    [Theory]
    [InlineData(0.005, "5 ms")]
    [InlineData(8, "8 s")]
    [InlineData(600, "10 min")]
    [InlineData(14_400, "4 h")]
    [InlineData(2_592_000, "30 d")]
    public void Duration_UsesTheUnitAPersonWouldSay(double seconds, string expected) => Assert.Equal(expected, Plain(Engineering.Duration(seconds)));

    // Property: what is written, read back with its prefix, is within half a unit of the last of the digits asked for.
    [Fact]
    public void Format_ReadBack_IsWithinHalfOfTheLastDigit() =>
        Gen.Select(Gen.Double[1, 10], Gen.Int[-15, 13], Gen.Bool, Gen.Int[1, 9]).Sample((mantissa, exponent, negative, digits) =>
        {
            double value = (negative ? -1 : 1) * mantissa * Math.Pow(10, exponent);
            double back = Read(Engineering.Format(value, "V", digits));
            // Digits before the point are kept even when fewer significant ones are asked for, so the bound holds for every count of digits.
            return Math.Abs(back - value) <= (0.5 + 1e-6) * Math.Pow(10, exponent + 1 - digits);
        });

    [Fact]
    public void Format_Magnitude_IsBetweenOneAndAThousand() =>
        Gen.Select(Gen.Double[1, 9.99], Gen.Int[-15, 14]).Sample((mantissa, exponent) =>
        {
            string number = Plain(Engineering.Format(mantissa * Math.Pow(10, exponent), "A")).Split(' ')[0];
            double shown = double.Parse(number, CultureInfo.InvariantCulture);
            return shown is >= 1 and < 1000;
        });

    [Theory]
    [InlineData(0)]
    [InlineData(16)]
    public void Format_DigitsOutOfRange_Throws(int digits) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => Engineering.Format(1, "V", digits));

    private static double Read(string text)
    {
        string[] parts = text.Split(Engineering.ThinSpace);
        string unit = parts[^1];
        string number = string.Concat(parts[..^1]).Replace(Engineering.Minus, '-');
        double power = unit.Length == 1 ? 1 : Math.Pow(10, 3 * ("fpnµm kMGT".IndexOf(unit[0], StringComparison.Ordinal) - 5));
        return double.Parse(number, CultureInfo.InvariantCulture) * power;
    }
}
