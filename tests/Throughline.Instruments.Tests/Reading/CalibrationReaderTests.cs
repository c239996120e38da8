using Throughline.Testing;
using Xunit;

namespace Throughline.Instruments.Tests.Reading;

public class CalibrationReaderTests
{
    private static Parsed<Instrument> Read(string calibration, string arithmetic = "words: 32 bit") => InstrumentReader.ReadText("c.yaml", $$"""
        instrument: T
        specification: { measurand: pH, range: 2 .. 12 }
        sensor: { kind: glass electrode, resistance: 100 MΩ, response: 45 s, between: [s, 0V] }
        supplies: { A5: { kind: dc, voltage: 5 V ±2 %, return: 0V } }
        stages:
          - in: { parts: { R1: { resistor: 4k7, between: [s, a] }, R2: { resistor: 1 MΩ, between: [a, 0V] } }, to: a }
          - arithmetic: { {{arithmetic}} }
        calibration: {{calibration}}

        """);

    private static Calibration Sound(string calibration)
    {
        Parsed<Instrument> read = Read(calibration);
        Assert.Empty(read.Diagnostics);
        return read.Value!.Calibration!;
    }

    [Fact]
    public void Read_Whole_SaysEverything()
    {
        Parsed<Instrument> read = Read(
            "{ buffers: { first: 7.00 pH ±0.02, second: { value: 5.50, temperatures: { 10 °C: 5.60, 30 °C: 5.40 } }, third: 10.01 pH ±0.05 pH, follows temperature: true }, at: 15 .. 30 °C }",
            "calibration: n-point, temperature error: ±0.5 K");
        Assert.Empty(read.Diagnostics);
        Calibration calibration = read.Value!.Calibration!;
        Assert.Equal([7.0, 5.5, 10.01], calibration.Standards.Select(s => s.Value.Quantity.Value));
        Assert.Equal([0.02, 0, 0.05], calibration.Standards.Select(s => Math.Round(s.Value.Quantity.Tolerance, 12)));
        Assert.Equal(["calibration first standard", "calibration second standard", "calibration third standard"], calibration.Standards.Select(s => s.Value.ToString()));
        Assert.Equal((15.0, 30.0), (calibration.Temperature.Low, calibration.Temperature.High));
        Assert.True(calibration.FollowsTemperature);
        Assert.Equal(5.55, calibration.Standards[1].At(15), 1e-12);
        Assert.Equal(5.60, calibration.Standards[1].At(-20), 1e-12);    // beyond the table its end is held
        Assert.Equal(45, read.Value.Sensor.Response!.Value);
        Assert.Equal(0.5, read.Value.Stages.OfType<ArithmeticStage>().Single().TemperatureError!.Quantity.Tolerance, 1e-12);
    }

    [Fact]
    public void Read_LittleSaid_IsAt25AndFollowsNothing()
    {
        Calibration calibration = Sound("{ buffers: { first: 7.00 } }");
        Assert.Equal((25.0, 25.0), (calibration.Temperature.Low, calibration.Temperature.High));
        Assert.False(calibration.FollowsTemperature);
        Assert.True(calibration.Standards[0].Value.Quantity.IsExact);
        Assert.True(double.IsNaN(calibration.Standards[0].At(double.NaN)));
    }

    // Published two-decimal tables of technical buffers (electrochemistry-buffers.csv says whose), to half of their last digit up to 30 °C; above, makers' 7.00 differ by 0.015
    [Theory]
    [InlineData("technical_4.00", "4.00", "technical at 25")]
    [InlineData("technical_7.00", "7.00", "technical at 25")]
    [InlineData("technical_7.00_at20C", "7.00", "technical at 20")]
    [InlineData("technical_9.00_at20C", "9.00", "technical at 20")]
    public void At_TechnicalBuffer_IsThePublishedValue(string published, string label, string family)
    {
        CalibrationStandard standard = Sound($"{{ buffers: {{ first: {label}, family: {family} }} }}").Standards[0];
        PublishedRow[] rows = [.. PublishedTable.Read("electrochemistry", "electrochemistry-buffers.csv").Rows.Where(r => r["buffer"] == published)];
        Assert.NotEmpty(rows);
        Assert.All(rows, row => Assert.Equal(row.Number("pH"), standard.At(row.Number("temperature_C")), (row.Number("temperature_C") <= 30 ? 0.005 : 0.015) + 1e-9));
    }

    [Fact] // Primary phthalate 4.005: 3.999 at 15 °C (IUPAC 2002, in electrochemistry-buffers.csv); a bottle of 4.01 moves by as much
    public void At_LabelBesideThePrimaryValue_KeepsItsOwnValueAndMovesAsTheTableDoes()
    {
        CalibrationStandard standard = Sound("{ buffers: { first: 4.01 } }").Standards[0];
        Assert.Equal(4.01, standard.At(25), 1e-12);
        Assert.Equal(4.01 - 0.006, standard.At(15), 0.001);
    }

    [Fact]
    public void At_FamilyConstantOrUnknownLabel_DoesNotMove()
    {
        Assert.Equal(7.0, Sound("{ buffers: { first: 7.00, family: constant } }").Standards[0].At(5));
        Assert.Equal(5.5, Sound("{ buffers: { first: 5.50 } }").Standards[0].At(5));
    }

    [Fact]
    public void Read_LabelThatTheFamilyDoesNotHave_IsReported()
    {
        Diagnostic found = Assert.Single(Read("{ buffers: { first: 5.50, family: technical at 25 } }").Diagnostics);
        Assert.Equal(("contradiction", "5.50"), (found.Code, found.Span.Text));
    }
}
