using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Compilation;

/// <summary>Resistors of one network move together; expected figures are the divider's formula, R2/(R1 + R2), by hand.</summary>
public sealed class TrackingTests
{
    private const string Network = "networks: { RN1: { tolerance: ±1 %, tracking: ±0.05 % } }";

    // Each has half of the tracking of its own.
    private const double Own = 0.00025;
    private const double Common = 0.01 - Own;

    [Fact] // What the two have in common cancels: 1 V · (1 + a)/((1 + a) + (1 − a)) = 0.5 V · (1 + a)
    public void ConverterInput_DividerOfOneNetwork_HasTheWorstCaseOfTheTracking() =>
        Assert.Equal(0.5 * (1 + Own), Highest("10 kΩ, of: RN1", "10 kΩ, of: RN1", Network), 1e-12);

    [Fact] // Against a resistor from elsewhere the whole tolerance counts
    public void ConverterInput_DividerOfANetworkAndAnotherResistor_HasTheWorstCaseOfTheTolerance() =>
        Assert.Equal(1 / (1 + (1 - Own) * (1 - Common)), Highest("10 kΩ, of: RN1", "10 kΩ", Network), 1e-12);

    [Fact]
    public void ConverterInput_DividerOfSingleResistors_HasTheWorstCaseOfBoth() =>
        Assert.Equal(0.5 * 1.01, Highest("10 kΩ ±1 %", "10 kΩ ±1 %", ""), 1e-12);

    [Fact]
    public void Parameters_OfOneNetwork_HoldWhatIsCommonOnce()
    {
        Model model = Model.Compile(Sketch.Read(Sketch.Divider("10 kΩ, of: RN1", "10 kΩ, of: RN1", more: Network)));
        Assert.Single(model.Parameters.All, p => p.ToString() == "RN1 common deviation");
        Assert.Equal("input", model.PlaceOf("RN1"));
    }

    private static double Highest(string upper, string lower, string networks) =>
        new CheckContext(new Evaluator(Model.Compile(Sketch.Read(Sketch.Divider(upper, lower, more: networks))))).ConverterInput!.High;
}
