using System.Collections.Immutable;
using System.Globalization;
using System.Xml.Linq;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>What a person sees of the arithmetic: its error over the codes, and what a change of the instrument moves in the code.</summary>
public sealed class CurveAndChangeTests
{
    [Fact]
    public void Csv_OfADemo_HasEveryCodeThatCounts_WithinTheBound()
    {
        ArithmeticProof proof = ArithmeticProof.Of(ArithmeticDesign.Of(Sketches.Demo("nutrient-ph"))!);
        string[] lines = [.. ErrorCurve.Csv(proof)];
        Assert.Equal("code,exact (pH),error (pH)", lines[0]);
        double[][] rows = [.. lines.Skip(1).Select(l => l.Split(',').Select(n => double.Parse(n, CultureInfo.InvariantCulture)).ToArray())];
        Assert.True(rows.Length > 2_000);
        Assert.All(rows.Zip(rows.Skip(1)), p => Assert.Equal(p.First[0] + 1, p.Second[0]));
        Assert.All(rows, r => Assert.True(Math.Abs(r[2]) <= proof.Design.Measurand.Error));
        Assert.Equal(Math.Abs(proof.Worst.Error), rows.Max(r => Math.Abs(r[2])), tolerance: 1e-3 * proof.Design.Allowed);
    }

    [Theory]
    [InlineData("nutrient-ph", "pH")]
    [InlineData("cold-store-pt100", "°C")]
    [InlineData("hopper-bridge", "kg")]
    public void Svg_OfADemo_IsWellFormed_AndNamesItsAxes(string demo, string unit)
    {
        ArithmeticProof proof = ArithmeticProof.Of(ArithmeticDesign.Of(Sketches.Demo(demo))!);
        XElement svg = XDocument.Parse(ErrorCurve.Svg(proof)).Root!;
        string[] texts = [.. svg.Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value)];
        Assert.Contains("error, " + unit, texts);
        Assert.Contains("code of the converter", texts);
        Assert.Contains(texts, t => t.StartsWith("allowed ±", StringComparison.Ordinal));
        Assert.Equal(ErrorCurve.Svg(proof), ErrorCurve.Svg(proof));
        Assert.DoesNotContain("href", svg.ToString(), StringComparison.Ordinal);
        Assert.DoesNotContain("NaN", svg.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Changes_OfAnotherGain_AreTheConstantsBehindIt()
    {
        Instrument sound = Sketches.Demo("nutrient-ph");
        Assert.Empty(CodeChange.Of(sound, sound));

        // The code takes its constants from the stages' intents: another scaling moves the signal's line and leaves the electrode's law alone.
        Instrument flawed = Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "flawed", "13-scale-end.yaml")).Value);
        ImmutableArray<CodeChange> changes = CodeChange.Of(sound, flawed);
        Assert.Contains(changes, c => c.Name == "output_factor" && c.Old is not null && c.New is not null && c.Old != c.New);
        Assert.DoesNotContain(changes, c => c.Name is "signal_factor" or "slope_factor" or "kelvin_at_zero");
        Assert.All(changes, c => Assert.NotEqual(c.Old, c.New));

        // And back again it is the same list the other way round.
        Assert.Equal(changes.Select(c => (c.Name, c.New, c.Old)).Order(), CodeChange.Of(flawed, sound).Select(c => (c.Name, c.Old, c.New)).Order());
    }
}
