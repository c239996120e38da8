using Throughline.Instruments.Physics;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Sensors;

public class NernstTests
{
    private static readonly PublishedTable Slopes = PublishedTable.Read("electrochemistry", "electrochemistry-nernst.csv");

    [Fact] // k(T) = ln 10 R T / F with the exact SI constants, worked out independently to five decimals
    public void Slope_AtTablePoint_MatchesComputedValue()
    {
        Assert.Equal(13, Slopes.Rows.Length);
        Assert.All(Slopes.Rows, row =>
        {
            double celsius = row.Number("temperature_C");
            double slope = Nernst.Slope(celsius) * 1000;
            Assert.Equal(row.Number("slope_mV_per_pH"), slope, row.HalfDigit("slope_mV_per_pH"));
            Assert.Equal(row.Number("slope_divalent_mV_per_decade"), slope / 2, row.HalfDigit("slope_divalent_mV_per_decade"));
            Assert.Equal(row.Number("percent_of_25C_slope"), 100 * slope / (1000 * Nernst.Slope(25)), row.HalfDigit("percent_of_25C_slope"));
            Assert.Equal(row.Number("span_7pH_mV"), 7 * slope, row.HalfDigit("span_7pH_mV"));
        });
    }

    [Fact] // Data sheets and manuals named in the table; 59.15 is cut off instead of rounded, hence a whole digit there
    public void Slope_AtPublishedPoint_MatchesPrint()
    {
        var printed = Slopes.Rows.Where(r => r["published_value_mV_per_pH"].Length > 0).ToArray();
        Assert.Equal(3, printed.Length);
        Assert.All(printed, row =>
        {
            foreach (string text in row["published_value_mV_per_pH"].Split(" / "))
            {
                double value = double.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
                Assert.Equal(value, 1000 * Nernst.Slope(row.Number("temperature_C")), text == "59.15" ? 0.01 : 0.00501);
            }
        });
    }

    [Theory]
    [InlineData(-273.15)]
    [InlineData(-300)]
    [InlineData(double.NaN)]
    public void Slope_AtOrBelowAbsoluteZero_IsNaN(double celsius) => Assert.Equal(double.NaN, Nernst.Slope(celsius));
}
