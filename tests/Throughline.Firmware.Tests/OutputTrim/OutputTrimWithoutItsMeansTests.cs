using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.OutputTrim;

/// <summary>Trims that cannot be: the findings say so, where the code would only leave them out.</summary>
public sealed class OutputTrimWithoutItsMeansTests
{
    private const string Older = "output: { version: 2, older: [{ version: 1, items: [{ keeps: output trim offset, kind: i32 }, { keeps: output trim gain, kind: i16 }] }], items: [{ keeps: output trim offset }, { keeps: output trim gain }] }";

    [Fact] // Property: a trim at two points turns a straight line; the hopper's codes are bent in the middle of the scale
    public void Check_OfCodesOnABentLine_SaysThatNoTrimFits()
    {
        Finding finding = Of(Hopper("output scaling: { 4 mA: 2712, 20 mA: 13912 }", "output scaling: { 4 mA: 2712, 12 mA: 8400, 20 mA: 13912 }"), "output trim rounding");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Contains("no straight line", finding.Statement, StringComparison.Ordinal);
    }

    [Theory] // Property: what an older layout kept of a trim is taken over, or the finding says that it is lost
    [InlineData(Older, Outcome.Met)]
    [InlineData("output: { version: 2, older: [{ version: 1, items: [{ keeps: output trim offset, kind: i32 }, { keeps: output trim gain, kind: i16 }] }], items: [{ keeps: output trim offset }] }", Outcome.NotMet)]
    public void Check_OfAnOlderLayoutWithATrim_SaysWhetherItIsKept(string record, Outcome expected)
    {
        Finding finding = Of(Hopper("output: { items: [{ keeps: output trim offset }, { keeps: output trim gain }] }", record), "older settings taken over");
        Assert.Equal(expected, finding.Outcome);
        Assert.Equal(expected == Outcome.NotMet, finding.Statement.Contains("output trim gain", StringComparison.Ordinal));
    }

    private static Finding Of(Instrument instrument, string check) => Assert.Single(new FirmwareChecks().Run(instrument), f => f.Check == check);

    private static Instrument Hopper(string old, string now)
    {
        string path = Repository.PathOf("demo", "hopper-bridge", "instrument.yaml");
        string text = File.ReadAllText(path);
        Assert.Contains(old, text, StringComparison.Ordinal);
        Parsed<Instrument> read = InstrumentReader.ReadText(path, text.Replace(old, now, StringComparison.Ordinal), Path.GetDirectoryName(path));
        Assert.True(read.Diagnostics.IsEmpty, string.Join("\n", read.Diagnostics.Select(d => $"{d.Span.Line}: {d.Message} {d.Found}")));
        return read.Value!;
    }
}
