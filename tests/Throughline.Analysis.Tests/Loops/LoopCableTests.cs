using System.Text.Json;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Loops;

/// <summary>The loop's resistance as the file states it.</summary>
public class LoopCableTests
{
    private static Loop Read(string keys) => Sketch.Read(LoopSketch.Sink(loop: keys)).Loop!;

    // IEC 60228:2004, tables 1 to 4, greatest resistance at 20 °C (four copies agree). Both cores of 1000 m.
    [Fact]
    public void Resistance_OfEverySectionAndClass_IsThatOfIec60228()
    {
        PublishedRow[] rows = [.. PublishedTable.Read("loop", "loop-wire-resistance.csv").Rows.Where(r => r.Number("area_mm2") >= 0.5)];
        Assert.Equal(9, rows.Length);
        foreach (PublishedRow row in rows)
        {
            foreach ((string @class, string column) in new[] { ("1", "class1_2_plain_ohm_per_km"), ("2", "class1_2_plain_ohm_per_km"), ("5", "class5_6_plain_ohm_per_km"), ("6", "class5_6_plain_ohm_per_km") })
            {
                LoopCable cable = Read($"cable: {{ length: 1 km, area: {row["area_mm2"]} mm², class: {@class} }}").Cable!;
                Assert.Equal(2 * row.Number(column), cable.GreatestResistance, 1e-9);
            }
        }
    }

    [Fact] // The same standard's annex and the relation for annealed copper (loop-wire-temperature.json, printed to five digits)
    public void Resistance_OverTemperature_IsThatOfCopper()
    {
        JsonElement ratios = JsonDocument.Parse(File.ReadAllText(Repository.PathOf("data", "loop", "loop-wire-temperature.json"))).RootElement.GetProperty("ratio");
        LoopCable cable = Read("cable: { length: 1 km, area: 1.5 mm² }").Cable!;
        foreach (JsonElement row in ratios.EnumerateArray())
        {
            Assert.Equal(row.GetProperty("R_over_R20").GetDouble(), cable.Resistance(row.GetProperty("t").GetDouble()) / cable.Resistance(20), 5.1e-6);
        }
    }

    // Worked budget of loop-examples.json: 500 m of 0.75 mm² class 5 are 26.0 Ω with a receiver of 250 Ω.
    [Fact]
    public void Load_IsReceiverBarrierAndHotCable()
    {
        Loop loop = Read("cable: { length: 500 m, area: 0.75 mm², class: 5 }\n  barrier: 20 .. 30 Ω");
        Assert.Equal(0 + 20, loop.Load.Low, 1e-9);
        Assert.Equal(250 + 30 + 26.0, loop.Load.High, 1e-9);
        Assert.Equal(250, loop.Receiver.High);
    }

    [Theory]
    [InlineData("cable: { length: 1 km, area: 0.6 mm² }", "out of range", "IEC 60228")]
    [InlineData("cable: { length: 1 km, area: 0.75 mm², class: 3 }", "unknown word", "Expected")]
    [InlineData("communication: { least load: 250 Ω, greatest load: 230 Ω }", "contradiction", "below the least")]
    [InlineData("supply ripple: 0 V", "out of range", "")]
    public void Mistakes_AreSaidWithTheirPlace(string keys, string code, string says)
    {
        Parsed<Instrument> read = InstrumentReader.ReadText("sketch.yaml", LoopSketch.Sink(loop: keys));
        Diagnostic only = Assert.Single(read.Diagnostics);
        Assert.Equal(code, only.Code);
        Assert.Contains(says, only.Message, StringComparison.Ordinal);
    }
}
