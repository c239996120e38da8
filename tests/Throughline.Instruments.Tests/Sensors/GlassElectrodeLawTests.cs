using CsCheck;
using Throughline.Instruments.Physics;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class GlassElectrodeLawTests
{
    [Theory] // Data sheet SNOSAI9H and a user guide: 414, 177 and 490 mV, printed to 1 mV and cut off; worked out to 0.0001 mV
    [InlineData(0, 25, 414.1154)]
    [InlineData(14, 25, -414.1154)]
    [InlineData(4, 25, 177.4780)]
    [InlineData(10, 25, -177.4780)]
    [InlineData(0, 80, 490.5077)]
    [InlineData(7, 60, 0)]
    public void Potential_OfTheIdealElectrode_IsPositiveInAcid(double ph, double celsius, double millivolts) =>
        Assert.Equal(millivolts, 1000 * GlassElectrodeLaw.Potential(ph, celsius, 7, 1, 7), 0.00006);

    [Fact] // The definition: at the isopotential point temperature does nothing, at the zero and 25 °C the potential is nothing
    public void Potential_WithZeroAndIsopotentialApart_HoldsBoth()
    {
        Assert.Equal(0, GlassElectrodeLaw.Potential(6.8, 25, 6.8, 0.97, 7.3), 1e-15);
        Assert.Equal(
            GlassElectrodeLaw.Potential(7.3, 5, 6.8, 0.97, 7.3),
            GlassElectrodeLaw.Potential(7.3, 80, 6.8, 0.97, 7.3), 1e-15);
    }

    [Fact] // 0.0101 pH per kelvin at 3 pH from the isopotential point, 0.0235 at 7 pH (worked out from k(T))
    public void Ph_ReadAtTheWrongTemperature_IsOffByTheTabulatedAmount()
    {
        double Error(double ph) => GlassElectrodeLaw.Ph(GlassElectrodeLaw.Potential(ph, 26, 7, 1, 7), 25, 7, 1, 7) - ph;
        Assert.Equal(0.0101, Error(10), 0.00005);
        Assert.Equal(0.0235, Error(14), 0.00005);
        Assert.Equal(0, Error(7), 1e-12);
    }

    [Fact] // A maker's page: 100 MΩ at 28 °C doubling in 7 K is 800 MΩ at 7 °C, 1600 MΩ at 0 °C. A factor of 10 in 25 K is 7.53 K
    public void Resistance_RisesInTheCold()
    {
        double at25 = 100e6 * Math.Pow(2, 3.0 / 7);
        Assert.Equal(100e6, GlassElectrodeLaw.Resistance(at25, 28, 7), 1.0);
        Assert.Equal(800e6, GlassElectrodeLaw.Resistance(at25, 7, 7), 1.0);
        Assert.Equal(1600e6, GlassElectrodeLaw.Resistance(at25, 0, 7), 1.0);
        Assert.Equal(7.53, GlassElectrodeLaw.HalvingInterval(10, 25), 0.005);
    }

    [Fact]
    public void Ph_OfPotential_IsThePh() => Gen.Select(Gen.Double[0, 14], Gen.Double[-5, 130], Gen.Double[6, 8], Gen.Double[0.5, 1.1], Gen.Double[4, 10])
        .Sample((ph, celsius, zero, slope, iso) =>
            Math.Abs(GlassElectrodeLaw.Ph(GlassElectrodeLaw.Potential(ph, celsius, zero, slope, iso), celsius, zero, slope, iso) - ph) < 1e-12 * 14);

    [Fact]
    public void Ph_WithoutSlope_IsNaN() => Assert.Equal(double.NaN, GlassElectrodeLaw.Ph(0.1, 25, 7, 0, 7));

    [Theory] // Ideal slopes at 25 °C: 59.16 and 29.58 mV per decade (an electrode manual), printed to 0.01 mV
    [InlineData(1, 59.16)]
    [InlineData(-1, -59.16)]
    [InlineData(2, 29.58)]
    [InlineData(-2, -29.58)]
    public void IonSelective_PerDecade_HasTheIdealSlope(int charge, double millivolts) => Assert.Equal(
        millivolts,
        1000 * (IonSelectiveLaw.Potential(10, 25, charge, 1, 0.05) - IonSelectiveLaw.Potential(1, 25, charge, 1, 0.05)), 0.005);

    [Theory] // 1 mV is 4.0 % of the concentration for one charge and 8.1 % for two (worked out)
    [InlineData(1, 0.040)]
    [InlineData(2, 0.081)]
    public void IonSelective_PerMillivolt_HasTheTabulatedError(int charge, double relative) => Assert.Equal(
        relative, IonSelectiveLaw.Concentration(0.001, 25, charge, 1, 0) - 1, 0.0006);

    [Fact] // At the detection limit both lines cross: the potential is log10(2) of a decade above the level part
    public void IonSelective_AtTheDetectionLimit_LevelsOff()
    {
        double level = IonSelectiveLaw.Potential(0, 25, 1, 1, 0, 1, 1e-3), atLimit = IonSelectiveLaw.Potential(1e-3, 25, 1, 1, 0, 1, 1e-3);
        Assert.Equal(Math.Log10(2) * Nernst.Slope(25), atLimit - level, 1e-12);
        Assert.Equal(double.NaN, IonSelectiveLaw.Potential(0, 25, 1, 1, 0));
    }
}
