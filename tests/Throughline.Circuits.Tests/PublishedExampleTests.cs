using System.Globalization;
using System.Text.RegularExpressions;
using Xunit;

namespace Throughline.Circuits.Tests;

/// <summary>
/// Every row of groups A to E, G and H of data/circuits/answers.csv: solved as a network; rows that are none are listed with the reason. Sources
/// stand in the table's last column. Values are compared to the table's 12 digits within its suggested tolerance; where the
/// table holds a printed figure too, the result must also round to that, but for the errata below.
/// </summary>
public sealed partial class PublishedExampleTests
{
    /// <summary>Printed figures that the recomputed value does not round to, with the table's own reason.</summary>
    private static readonly Dictionary<string, string> Errata = new()
    {
        ["A10: V(out)"] = "the book ignores the loading of the output resistance by R2: 3 ppm",
        ["A10: output resistance"] = "the book ignores the loading of the output resistance by R2: 0.05 %",
        ["A19: V(out) no compensation, In=IB=80 nA [In=80e-9 Ip=0]"] = "the book rounds 176.0 mV to 175 mV",
        ["C2: V(diode) [Vs=5 R=1k Is=1e-10 nVT=0.1/ln10]"] = "the book stops after two iterations at 0.762 V",
        ["C9: VCE(sat) forced beta=1 [bF=50 bR=0.1 VT=25mV]"] = "76.6 mV, truncated in the table remembered",
        ["C11: load regulation"] = "the book takes the zener's resistance alone, as it says itself",
        ["C11: change with RL=2k"] = "the book takes the zener's resistance alone, as it says itself",
        ["D5: f0"] = "the design's, before its parts were rounded",
        ["D7: f0 (rounded values)"] = "the design's, before its parts were rounded",
        ["D11: settle to 1/4 LSB of 12 bits, tau=120 ns"] = "the source rounds ln 16384 to 9.7037",
        ["E1: thermal noise density of 10000 ohm at 298.15 K"] = "printed in nV",
        ["E4: SNR for 0.5 V peak input"] = "the book cuts 73.25 dB",
        ["B2: worst-corner Ro 0.1% exact [R1+ R2- R3- R4+]"] = "3.75 MΩ by the rule, first order and without sign",
    };

    public static TheoryData<string> Rows => [.. ReferenceTables.Answers.Where(static row => row.Example[0] is >= 'A' and <= 'E' or 'G' or 'H' && ExampleNetworks.IsNetwork(row)).Select(static row => row.Key).Distinct()];

    [Theory]
    [MemberData(nameof(Rows))]
    public void Answer_OfExample_MatchesTheTable(string key)
    {
        AnswerRow row = ReferenceTables.Answer(key);
        double actual = ExampleNetworks.Compute(row);
        double tolerance = ExampleNetworks.Tolerance(row);
        // Half a unit of the twelfth digit is what the table itself leaves open.
        Assert.Equal(row.Value, actual, (tolerance * Math.Abs(row.Value)) + (5e-13 * Math.Abs(row.Value)) + 1e-18);
        if (Errata.ContainsKey(key) || PrintedFigure().Match(row.Published) is not { Success: true } match)
            return;
        double printed = ReferenceTables.Number(match.Value);
        Assert.True(RoundsTo(Math.Abs(actual), match.Value, Math.Abs(printed)), $"{actual} does not round to {row.Published} {row.Unit}");
    }

    [Fact]
    public void NotNetworks_NameRowsOfTheTable() => Assert.All(
        ExampleNetworks.NotNetworks.Keys, static key => Assert.Contains(ReferenceTables.Answers, row => row.Key.StartsWith(key, StringComparison.Ordinal)));

    [Fact]
    public void Errata_AreFiguresThatDoNotRound() => Assert.All(Errata.Keys, static key =>
    {
        AnswerRow row = ReferenceTables.Answer(key);
        if (PrintedFigure().IsMatch(row.Published))
            Assert.False(RoundsTo(Math.Abs(row.Value), row.Published, Math.Abs(ReferenceTables.Number(row.Published))), key);
    });

    // Only plain numbers in the row's own unit; sentences and figures with a prefix are for people.
    [GeneratedRegex(@"^[-+]?\d+(\.\d+)?(e[-+]?\d+)?$")]
    private static partial Regex PrintedFigure();

    private static bool RoundsTo(double actual, string text, double printed)
    {
        string mantissa = text.Split('e')[0];
        int point = mantissa.IndexOf('.', StringComparison.Ordinal);
        int exponent = text.Contains('e', StringComparison.Ordinal) ? int.Parse(text.Split('e')[1], CultureInfo.InvariantCulture) : 0;
        int decimals = point < 0 ? 0 : mantissa.Length - point - 1;
        double unit = Math.Pow(10, exponent - decimals);
        // 0.51: half a unit of the last printed digit, and the representation error of the two numbers.
        return Math.Abs(actual - printed) <= 0.51 * unit;
    }
}
