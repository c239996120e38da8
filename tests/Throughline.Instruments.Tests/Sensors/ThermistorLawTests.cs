using CsCheck;
using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class ThermistorLawTests
{
    private static readonly PublishedTable Curve = PublishedTable.Read("sensors", "sensors-ntc-10k.csv");

    // Makers' four terms of the published curve (Reference Guide Rev. C, November 2014, material type 1), scaled to 10 kΩ.
    private static readonly ThermistorLaw FourTerms =
        ThermistorLaw.FromFourTerms(10e3, 3.3539438e-3, 2.5646095e-4, 2.5158166e-6, 1.0503069e-7);

    private static readonly ThermistorLaw Beta = ThermistorLaw.FromBeta(10e3, 25, 3977);

    private static readonly ThermistorLaw SteinhartHart =
        ThermistorLaw.ThroughThreePoints((0, 32640), (50, 3601), (100, 678.1));

    [Fact]
    public void Celsius_OfEveryPublishedResistance_HasTheTabulatedError()
    {
        Assert.Equal(36, Curve.Rows.Length);
        Assert.All(Curve.Rows, row =>
        {
            double celsius = row.Number("temperature_C"), ohms = row.Number("resistance_ohm_R25_10k");
            Assert.Equal(row.Number("err_maker_4term_C"), FourTerms.Celsius(ohms) - celsius, row.HalfDigit("err_maker_4term_C"));
            Assert.Equal(row.Number("err_beta3977_C"), Beta.Celsius(ohms) - celsius, row.HalfDigit("err_beta3977_C"));
            Assert.Equal(row.Number("err_steinhart_hart_0_50_100_C"), SteinhartHart.Celsius(ohms) - celsius, row.HalfDigit("err_steinhart_hart_0_50_100_C"));
        });
    }

    [Fact] // The maker's curve itself: printed to four digits. Its four terms return every printed point within 0.014 °C, which is 0.09 % of the
           // resistance where the curve is steepest (−6.6 %/K at −40 °C)
    public void Ohms_OfFourTerms_MatchPublishedRatios() => Assert.All(Curve.Rows, row =>
        Assert.Equal(1, FourTerms.Ohms(row.Number("temperature_C")) / row.Number("resistance_ohm_R25_10k"), 0.001));

    [Fact] // The maker's second form, ln(R/R25) = A + B/T + C/T² + D/T³, as tabulated
    public void Ohms_OfFourTerms_MatchTheOtherForm() => Assert.All(Curve.Rows, row =>
        Assert.Equal(1, FourTerms.Ohms(row.Number("temperature_C")) / 10e3 / row.Number("ratio_from_maker_equation"), 0.001));

    [Fact] // Coefficients worked out independently, to ten digits
    public void ThroughThreePoints_GivesTheCoefficients()
    {
        ThermistorLaw published = ThermistorLaw.FromSteinhartHart(1.130562992e-3, 2.338798552e-4, 8.875748473e-8);
        Assert.All(new[] { -40.0, 0, 25, 60, 125 }, t => Assert.Equal(t, SteinhartHart.Celsius(published.Ohms(t)), 1e-5));
    }

    [Fact] // B from 25 to 85 °C of the published table: 3977.5 K
    public void Beta_FromTwoPoints_IsTheTabulatedOne() => Assert.Equal(
        3977.5, Math.Log(10000.0 / 1070) / (1 / 298.15 - 1 / 358.15), 0.05);

    [Fact] // Property: Newton's method on the polynomial; the curve is at least 1 %/K steep, so 1e-9 °C is far above a double's rounding
    public void Celsius_OfOhms_IsTheTemperature() => Gen.Select(Gen.Double[-60, 200], Gen.Int[0, 2])
        .Sample((t, index) => new[] { FourTerms, Beta, SteinhartHart }[index] is var law && Math.Abs(law.Celsius(law.Ohms(t)) - t) <= 1e-9 * Math.Max(1, Math.Abs(t)));

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    public void Celsius_OfNoResistance_IsNaN(double ohms) => Assert.Equal(double.NaN, Beta.Celsius(ohms));

    [Fact]
    public void Ohms_AtAbsoluteZero_IsNaN() => Assert.Equal(double.NaN, FourTerms.Ohms(-273.15));

    [Fact]
    public void ThroughThreePoints_WithOnePointTwice_Throws() =>
        Assert.Throws<ArgumentException>(() => ThermistorLaw.ThroughThreePoints((0, 32640), (0, 32640), (100, 678.1)));
}
