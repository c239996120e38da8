using Xunit;

namespace Throughline.Instruments.Tests.Reading;

public sealed class BenchReaderTests
{
    [Theory] // A 4½-digit meter shows 19999, a 4-digit one 9999, a 4¾-digit one 39999. Common practice, no source
    [InlineData(4.5, 1.1, 1e-4)]
    [InlineData(4.5, 1.9999, 1e-4)]
    [InlineData(4.5, 2.0, 1e-3)]
    [InlineData(4.5, -2.2, 1e-3)]
    [InlineData(4.75, 2.2, 1e-4)]
    [InlineData(3.5, 1.1, 1e-3)]
    [InlineData(4, 0.5, 1e-4)]
    [InlineData(4, 0.9999, 1e-4)]
    [InlineData(4, 1.0, 1e-3)]
    [InlineData(6.5, 10, 1e-5)]
    [InlineData(4.5, 0, 1e-5)] // no range below 200 mV
    [InlineData(9, 0.05, 1e-10)]
    public void CountOf_Voltage_IsTheLastDigitOfTheSmallestRange(double digits, double volts, double expected) =>
        Assert.Equal(expected, DigitalMeter.CountOf(digits, volts, Dimension.Voltage), expected * 1e-12);

    [Theory]
    [InlineData(4.5, 20e-3, 1e-5)] // 20.00 mA lies just beyond 19.999 mA
    [InlineData(4.5, 19e-3, 1e-6)]
    [InlineData(5.5, 20e-3, 1e-6)]
    [InlineData(4.5, 0, 1e-7)]
    public void CountOf_Current_IsTheLastDigitOfTheSmallestRange(double digits, double amperes, double expected) =>
        Assert.Equal(expected, DigitalMeter.CountOf(digits, amperes, Dimension.Current), expected * 1e-12);

    [Fact]
    public void Bench_LeftOut_IsWrongByOneDigitOnly()
    {
        Instrument instrument = Read("");
        Assert.Null(instrument.Bench.Meter.Error);
        Assert.Null(instrument.Bench.Source.Fixed);
        Quantity digits = instrument.Adjustment[^1].MeterCounts!.Quantity;
        Assert.Equal((0, -1e-3, 1e-3), (digits.Value, digits.Low, digits.High)); // 2.25 V on 4.5 digits
    }

    [Fact]
    public void Bench_Stated_IsRead()
    {
        BenchSection bench = Read("bench: { meter: { error: ±0.05 %, fixed: ±0.2 mV, counts: 2 }, ammeter: { error: ±0.1 % }, source: { fixed: ±20 µV } }").Bench;
        Assert.Equal((-5e-4, 5e-4), (bench.Meter.Error!.Quantity.Low, bench.Meter.Error.Quantity.High));
        Assert.Equal("bench meter error", bench.Meter.Error.ToString());
        Assert.Equal(2e-4, bench.Meter.Fixed!.Quantity.High, 1e-18);
        Assert.Equal(2, bench.Meter.Counts);
        Assert.Equal(1, bench.Ammeter.Counts);
        Assert.Equal("bench ammeter error", bench.Ammeter.Error!.ToString());
        Assert.Null(bench.Source.Error);
        Assert.Equal(20e-6, bench.Source.Fixed!.Quantity.High, 1e-18);
    }

    [Theory]
    [InlineData("bench: { meter: { error: 0.05 % } }")]
    [InlineData("bench: { meter: { fixed: ±1 mA } }")]
    [InlineData("bench: { ammeter: { fixed: ±1 mV } }")]
    [InlineData("bench: { source: { counts: 2 } }")]
    [InlineData("bench: { voltmeter: { error: ±1 % } }")]
    public void Bench_Wrong_IsReported(string bench) =>
        Assert.NotEmpty(InstrumentReader.ReadText("x.yaml", Samples.Small + "\n" + bench + "\n").Diagnostics);

    private static Instrument Read(string bench)
    {
        Parsed<Instrument> read = InstrumentReader.ReadText("x.yaml", Samples.Small + "\n" + bench + "\n");
        Assert.Empty(read.Diagnostics.Select(d => d.Message));
        return read.Value!;
    }
}
