using CsCheck;
using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class ThermocoupleTests
{
    private static Thermocouple Type(PublishedRow row) => Thermocouple.ByType[row["type"][0]];

    private static ThermocoupleInverse Piece(PublishedRow row, string low, string high) => Type(row).Inverses.Single(
        piece => Math.Abs(piece.LowVolts * 1000 - row.Number(low)) < 1e-9 && Math.Abs(piece.HighVolts * 1000 - row.Number(high)) < 1e-9);

    [Fact] // NIST Monograph 175 / IEC 60584-1, printed to 0.001 mV, and the polynomial's value worked out independently to 1 nV
    public void Emf_AtEveryCheckPoint_MatchesTable()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-checkpoints.csv");
        Assert.Equal(133, table.Rows.Length);
        Assert.Equal(8, table.Rows.Select(r => r["type"]).Distinct().Count());
        Assert.All(table.Rows, row =>
        {
            double millivolts = 1000 * Type(row).Emf(row.Number("temperature_C"));
            Assert.Equal(row.Number("emf_mV"), millivolts, row.HalfDigit("emf_mV"));
            Assert.Equal(row.Number("emf_polynomial_mV"), millivolts, row.HalfDigit("emf_polynomial_mV"));
        });
    }

    [Fact] // The published inverse polynomials: value worked out independently to 0.0001 °C. The emf is given to 1 nV, which is up to 0.0003 °C at R and S near 0 °C
    public void InversePolynomial_AtEveryPoint_MatchesTable()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-inverse-check.csv");
        Assert.Equal(138, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            Thermocouple type = Type(row);
            double celsius = row.Number("temperature_true_C");
            double digit = 0.5e-9 / type.Sensitivity(celsius);
            double inverse = Piece(row, "inverse_range_low_mV", "inverse_range_high_mV").Celsius(type.Emf(celsius));
            Assert.Equal(row.Number("temperature_inverse_poly_C"), inverse, row.HalfDigit("temperature_inverse_poly_C") + 2 * digit);

            // The piece that the program takes may be the other one at a joint or an overlap: both stay within their stated errors, at most 0.06 °C.
            Assert.Equal(inverse, type.InversePolynomial(type.Emf(celsius)), 0.06);
        });
    }

    [Fact] // The stated emf gives the stated temperature back: half a digit of 1 nV
    public void Celsius_OfEveryTabulatedEmf_IsTheTemperature()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-inverse-check.csv");
        Assert.All(table.Rows, row =>
        {
            Thermocouple type = Type(row);
            double celsius = row.Number("temperature_true_C");
            double half = row.HalfDigit("emf_mV") / 1000;

            // At the ends the rounded emf may lie beyond the range; the temperature is looked for at the emf that is inside.
            double emf = Math.Clamp(row.Number("emf_mV") / 1000, type.Emf(type.LowestInvertible), type.Emf(type.HighestCelsius));
            Assert.Equal(celsius, type.Celsius(emf), 1.01 * half / type.Sensitivity(celsius));
        });
    }

    [Fact] // Stated errors are rounded; the extremes found by scanning are in the table to 0.0001 °C
    public void InversePolynomial_OverEveryRange_StaysWithinItsError()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-inverse-ranges.csv");
        Assert.Equal(23, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            Thermocouple type = Type(row);
            ThermocoupleInverse piece = Piece(row, "emf_low_mV", "emf_high_mV");
            double low = row.Number("t_low_C"), high = row.Number("t_high_C");
            double least = 0, greatest = 0;
            for (int i = 0; i <= 4000; i++)
            {
                double celsius = low + (high - low) * i / 4000;
                double error = piece.Celsius(type.Emf(celsius)) - celsius;
                (least, greatest) = (Math.Min(least, error), Math.Max(greatest, error));
            }

            // Half a digit for the print and as much for another scan.
            Assert.Equal(row.Number("computed_error_low_C"), least, 1e-4);
            Assert.Equal(row.Number("computed_error_high_C"), greatest, 1e-4);
            Assert.Equal(row.Number("degree"), piece.Degree);

            // What is stated is rounded: the table's own extremes exceed it by up to 0.0033 °C.
            Assert.InRange(least, row.Number("stated_error_low_C") - 0.0034, 0);
            Assert.InRange(greatest, 0, row.Number("stated_error_high_C") + 0.0034);
        });
    }

    [Fact] // Cold-junction cases worked independently: emf is added, temperatures are not
    public void ColdJunction_EveryCase_MatchesTable()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-cjc-check.csv");
        Assert.Equal(76, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            Thermocouple type = Type(row);
            double hot = row.Number("t_hot_C"), cold = row.Number("t_cold_C");
            double terminals = type.Emf(hot) - type.Emf(cold);
            Assert.Equal(row.Number("terminal_emf_mV"), 1000 * terminals, row.HalfDigit("terminal_emf_mV"));
            Assert.Equal(row.Number("cold_junction_emf_mV"), 1000 * type.Emf(cold), row.HalfDigit("cold_junction_emf_mV"));
            Assert.Equal(row.Number("t_correct_C"), type.Celsius(terminals + type.Emf(cold)), 1e-6);
            Assert.Equal(row.Number("t_no_compensation_C"), type.Celsius(terminals), row.HalfDigit("t_no_compensation_C"));
            Assert.Equal(row.Number("error_no_compensation_C"), type.Celsius(terminals) - hot, row.HalfDigit("error_no_compensation_C"));
            Assert.Equal(row.Number("t_temperatures_added_C"), type.Celsius(terminals) + cold, row.HalfDigit("t_temperatures_added_C"));
            Assert.Equal(row.Number("error_temperatures_added_C"), type.Celsius(terminals) + cold - hot, row.HalfDigit("error_temperatures_added_C"));
        });
    }

    [Fact] // NIST Monograph 175: 4.096 mV at 100 °C, printed to 0.001 mV
    public void Emf_OfTypeKAt100_IsThePrintedValue() => Assert.Equal(4.096, 1000 * Thermocouple.ByType['K'].Emf(100), 0.0005);

    [Fact] // Property: the function is solved, not only approximated. Near the cold end of E, K, N and T the slope falls to 1 µV/K and below, where a
           // double's rounding of the polynomial is worth some 1e-9 °C
    public void Celsius_OfEmf_IsTheTemperature() => Gen.Select(Gen.Int[0, 7], Gen.Double[0, 1]).Sample((index, part) =>
    {
        Thermocouple type = Thermocouple.ByType["BEJKNRST"[index]];
        double t = type.LowestInvertible + part * (type.HighestCelsius - type.LowestInvertible);
        return Math.Abs(type.Celsius(type.Emf(t)) - t) <= (t < -200 ? 1e-6 : 1e-9 * Math.Max(1, Math.Abs(t)));
    });

    [Fact] // Property: the ends of the range belong to it
    public void Celsius_OfTheEmfOfEitherEnd_IsThatEnd() => Assert.All(Thermocouple.ByType.Values, type =>
    {
        Assert.Equal(type.LowestInvertible, type.Celsius(type.Emf(type.LowestInvertible)), 1e-3);
        Assert.Equal(type.HighestCelsius, type.Celsius(type.Emf(type.HighestCelsius)), 1e-6);
    });

    [Fact] // Property: a temperature so near to an end that rounding puts its emf beyond that of the end is still told
    public void Celsius_OfTheEmfBesideEitherEnd_IsTheTemperature() => Assert.All(Thermocouple.ByType.Values, type =>
    {
        for (int i = 0; i < 2000; i++)
        {
            double low = type.LowestInvertible + (i * 5.7e-14), high = type.HighestCelsius - (i * 2.3e-13);
            Assert.Equal(low, type.Celsius(type.Emf(low)), 1e-6);
            Assert.Equal(high, type.Celsius(type.Emf(high)), 1e-6);
        }
    });

    [Fact] // Below 42 °C the emf of type B falls to −2.6 µV at 21 °C and comes back: no temperature follows from it
    public void Celsius_OfTypeBBelowItsZero_IsNaN()
    {
        Thermocouple b = Thermocouple.ByType['B'];
        Assert.Equal(-2.58e-6, b.Emf(21.0), 5e-9);
        Assert.Equal(double.NaN, b.Celsius(b.Emf(21)));
        Assert.Equal(double.NaN, b.Celsius(0));
        Assert.Equal(50, b.Celsius(b.Emf(50)), 1e-8);
    }

    [Fact]
    public void Emf_OutsideTheRange_IsNaN() => Assert.All(Thermocouple.ByType.Values, type =>
    {
        Assert.Equal(double.NaN, type.Emf(type.LowestCelsius - 0.001));
        Assert.Equal(double.NaN, type.Emf(type.HighestCelsius + 0.001));
        Assert.Equal(double.NaN, type.Sensitivity(double.NaN));
        Assert.Equal(double.NaN, type.Celsius(type.Emf(type.HighestCelsius) + 1e-6));
        Assert.Equal(double.NaN, type.Celsius(double.NaN));
    });

    [Theory] // NIST functions, differentiated independently, printed to 0.01 µV/K
    [InlineData('E', 25, 60.95)]
    [InlineData('J', 25, 51.75)]
    [InlineData('T', 25, 40.68)]
    [InlineData('K', 25, 40.52)]
    [InlineData('N', 25, 26.78)]
    [InlineData('S', 25, 5.99)]
    [InlineData('K', 1000, 38.98)]
    [InlineData('R', 1000, 13.23)]
    [InlineData('S', 1000, 11.54)]
    [InlineData('B', 1000, 9.12)]
    public void Sensitivity_AtKnownPoint_MatchesTable(char type, double celsius, double microvoltPerKelvin) =>
        Assert.Equal(microvoltPerKelvin, 1e6 * Thermocouple.ByType[type].Sensitivity(celsius), 0.00501);

    [Fact] // Every coefficient has been read: the embedded table against a count by hand of the published one
    public void Coefficients_AreAllUsed()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-coefficients.csv");
        Assert.Equal(352, table.Rows.Length);
        Assert.All(table.Rows.GroupBy(r => r["type"]), rows =>
        {
            Thermocouple type = Thermocouple.ByType[rows.Key[0]];
            var direct = rows.Where(r => r["direction"] == "direct").ToArray();
            Assert.Equal(direct.Min(r => r.Number("range_low")), type.LowestCelsius);
            Assert.Equal(direct.Max(r => r.Number("range_high")), type.HighestCelsius);
        });
    }

    [Fact] // IEC 60584-1 tolerance classes: the greater of the two, checked at both ends and inside every segment of the table
    public void Tolerance_InEverySegment_MatchesTable()
    {
        PublishedTable table = PublishedTable.Read("sensors", "sensors-tc-tolerance.csv");
        Assert.Equal(39, table.Rows.Length);
        Assert.All(table.Rows, row =>
        {
            char type = row["type"][0];
            int toleranceClass = (int)row.Number("class");
            double low = row.Number("t_low_C"), high = row.Number("t_high_C");
            foreach (double part in new[] { 0, 0.25, 0.5, 0.75, 1 })
            {
                double celsius = low + part * (high - low);
                double expected = !double.IsNaN(row.Number("fixed_C"))
                    ? row.Number("fixed_C")
                    : row["formula_C"].Contains("1100", StringComparison.Ordinal) ? 1 + 0.003 * (celsius - 1100) : row.Number("relative_of_t") * Math.Abs(celsius);

                // The table's joints (333, 133, −167 and −67 °C) are rounded to whole degrees, where the two branches differ by up to 0.005 K.
                Assert.Equal(expected, ThermocoupleTolerance.At(type, toleranceClass, celsius), part is 0 or 1 ? 0.0051 : 1e-12);
            }
        });
    }

    [Theory]
    [InlineData('B', 1, 1000)]
    [InlineData('J', 3, 0)]
    [InlineData('K', 1, 1001)]
    [InlineData('T', 2, -41)]
    public void Tolerance_OutsideTheClass_IsNaN(char type, int toleranceClass, double celsius) =>
        Assert.Equal(double.NaN, ThermocoupleTolerance.At(type, toleranceClass, celsius));
}
