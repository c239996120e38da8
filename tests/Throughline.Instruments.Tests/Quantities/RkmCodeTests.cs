using System.Text.Json;
using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Quantities;

public class RkmCodeTests
{
    /// <summary>Writings that some use and that are not taken, since they mean something else elsewhere: E is an exponent, 000 a number, N, U and P are no
    /// prefixes, and 10nF is everyday writing for 10 nF rather than 10 nF at 1 %.</summary>
    private static readonly string[] NotTaken = ["0E1", "000", "100N", "4U7", "22P"];

    [Fact] // Fact: IEC 60062:2016 + A1:2019, codes and values of data/parts/parts-rkm-codes.csv
    public void Parse_CodesOfIec60062_GiveTheirValues()
    {
        int read = 0;
        foreach (PublishedRow row in PublishedTable.Read("parts", "parts-rkm-codes.csv").Rows)
        {
            string code = row["code"];
            bool isCapacitor = row["kind"] == "C";
            if (NotTaken.Contains(code))
            {
                Assert.Null(Parse(code, isCapacitor));
                continue;
            }

            ParsedQuantity? parsed = Parse(code, isCapacitor);
            Assert.True(parsed is { Problem: null } || (code == "0R" && parsed is not null), code);
            Assert.Equal(row.Number("value"), parsed.Value);
            if (code == "10nF")
            {
                Assert.Equal(parsed.Value, parsed.High);
                continue;
            }

            double below = row["tol_minus_pct"].Length == 0 ? 0 : row.Number("tol_minus_pct") / 100;
            double above = row["tol_plus_pct"].Length == 0 ? 0 : row.Number("tol_plus_pct") / 100;

            // Sums of a value and a share of it are rounded once or twice.
            Assert.Equal(parsed.Value * (1 + below), parsed.Low, parsed.Value * 1e-15);
            Assert.Equal(parsed.Value * (1 + above), parsed.High, parsed.Value * 1e-15);
            read++;
        }

        Assert.True(read > 80);
    }

    [Fact] // Fact: tolerance letters of IEC 60062, data/parts/parts-letter-codes.json
    public void Parse_ToleranceLetters_GiveTheirTolerances()
    {
        using JsonDocument letters = JsonDocument.Parse(File.ReadAllText(Repository.PathOf("data", "parts", "parts-letter-codes.json")));
        foreach (JsonProperty letter in letters.RootElement.GetProperty("tolerance_symmetric_pct").EnumerateObject())
        {
            ParsedQuantity parsed = Parse("1R0" + letter.Name, false)!;
            Assert.Equal(1 + (letter.Value.GetDouble() / 100), parsed.High, 1e-15);
            Assert.Equal(1 - (letter.Value.GetDouble() / 100), parsed.Low, 1e-15);
        }

        foreach (JsonProperty letter in letters.RootElement.GetProperty("tolerance_asymmetric_pct").EnumerateObject())
        {
            ParsedQuantity parsed = Parse("1µ0" + letter.Name, true)!;
            Assert.Equal(1e-6 * (1 + (letter.Value[0].GetDouble() / 100)), parsed.Low, 1e-20);
            Assert.Equal(1e-6 * (1 + (letter.Value[1].GetDouble() / 100)), parsed.High, 1e-20);
        }
    }

    [Fact] // Fact: data/parts/parts-letter-codes.json lists 100M as refused for a capacitor
    public void Parse_HundredM_IsAResistanceOnly()
    {
        Assert.Equal(100e6, Parse("100M", false)!.Value);
        Assert.Null(Parse("100M", true));
    }

    private static ParsedQuantity? Parse(string code, bool isCapacitor) =>
        QuantityParser.Parse(code, QuantityForm.Of(isCapacitor ? UnitSets.Capacitance : UnitSets.Resistance).WithDrift());
}
