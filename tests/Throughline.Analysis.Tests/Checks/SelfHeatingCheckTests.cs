using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Checks;

public class SelfHeatingCheckTests
{
    private static IEnumerable<Finding> Find(params string[] path)
    {
        Parsed<Instrument> read = InstrumentReader.ReadFile(Repository.PathOf(path));
        Assert.Empty(read.Diagnostics);
        return Reviewer.Review(read.Value!).Findings.Where(f => f.Check == "self-heating of the sensor");
    }

    private static double Figure(Finding finding, string name) => Assert.Single(finding.Figures, f => f.Name == name).Value;

    [Fact] // 1.000 mA by design through a Pt100 of 111.67 Ω at 30 °C (IEC 60751, printed to 0.01 Ω) is 0.1117 mW; at 200 K/W 0.0223 K. The current is within 0.2 % nominally
    public void ColdStore_AtTheWarmEnd_WarmsByTheWorkedAmount()
    {
        Finding finding = Assert.Single(Find("demo", "cold-store-pt100", "instrument.yaml"));
        Assert.Equal(111.67e-6, Figure(finding, "power in the sensor"), 0.4e-6);
        Assert.Equal(0.0223, Figure(finding, "rise"), 0.0001);
        Assert.Equal(Outcome.Met, finding.Outcome);
    }

    [Fact]
    public void SensorWithoutThermalResistance_IsNotJudged() => Assert.Empty(Find("demo", "nutrient-ph", "instrument.yaml"));
}
