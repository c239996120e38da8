using Xunit;

namespace Throughline.Instruments.Tests.Reading;

/// <summary>What a file may say of a voltage as its output, and what it may not.</summary>
public sealed class VoltageOutputReaderTests
{
    private const string Output = "voltage output: { between: [out, 0V], scale: { 0 kPa: 0 V, 100 kPa: 10 V }, limits: { over: 10.2 V, failure: 11 V }, test: 0 .. 10.5 V, load: 10 kΩ .. 1 MΩ }";

    private static string Text(string output = Output, string limit = "output: { error: ±1 % of span }", string to = "[out, 0V]", string further = "") => $$"""
        instrument: Voltage
        specification: { measurand: pressure, range: 0 .. 100 kPa, {{limit}} }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 2.0 V }, between: [s, 0V] }
        supplies: { P: { kind: dc, voltage: 24 V, return: 0V } }
        stages:
          - reading: { kind: adc, input: s, bits: 12, reference: 2.5 V }
          - arithmetic: { from: reading, to: measurand }
          - writing: { kind: dac, output: dac, bits: 12, reference: 2.5 V }
          - driver:
              parts:
                U1: { op amp: {}, plus: dac, minus: back, out: out, supply: [P, 0V] }
                R1: { resistor: 10 kΩ, between: [back, 0V] }
                VR1: { trimmer: 50 kΩ, between: [back, out] }
              from: dac
              to: {{to}}
        {{output}}
        {{further}}
        """;

    private static Parsed<Instrument> Read(string text) => InstrumentReader.ReadText("voltage.yaml", text);

    [Fact]
    public void Read_OfAVoltage_HasItsUnitAndItsLoad()
    {
        Parsed<Instrument> read = Read(Text());
        Assert.Empty(read.Diagnostics.Select(d => d.Message));
        Loop output = read.Value!.Loop!;
        Assert.Same(OutputSignal.Voltage, output.Signal);
        Assert.Equal("V", output.Signal.Unit);
        Assert.Equal(10, output.Scale[1].To.Value);
        Assert.Equal(11, output.Failure!.Value);
        Assert.Equal((1e-6, 1e-4), (output.Burden.Low, output.Burden.High));
        Assert.Equal((10e3, 1e6), (output.HardLoad, output.EasyLoad));
        Assert.Null(output.SeriesResistance);
    }

    [Fact] // IEC 60228:2004, class 2, 1.5 mm²: 12.1 Ω/km at 20 °C. Both cores of 50 m are 1.21 Ω
    public void Read_OfItsCable_GivesAResistanceFromNothingToAllOfIt()
    {
        Loop output = Read(Text(Output.Replace("load:", "cable: { length: 50 m, area: 1.5 mm², capacitance: 10 nF }, load:", StringComparison.Ordinal))).Value!.Loop!;
        Assert.Equal((0, 0), (output.SeriesResistance!.Quantity.Value, output.SeriesResistance.Quantity.Low));
        Assert.Equal(1.21, output.SeriesResistance.Quantity.High, 1e-9);
        Assert.Equal("output cable resistance", output.SeriesResistance.ToString());
        Assert.Equal(10e-9, output.CableCapacitance!.Value, 1e-15);
        Assert.Equal(10e3, output.Load.Low);
    }

    [Fact]
    public void Read_OfEveryStandardVoltage_IncludesNegativeOnes()
    {
        Loop output = Read(Text(Output.Replace("0 kPa: 0 V", "0 kPa: −10 V", StringComparison.Ordinal))).Value!.Loop!;
        Assert.Equal(-10, output.Scale[0].To.Value);
    }

    [Theory]
    [InlineData("loop: { through: [out, 0V], scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }, load: 0 .. 250 Ω }", "An instrument has one output: a current or a voltage.")]
    [InlineData("adjustment: [{ span: { turn: VR1, until: { loop: 20 mA ±10 µA } } }]", "The output is a voltage: there is no loop for a meter to stand in.")]
    [InlineData("panel: { display: 16 x 1, keys: 1, screens: { measuring: { lines: [\"##.## mA    GO\"], shows: [loop current] } } }", "The output of the instrument is a voltage.")]
    [InlineData("panel: { display: 16 x 1, keys: 1, screens: { measuring: { lines: [\"##.## V     GO\"], shows: [test voltage], enters: test voltage, loop: test } } }", "The output of the instrument is a voltage.")]
    public void Read_OfWordsOfACurrent_SaysThatTheOutputIsAVoltage(string further, string message) =>
        Assert.Contains(message, Read(Text(further: further)).Diagnostics.Select(d => d.Message));

    [Fact]
    public void Read_OfALimitForTheLoop_OrAStageIntoOne_IsRefused()
    {
        Diagnostic limit = Assert.Single(Read(Text(limit: "loop: { error: ±1 % of span }")).Diagnostics);
        Assert.Equal(("The output of the instrument is a voltage.", "write `output`"), (limit.Message, limit.Mend));
        Assert.Contains("The output is a voltage: there is no loop to go to.", Read(Text(to: "loop")).Diagnostics.Select(d => d.Message));
    }

    [Theory]
    [InlineData("load: 10 kΩ .. 1 MΩ", "load: 0 Ω .. 1 MΩ")]
    [InlineData("over: 10.2 V", "over: 10.2 mA")]
    [InlineData("100 kPa: 10 V", "100 kPa: 20 mA")]
    [InlineData("[out, 0V], scale", "[out, out], scale")]
    [InlineData("test: 0 .. 10.5 V,", "trim: { low: 10 V, high: 1 V, meter: 4.5 digit, accept: ±0.1 V },")]
    [InlineData("test: 0 .. 10.5 V,", "trim: { low: 1 V, high: 14 V, meter: 4.5 digit, accept: ±0.1 V },")]
    public void Read_OfWhatCannotBe_IsRefused(string right, string wrong)
    {
        Assert.Contains(right, Output, StringComparison.Ordinal);
        Diagnostic diagnostic = Assert.Single(Read(Text(Output.Replace(right, wrong, StringComparison.Ordinal))).Diagnostics);
        Assert.DoesNotContain("mA", diagnostic.Expected, StringComparison.Ordinal);
    }
}
