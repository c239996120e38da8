using Xunit;

namespace Throughline.Instruments.Tests.Reading;

public class SpreadReaderTests
{
    private const string Written =
        "spread: { values: sorted normal 2 σ, drifts: triangular, conditions: rectangular, of: { R1: normal 3 sigma, F1 drift: two-point, ambient temperature: arcsine } }";

    [Fact]
    public void ReadText_NothingSaid_IsRectangular()
    {
        SpreadSection spread = InstrumentReader.ReadText("t.yaml", Samples.Tiny).Value!.Spread;
        Parameter r1 = new("R1", "resistance", Quantity.Exact(Dimension.Resistance, 1));
        Assert.Equal([Spread.Rectangular, Spread.Rectangular, Spread.Rectangular], [spread.OfValue(r1), spread.OfDrift(r1), spread.OfCondition("loop load")]);
    }

    [Fact]
    public void ReadText_ASpread_IsFoundByTheNearestName()
    {
        Instrument instrument = InstrumentReader.ReadText("small.yaml", Samples.Small).Value!;
        SpreadSection spread = instrument.Spread;
        Assert.Equal(Written, spread.Span.Source!.Content.Split('\n').Single(l => l.StartsWith("spread:", StringComparison.Ordinal)));
        Spread sorted = new(SpreadShape.SortedNormal, 2);
        Assert.Equal(new Spread(SpreadShape.Normal, 3), spread.OfValue(Of("R1 resistance")));
        Assert.Equal(new Spread(SpreadShape.Normal, 3), spread.OfDrift(Of("R1 resistance")));
        Assert.Equal(sorted, spread.OfValue(Of("F1.R1 resistance")));
        Assert.Equal(SpreadShape.TwoPoint, spread.OfDrift(Of("F1.R1 resistance")).Shape);
        Assert.Equal(SpreadShape.Triangular, spread.OfDrift(Of("VR1 resistance")).Shape);
        Assert.Equal(SpreadShape.Rectangular, spread.OfSupply(Of("input voltage")).Shape);
        Assert.Equal(SpreadShape.Arcsine, spread.OfCondition("ambient temperature").Shape);
        Assert.Equal(SpreadShape.Rectangular, spread.OfCondition("process temperature").Shape);

        Parameter Of(string name) => instrument.Parameters.First(p => p.ToString() == name);
    }

    [Theory] // Every name of a thing that may spread
    [InlineData("R1")]
    [InlineData("R1 resistance")]
    [InlineData("R1 resistance drift")]
    [InlineData("R1 drift")]
    [InlineData("F1")]
    [InlineData("F1.C1")]
    [InlineData("sensor")]
    [InlineData("sensor error")]
    [InlineData("A5")]
    [InlineData("A5 voltage")]
    [InlineData("reading")]
    [InlineData("writing")]
    [InlineData("loop load")]
    [InlineData("process temperature")]
    public void ReadText_NameOfSomething_IsTaken(string name)
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText("small.yaml", With($"spread: {{ of: {{ {name}: normal 1.5 σ }} }}"));
        Assert.Empty(parsed.Diagnostics.Select(d => d.Message));
        Assert.Equal(new Spread(SpreadShape.Normal, 1.5), parsed.Value!.Spread.Named[name]);
    }

    [Theory]
    [InlineData("spread: { values: [|normal|] }", "unknown word", "say how many standard deviations the limits are from the middle, such as `normal 3 σ`")]
    [InlineData("spread: { values: [|\"normal, 3\"|] }", "unknown word", "write `normal 3 σ`")]
    [InlineData("spread: { values: [|Sorted normal k=2.5|] }", "unknown word", "write `sorted normal 2.5 σ`")]
    [InlineData("spread: { values: [|retangular|] }", "unknown word", "write `rectangular`")]
    [InlineData("spread: { values: [|2|] }", "wrong type", null)]
    [InlineData("spread: { values: [|[normal]|] }", "wrong type", null)]
    [InlineData("spread: { values: [|normal 0 σ|] }", "out of range", null)]
    [InlineData("spread: { drifts: [|sorted normal 50 σ|] }", "out of range", null)]
    [InlineData("spread: { [|drift|]: triangular }", "unknown key", "write `drifts`")]
    [InlineData("spread: { of: { [|R11|]: triangular } }", "unknown part", "write `R1`")]
    [InlineData("spread: { of: { [|F1.R9|]: triangular } }", "unknown part", "write `F1.R1`")]
    [InlineData("spread: { of: { [|R1 resistence|]: triangular } }", "unknown part", "write `R1 resistance`")]
    [InlineData("spread: { of: { [|R1 voltage|]: triangular } }", "unknown part", null)]
    [InlineData("spread: { of: { [|J1|]: triangular } }", "unknown part", null)]
    [InlineData("spread: { of: { [|ambient temprature|]: triangular } }", "unknown part", "write `ambient temperature`")]
    [InlineData("spread: [|rectangular|]", "wrong type", null)]
    public void ReadText_OneMistake_IsLocatedWithItsMend(string mistake, string code, string? mend)
    {
        Marked marked = new(With(mistake));
        Diagnostic found = Assert.Single(InstrumentReader.ReadText("small.yaml", marked.Text).Diagnostics);
        Assert.Equal((code, marked.Start, marked.End), (found.Code, found.Span.Start, found.Span.End));
        Assert.Equal(mend, found.Mend);
    }

    [Fact] // A part that can't be read takes its name along: one mistake must not make others
    public void ReadText_SpreadOfAPartThatCannotBeRead_IsNoFurtherMistake() =>
        Assert.Equal(
            "wrong unit",
            Assert.Single(InstrumentReader.ReadText("small.yaml", Samples.Small.Replace("20.0 kΩ ±1 %", "20.0 kV ±1 %", StringComparison.Ordinal)).Diagnostics).Code);

    private static string With(string spread)
    {
        Assert.Contains(Written, Samples.Small, StringComparison.Ordinal);
        return Samples.Small.Replace(Written, spread, StringComparison.Ordinal);
    }
}
