using CsCheck;
using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class PlatinumResistanceTests
{
    private static readonly PublishedTable Points = PublishedTable.Read("sensors", "sensors-rtd-pt100.csv");

    [Fact] // IEC 60751:2008 function, a maker's reference table printed to 0.01 Ω
    public void Ratio_AtEveryTablePoint_MatchesIec60751()
    {
        Assert.Equal(22, Points.Rows.Length);
        Assert.All(Points.Rows, row =>
        {
            double ohms = 100 * PlatinumResistance.Ratio(row.Number("temperature_C"));
            Assert.Equal(row.Number("resistance_published_ohm"), ohms, row.HalfDigit("resistance_published_ohm"));
            Assert.Equal(row.Number("resistance_ohm"), ohms, row.HalfDigit("resistance_ohm"));
        });
    }

    [Fact]
    public void Sensitivity_AtEveryTablePoint_MatchesTable() => Assert.All(Points.Rows, row =>
        Assert.Equal(row.Number("sensitivity_ohm_per_C"), 100 * PlatinumResistance.Sensitivity(row.Number("temperature_C")), row.HalfDigit("sensitivity_ohm_per_C")));

    [Fact] // The printed resistance carries half a digit, 0.005 Ω, which is at most 0.017 °C at the least sensitivity of the table, 0.2927 Ω/°C
    public void Celsius_OfEveryPublishedResistance_IsTheTemperature() => Assert.All(Points.Rows.Where(r => r.Number("temperature_C") is > -200 and < 850), row =>
        Assert.Equal(row.Number("temperature_C"), PlatinumResistance.Celsius(row.Number("resistance_published_ohm") / 100), 0.0171));

    [Fact] // What skipping the fourth-order term does below 0 °C; the table's values have four decimals
    public void CelsiusByQuadratic_AtEveryTablePoint_MatchesTable() => Assert.All(Points.Rows, row =>
        Assert.Equal(
            row.Number("quadratic_only_inverse_C"),
            PlatinumResistance.CelsiusByQuadratic(PlatinumResistance.Ratio(row.Number("temperature_C"))),
            row.HalfDigit("quadratic_only_inverse_C")));

    [Fact] // Property: the inverse is Newton's on the function itself; 1e-9 °C is 4e-10 Ω on a Pt100, far below a double's error there
    public void Celsius_OfRatio_IsTheTemperature() => Gen.Double[-200, 850].Sample(t =>
        Math.Abs(PlatinumResistance.Celsius(PlatinumResistance.Ratio(t)) - t) <= 1e-9);

    [Theory]
    [InlineData(-200)]
    [InlineData(0)]
    [InlineData(850)]
    public void Celsius_AtTheEnds_IsTheTemperature(double t) => Assert.Equal(t, PlatinumResistance.Celsius(PlatinumResistance.Ratio(t)), 1e-9);

    [Theory]
    [InlineData(-200.001)]
    [InlineData(850.001)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void Ratio_OutsideTheRange_IsNaN(double celsius)
    {
        Assert.Equal(double.NaN, PlatinumResistance.Ratio(celsius));
        Assert.Equal(double.NaN, PlatinumResistance.Sensitivity(celsius));
    }

    [Theory]
    [InlineData(0.1851)]
    [InlineData(3.905)]
    [InlineData(double.NaN)]
    public void Celsius_OutsideTheRange_IsNaN(double ratio) => Assert.Equal(double.NaN, PlatinumResistance.Celsius(ratio));

    [Fact] // IEC 60751:2008 table 3 as restated by several makers; columns of wire-wound elements, empty outside the class
    public void Tolerance_AtEveryTablePoint_MatchesClass() => Assert.All(Points.Rows, row =>
    {
        foreach (PlatinumClass c in PlatinumClass.All)
        {
            double celsius = row.Number("temperature_C");
            double printed = row.Number("tol_" + c.Name + "_C");
            Assert.Equal(!double.IsNaN(printed), c.HoldsForWire(celsius));
            if (!double.IsNaN(printed))
            {
                Assert.Equal(printed, c.Tolerance(celsius), row.HalfDigit("tol_" + c.Name + "_C"));
            }
        }
    });

    [Fact]
    public void Classes_MatchTable()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-rtd-tolerance.csv");
        Assert.Equal(table.Rows.Length, PlatinumClass.All.Count);
        Assert.All(table.Rows, row =>
        {
            PlatinumClass c = PlatinumClass.Named(row["class"])!;
            Assert.Equal(
                (row.Number("a_C"), row.Number("b_per_C"), row.Number("wirewound_low_C"), row.Number("wirewound_high_C"), row.Number("film_low_C"), row.Number("film_high_C")),
                (c.Constant, c.PerKelvin, c.WireLow, c.WireHigh, c.FilmLow, c.FilmHigh));
            Assert.True(c.HoldsForFilm(c.FilmLow) && !c.HoldsForFilm(c.FilmHigh + 1));
        });
    }

    [Fact] // Lead errors worked from Ohm's law with copper of 0.0175 Ω mm²/m (common practice)
    public void Leads_EveryWorkedCase_GivesTheTabulatedError()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-rtd-leads.csv");
        Assert.Equal(20, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            double celsius = row.Number("temperature_C"), ohms = 100 * PlatinumResistance.Ratio(celsius);
            double error = LeadError(row["case"], ohms);
            Assert.Equal(row.Number("sensor_ohm"), ohms, row.HalfDigit("sensor_ohm"));
            Assert.Equal(row.Number("resistance_error_ohm"), error, row.HalfDigit("resistance_error_ohm"));

            // The table divides the error by the slope at the temperature; reading the curve back differs by its curvature, t″ ΔR²/2, at most 0.08 °C for 7 Ω.
            double slope = 100 * PlatinumResistance.Sensitivity(celsius);
            double readBack = PlatinumResistance.Celsius((ohms + error) / 100) - celsius;
            double curvature = 100 * -PlatinumResistance.B * Math.Pow(error / slope, 2) / slope;
            double printed = row.Number("temperature_error_C");
            Assert.True(
                Math.Abs(printed - error / slope) <= row.HalfDigit("temperature_error_C") || Math.Abs(printed - readBack) <= row.HalfDigit("temperature_error_C"),
                $"printed {printed}, by the slope {error / slope}, read back {readBack}");
            Assert.Equal(error / slope, readBack, Math.Abs(curvature) * 1.1 + 1e-9);
        });

        static double LeadError(string name, double ohms)
        {
            double core = CopperWire.Resistance(100, 0.5);
            return name switch
            {
                "2-wire 10 m 0.22 mm2" => 2 * CopperWire.Resistance(10, 0.22),
                "2-wire 10 m 0.5 mm2" => 2 * CopperWire.Resistance(10, 0.5),
                "2-wire 100 m 0.5 mm2" => 2 * core,
                "2-wire 100 m 1.5 mm2" => 2 * CopperWire.Resistance(100, 1.5),
                "2-wire 100 m 0.5 mm2 cable +20 C after nulling" => 2 * core * CopperWire.CoefficientAt20 * 20,
                "3-wire 100 m 0.5 mm2 conductor mismatch 1%" => core * 0.01,
                "3-wire 100 m 0.5 mm2 conductor mismatch 5%" => core * 0.05,
                "3-wire two currents mismatched 0.2%, high-side reference" => core * 0.002,
                // The reference carries the sum of both currents: I and I(1 + m) read as 2 I, to first order −m/2 of the resistance.
                "3-wire two currents mismatched 0.2%, low-side reference" => ohms * (1 / (1 + 0.002 / 2) - 1),
                "3-wire two currents mismatched 1%, low-side reference" => ohms * (1 / (1 + 0.01 / 2) - 1),
                "0.1 ohm contact resistance in one 2-wire terminal" => 0.1,
                "4-wire 100 m 0.5 mm2, 1 Gohm input" => ohms * -ElectrodeInput.LoadingError(2 * core, 1e9),
                _ => throw new ArgumentOutOfRangeException(nameof(name), name, "Not in the table."),
            };
        }
    }

    [Fact] // I² R Rth, worked; R at 0 °C
    public void SelfHeating_EveryWorkedCase_GivesTheTabulatedError()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-rtd-selfheating.csv");
        Assert.Equal(48, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            double amperes = row.Number("current_mA") / 1000, ohms = row.Number("R0_ohm");
            Assert.Equal(row.Number("error_C"), SelfHeating.Rise(amperes, ohms, row.Number("thermal_resistance_K_per_W")), row.HalfDigit("error_C"));
            Assert.Equal(row.Number("power_mW_at_0C"), 1000 * SelfHeating.Rise(amperes, ohms, 1), 1e-9);
        });
    }
}
