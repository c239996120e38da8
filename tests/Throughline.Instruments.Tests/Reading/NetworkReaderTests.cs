using Xunit;

namespace Throughline.Instruments.Tests.Reading;

public class NetworkReaderTests
{
    private const string Sample = "networks: { RN1: { tolerance: ±1 % ±100 ppm/K, tracking: ±0.05 % ±5 ppm/K } }";

    private const string Networks = Sample + "\nstages:";

    [Fact]
    public void ReadText_ANetwork_IsOneParameterOfAllItsResistors()
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText("n.yaml", With(Networks, "20.0 kΩ, of: RN1", "4k7, of: RN1"));
        Assert.Empty(parsed.Diagnostics.Select(d => d.Message));
        ResistorNetwork network = Assert.Single(parsed.Value!.Networks);
        Resistor[] resistors = [.. parsed.Value.Stages.OfType<CircuitStage>().SelectMany(s => s.Parts).OfType<Resistor>().Where(r => r.Network is not null)];
        Assert.Equal(["R1", "R2"], resistors.Select(r => r.Name.Value));
        Assert.All(resistors, r => Assert.Same(network.Common, r.Parameters[1]));

        // The ratio of two is off by 0.05 % at most when each is by half of that; with what they have in common each is within 1 %.
        Quantity own = resistors[0].Resistance.Quantity;
        Assert.Equal((20e3, 20e3 * 0.99975, 20e3 * 1.00025), (own.Value, own.Low, own.High));
        Assert.Equal(20e3 * 2.5e-6, own.Drift, 1e-12);
        Assert.Equal(0.00975, network.Common.Quantity.High, 1e-15);
        Assert.Equal(-0.00975, network.Common.Quantity.Low, 1e-15);
        Assert.Equal(97.5e-6, network.Common.Quantity.Drift, 1e-15);
        Assert.Equal("RN1 common deviation", network.Common.ToString());
    }

    [Fact]
    public void ReadText_ATemperatureCoefficientOfKnownSign_IsCommon()
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText(
            "n.yaml", With("networks: { reel-7: { tolerance: ±5 % +40 ppm/K, tracking: ±1 % ±10 ppm/K } }\nstages:", "20.0 kΩ, of: reel-7", "4k7"));
        Assert.Empty(parsed.Diagnostics.Select(d => d.Message));
        Quantity common = Assert.Single(parsed.Value!.Networks).Common.Quantity;
        Assert.Equal((40e-6, 0.0), (common.SignedDrift, common.Drift));
    }

    [Theory]
    [InlineData("networks: { [|RN1|]: { tolerance: ±1 %, tracking: ±0.1 % } }\nstages:", "20.0 kΩ", "4k7", "not used")]
    [InlineData("networks: { RN1: { tolerance: ±1 %, tracking: ±0.1 % }, [|RN2|]: { tolerance: ±1 %, tracking: ±0.1 % } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "not used")]
    [InlineData(Networks, "20.0 kΩ, of: RN1", "4k7, of: [|RN2|]", "unknown network", "write `RN1`")]
    [InlineData("stages:", "20.0 kΩ, of: [|RN1|]", "4k7", "unknown network")]
    [InlineData(Networks, "[|20.0 kΩ ±1 %|], of: RN1", "4k7", "said twice", "leave them out here, or leave out `of`")]
    [InlineData(Networks, "[|20.0 kΩ ±25 ppm/K|], of: RN1", "4k7", "said twice", "leave them out here, or leave out `of`")]
    [InlineData(Networks, "[|4K7F|], of: RN1", "4k7", "said twice", "leave them out here, or leave out `of`")]
    [InlineData("networks: { [|R2|]: { tolerance: ±1 %, tracking: ±0.1 % } }\nstages:", "20.0 kΩ, of: R2", "4k7", "duplicate name")]
    [InlineData("networks: { RN1: { tolerance: ±1 %, tracking: [|±3 %|] } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "contradiction")]
    [InlineData("networks: { RN1: { tolerance: ±1 % ±1 ppm/K, tracking: [|±1 % ±5 ppm/K|] } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "contradiction")]
    [InlineData("networks: { RN1: { tolerance: ±1 %, tracking: [|±1 % +5 ppm/K|] } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "contradiction")]
    [InlineData("networks: { RN1: { tolerance: [|±100 %|], tracking: ±1 % } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "tolerance out of range")]
    [InlineData("networks: { RN1: { tolerance: [|1 %|], tracking: ±1 % } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "not a quantity", "put ± in front")]
    [InlineData("networks: { RN1: { [|tolerance|]: ±1 % } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "missing key")]
    [InlineData("networks: { RN1: { tolerance: ±1 %, [|tracks|]: ±1 % } }\nstages:", "20.0 kΩ, of: RN1", "4k7", "unknown key", "write `tracking`")]
    public void ReadText_OneMistake_IsLocatedWithItsMend(string networks, string r1, string r2, string code, string? mend = "any")
    {
        Marked marked = new(With(networks, r1, r2));
        Diagnostic found = Assert.Single(InstrumentReader.ReadText("n.yaml", marked.Text).Diagnostics);
        Assert.Equal((code, marked.Start, marked.End), (found.Code, found.Span.Start, found.Span.End));
        Assert.True(mend is "any" || mend == found.Mend, found.Mend);
    }

    [Fact] // A resistor that can't be read may belong to a network all the same
    public void ReadText_AResistorThatCannotBeRead_MakesNoFurtherMistake() =>
        Assert.Equal("wrong unit", Assert.Single(InstrumentReader.ReadText("n.yaml", With(Networks, "20.0 kV, of: RN1", "4k7")).Diagnostics).Code);

    private static string With(string networks, string r1, string r2) =>
        Samples.Small.Replace(Sample + "\nstages:", networks, StringComparison.Ordinal)
            .Replace("100 Ω, of: RN1", "100 Ω ±0.1 %", StringComparison.Ordinal)
            .Replace("20.0 kΩ ±1 % ±100 ppm/K", r1, StringComparison.Ordinal)
            .Replace("resistor: 4k7", "resistor: " + r2, StringComparison.Ordinal);
}
