using System.Text.Json;
using CsCheck;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Quantities;

public class ESeriesTests
{
    [Fact] // Fact: IEC 60063:2015, the lists of data/parts/parts-e-series.json
    public void Values_EverySeries_AreThoseOfIec60063()
    {
        using JsonDocument published = JsonDocument.Parse(File.ReadAllText(Repository.PathOf("data", "parts", "parts-e-series.json")));
        foreach (int series in ESeries.All)
        {
            int[] listed = [.. published.RootElement.GetProperty("series").GetProperty($"E{series}").EnumerateArray().Select(v => v.GetInt32())];
            Assert.Equal(series, listed.Length);
            Assert.Equal(listed, ESeries.Values(series));
        }
    }

    [Theory] // Common practice, no source
    [InlineData(5000, 24, 5100)]
    [InlineData(5000, 96, 4990)]
    [InlineData(97, 12, 100)]
    [InlineData(1e-7, 3, 1e-7)]
    [InlineData(0.98, 192, 0.976)]
    public void Nearest_OfAValue_IsTheNearestByRatio(double value, int series, double expected) =>
        Assert.Equal(expected, ESeries.Nearest(value, series), expected * 1e-12);

    [Fact] // Property: no value of the series, in any decade, is nearer
    public void Nearest_AnyValue_HasNoNearerOne() =>
        Gen.Select(Gen.Double[-12, 9], Gen.Int[0, 6].Select(i => ESeries.All[i])).Sample((exponent, series) =>
        {
            double value = Math.Pow(10, exponent);
            double nearest = ESeries.Nearest(value, series);
            double distance = Math.Abs(Math.Log(nearest / value));
            int decade = (int)Math.Floor(exponent) - (series <= 24 ? 1 : 2);
            return Enumerable.Range(decade - 1, 3).All(d => ESeries.Values(series).All(m =>
                Math.Abs(Math.Log(m * Math.Pow(10, d) / value)) >= distance - 1e-12));
        });

    [Theory]
    [InlineData(0.0)]
    [InlineData(-1.0)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void Nearest_NoValueOfAPart_Throws(double value) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => ESeries.Nearest(value, 24));

    [Theory] // Fact: IEC 60063 as in parts-e-series.json, nominal_tolerance
    [InlineData(0.3, 3)]
    [InlineData(0.2, 6)]
    [InlineData(0.1, 12)]
    [InlineData(0.05, 24)]
    [InlineData(0.02, 48)]
    [InlineData(0.01, 96)]
    [InlineData(0.001, 192)]
    public void ForTolerance_OfAPart_IsItsSeries(double tolerance, int series) =>
        Assert.Equal(series, ESeries.ForTolerance(tolerance));
}
