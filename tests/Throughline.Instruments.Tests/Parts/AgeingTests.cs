using Xunit;

namespace Throughline.Instruments.Tests.Parts;

/// <summary>Values that drift with the time since the calibration: value · (1 + drift · time).</summary>
public class AgeingTests
{
    /// <summary>The Julian year of 365.25 days (IAU), s.</summary>
    private const double Year = 31_557_600;

    [Theory] // two years at half a per cent a year are 1 %
    [InlineData("{ resistor: 1 kΩ ±1 %, between: [a, b], ages: ±0.5 %/year }", "resistor X a b 1010")]
    [InlineData("{ capacitor: 1 µF, between: [a, b], ages: ±0.5 %/year }", "capacitor X a b 1.01E-06")]
    [InlineData("{ trimmer: 1 kΩ, between: [a, b], ages: ±0.5 %/year }", "resistor X a b 505")]
    [InlineData("{ trimmer: 1 kΩ, ends: [a, b], wiper: w, ages: ±0.5 %/year }", "resistor X.first a w 505", "resistor X.second w b 505")]
    [InlineData("{ reference: 2.5 V, between: [a, b], ages: ±0.5 %/year }", "voltage X a b 2.525")]
    public void Describe_AtAnAge_IsTheAgedValue(string part, params string[] elements)
    {
        FixedState old = new() { AgeSeconds = 2 * Year };
        old.Set["ageing"] = 0.005 / Year;
        Part read = Read(part).Stages.OfType<CircuitStage>().First().Parts[0];
        RecordingSink sink = new(old);
        read.Describe(sink, new FixedSettings(0.5));
        Assert.Equal(elements, sink.Lines);
        RecordingSink young = new(new FixedState { AgeSeconds = 0 });
        read.Describe(young, new FixedSettings(0.5));
        Assert.NotEqual(elements, young.Lines);
        Assert.Single(read.Parameters, p => p.ToString() == "X ageing" && p.Quantity is { Value: 0, Dimension: Dimension.RatioRate });
    }

    [Theory] // share per second; 1 kh is 3.6 Ms
    [InlineData("±0.1 %/year", 0.001 / Year)]
    [InlineData("±25 ppm/kh", 25e-6 / 3.6e6)]
    [InlineData("+-50ppm/month", 50e-6 * 12 / Year)]
    [InlineData("±0.02 %/week", 0.0002 / (7 * 86400))]
    public void Ages_InEveryUnit_IsABoundToBothSides(string written, double expected)
    {
        Quantity q = Read($"{{ resistor: 1 kΩ, between: [a, b], ages: {written} }}").Parameters.Single(p => p.Name == "ageing").Quantity;
        Assert.Equal(expected, q.High, expected * 1e-14);
        Assert.Equal(-q.High, q.Low);
    }

    [Theory]
    [InlineData("ages: [|±0.1 %|]", "wrong unit")]
    [InlineData("ages: [|0.1 %/year|]", "not a quantity")]
    [InlineData("[|age|]: ±0.1 %/year", "unknown key")]
    public void Ages_OneMistake_IsLocated(string key, string code)
    {
        Marked marked = new(Text($"{{ resistor: 1 kΩ, between: [a, b], {key} }}"));
        Diagnostic found = Assert.Single(InstrumentReader.ReadText("a.yaml", marked.Text).Diagnostics);
        Assert.Equal((code, marked.Start, marked.End), (found.Code, found.Span.Start, found.Span.End));
    }

    [Fact]
    public void Converters_OwnReference_Ages()
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText(
            "small.yaml", Samples.Small.Replace("reference: 2.5 V", "reference ages: ±40 ppm/kh, reference: 2.5 V", StringComparison.Ordinal));
        Assert.Empty(parsed.Diagnostics.Select(d => d.Message));
        FixedState old = new() { AgeSeconds = 3.6e6 };
        old.Set["ageing"] = -40e-6 / 3.6e6;
        Assert.Equal(2.5 * (1 - 40e-6), parsed.Value!.Stages.OfType<ConverterStage>().Single().ReferenceVolts(old), 1e-12);
        Assert.Equal(2.5 * (1 - 40e-6), parsed.Value.Stages.OfType<OutputConverterStage>().Single().ReferenceVolts(old), 1e-12);
        Assert.Equal(["R2 ageing", "reading ageing", "writing ageing"], parsed.Value.Parameters.Where(p => p.Name == "ageing").Select(p => p.ToString()));
    }

    [Fact]
    public void Converters_ReferenceFromNodes_AgesWithItsPart()
    {
        Marked marked = new(Samples.Small.Replace("reference: 2.5 V ±0.2 %", "reference: [adc, 0V], reference ages: [|±40 ppm/kh|]", StringComparison.Ordinal));
        Diagnostic found = Assert.Single(InstrumentReader.ReadText("small.yaml", marked.Text).Diagnostics);
        Assert.Equal(("contradiction", marked.Start, marked.End, "write `ages` at that part"), (found.Code, found.Span.Start, found.Span.End, found.Mend));
    }

    private static string Text(string part) => Samples.Tiny.Replace("R1: { resistor: 4k7, between: [s, a] }", "X: " + part, StringComparison.Ordinal);

    private static Instrument Read(string part)
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText("a.yaml", Text(part));
        Assert.Empty(parsed.Diagnostics.Select(d => d.Message));
        return parsed.Value!;
    }
}
