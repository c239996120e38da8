using System.Text.Json;
using System.Text.RegularExpressions;
using Throughline.Testing;
using Xunit;

namespace Throughline.Acceptance;

/// <summary>Every command on an instrument whose output is a voltage: it says volts, and the figures are those of the others.</summary>
public sealed partial class VoltageOutputTests
{
    private static readonly string Duct = Repository.PathOf("demo", "duct-temperature", "instrument.yaml");

    private static Invocation Run(params string[] words) => Invocation.OfWords(words, Engine.Default);

    [Theory]
    [InlineData("readings")]
    [InlineData("budget")]
    [InlineData("response")]
    [InlineData("faults")]
    [InlineData("batch", "--units", "1024")]
    [InlineData("firmware")]
    public void Text_OfAVoltage_SaysNoCurrent(string command, params string[] more)
    {
        Invocation invocation = Run([command, Duct, .. more]);
        Assert.Equal((0, ""), (invocation.Code, invocation.Error));
        string text = Demo.Plain(invocation.Output);
        Assert.DoesNotMatch(LoopWord(), text);
        Assert.DoesNotMatch(CurrentWord(), text);
        Assert.Contains("output", text, StringComparison.Ordinal);
    }

    [Theory] // Of a short circuit and of amplifiers currents are said
    [InlineData("check")]
    [InlineData("supplies")]
    [InlineData("batch", "--unit", "3")]
    public void Text_OfAVoltage_SaysNoLoop(string command, params string[] more) => Assert.DoesNotMatch(LoopWord(), Demo.Plain(Run([command, Duct, .. more]).Output));

    // Currents are said only of rails, of the short circuit and of what a load draws.
    [Fact]
    public void Loop_SaysScaleDriveConditionsAndNoise_InVolts()
    {
        string text = Demo.Plain(Run("loop", Duct, "--voltage", "5").Output);
        foreach (string words in new[]
        {
            "voltage output between out and 0V", "scale, in both directions", "11.5 V must stand across 10 kΩ", "greatest controlled voltage, V: stated parts", "terminals short-circuited",
            "27.6 V on the terminals", "noise and ripple of the voltage", "output open",
        })
        {
            Assert.Contains(words, text, StringComparison.Ordinal);
        }

        Assert.Matches(@"50 % +5\.000 +20\.000", text);
        Assert.DoesNotContain("NE 43", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Loop_AskedForTheOtherKind_SaysWhichOne()
    {
        Assert.Contains("--voltage", Run("loop", Duct, "--current", "12").Error, StringComparison.Ordinal);
        Assert.Contains("--current", Run("loop", Repository.PathOf("demo", "nutrient-ph", "instrument.yaml"), "--voltage", "5").Error, StringComparison.Ordinal);
        Assert.Equal(2, Run("loop", Duct, "--current", "12").Code);
    }

    [Fact]
    public void Csv_IsInVolts() => Assert.StartsWith("layer,ambient in C,supply in V,load in ohm,greatest voltage in V,", Run("loop", Duct, "--csv").Output, StringComparison.Ordinal);

    [Fact]
    public void Json_NamesTheOutput_AndItsVoltages()
    {
        using JsonDocument document = JsonDocument.Parse(Run("loop", Duct, "--json").Output);
        JsonElement output = document.RootElement.GetProperty("instrument").GetProperty("output");
        Assert.Equal(("voltage", "V"), (output.GetProperty("kind").GetString(), output.GetProperty("unit").GetString()));
        JsonElement last = document.RootElement.GetProperty("loop").GetProperty("scale").EnumerateArray().Last();
        Assert.Equal(("failure", 11.5), (last.GetProperty("name").GetString(), last.GetProperty("voltage").GetDouble()));
        Assert.Equal(JsonValueKind.Null, last.GetProperty("current").ValueKind);
    }

    [Fact]
    public void Picture_SaysVolts()
    {
        string path = Path.Combine(Directory.CreateTempSubdirectory("throughline-").FullName, "map.svg");
        try
        {
            Assert.Equal(0, Run("loop", Duct, "--out", path).Code);
            string picture = Demo.Plain(File.ReadAllText(path));
            Assert.Contains("11.5 V must be reached", picture, StringComparison.Ordinal);
            Assert.DoesNotContain("mA", picture, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(Path.GetDirectoryName(path)!, recursive: true);
        }
    }

    [Fact] // A load of 500 Ω takes 11.5 V / 500 Ω = 23 mA of 20 mA: what turned is said in volts
    public void Compare_SaysWhatMoved_InVolts()
    {
        Invocation invocation = Run("compare", Duct, Repository.PathOf("demo", "duct-temperature", "flawed", "01-heavy-load.yaml"));
        string text = Demo.Plain(invocation.Output);
        Assert.Contains("output drive", text, StringComparison.Ordinal);
        Assert.DoesNotMatch(LoopWord(), text);
    }

    [GeneratedRegex(@"(?<!feedback |open-)\bloops?\b", RegexOptions.CultureInvariant)]
    private static partial Regex LoopWord();

    [GeneratedRegex(@"\bmA\b|µA", RegexOptions.CultureInvariant)]
    private static partial Regex CurrentWord();
}
