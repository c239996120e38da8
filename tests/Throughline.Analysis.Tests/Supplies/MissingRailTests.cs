using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Supplies;

/// <summary>A rail that is disconnected at its source: the voltages by Ohm's law on what hangs on it, and what then stands still.</summary>
public sealed class MissingRailTests
{
    /// <summary>Ω, what a rail without supply leaks besides what is stated.</summary>
    private const double Leak = 10e6;

    [Fact] // 5 mA at 5 V are 1 kΩ: with 10 kΩ to 12 V that is 12 V / 11, and no longer 0 V
    public void RailVolts_OfALoadAndAResistorToAnotherRail_IsTheirDivider()
    {
        double volts = Missing("A5: { kind: linear regulator, from: input, voltage: 5 V, draws: { radio: 5 mA } }\nB12: { kind: dc, voltage: 12 V, return: 0V }", "RX: { resistor: 10 kΩ, between: [B12, A5] }", "A5");
        Assert.Equal(12 * Parallel(1e3, Leak) / (Parallel(1e3, Leak) + 10e3), volts, 1e-5);
    }

    [Fact]
    public void RailVolts_WithNothingOnIt_IsWhatReachesItThroughTheResistor()
    {
        double volts = Missing("A5: { kind: linear regulator, from: input, voltage: 5 V }\nB12: { kind: dc, voltage: 12 V, return: 0V }", "RX: { resistor: 10 kΩ, between: [B12, A5] }", "A5");
        Assert.Equal(12 * Leak / (Leak + 10e3), volts, 1e-5);
    }

    [Fact] // a clamp to the rail feeds it as soon as a signal is above it: a diode's voltage below 12 V behind 10 kΩ
    public void RailVolts_WithAClampToIt_IsFedThroughTheDiode()
    {
        double volts = Missing(
            "A5: { kind: linear regulator, from: input, voltage: 5 V, draws: { radio: 0.5 mA } }\nB12: { kind: dc, voltage: 12 V, return: 0V }",
            "RX: { resistor: 10 kΩ, between: [B12, pin] }\nDX: { diode: small signal, anode: pin, cathode: A5 }", "A5");
        // 10 kΩ of load and 10 kΩ in series share what the diode leaves of 12 V.
        Assert.InRange(volts, (12 - 0.75) / 2, (12 - 0.45) / 2);
    }

    [Fact] // a reference that the rail feeds through a resistor can't feed the rail
    public void RailVolts_WithAShuntReferenceBehindAResistor_IsNothing()
    {
        double volts = Missing(
            "A5: { kind: linear regulator, from: input, voltage: 5 V, draws: { radio: 0.5 mA } }", "RX: { resistor: 1 kΩ, between: [A5, ref] }\nVX: { reference: 2.5 V, between: [ref, 0V] }", "A5");
        Assert.Equal(0, volts, 1e-6);
    }

    [Fact] // an amplifier of 1 mA between +12 V and an open −12 V pulls that rail up, against 12 kΩ of load, as 24 V / 1 mA would
    public void RailVolts_OfAnOpenNegativeRail_IsPulledUpByItsAmplifiers()
    {
        double volts = Missing(
            "P12: { kind: switching converter, from: input, voltage: 12 V }\nN12: { kind: switching converter, from: input, voltage: −12 V, draws: { radio: 1 mA } }",
            "UX: { op amp: { supply current: 1 mA, bias current: 0 A }, plus: 0V, minus: o, out: o, supply: [P12, N12] }", "N12");
        double load = Parallel(12e3, Leak);
        Assert.Equal(12 * load / (load + 24e3), volts, 1e-5);
    }

    [Fact] // a fuse behind a supply that is missing still joins what hangs on either side; a diode does not conduct backwards
    public void RailVolts_BehindAFuseAndBehindADiode_DifferByTheWayBack()
    {
        const string Rails = "B12: { kind: dc, voltage: 12 V, return: 0V }\n";
        const string Part = "RX: { resistor: 10 kΩ, between: [B12, F] }";
        double fuse = Missing(Rails + "V9: { kind: dc, voltage: 9 V, return: 0V, draws: { radio: 9 mA } }\nF: { kind: fuse, from: V9, resistance: 1 Ω }", Part, "V9");
        double diode = Missing(Rails + "V9: { kind: dc, voltage: 9 V, return: 0V, draws: { radio: 9 mA } }\nF: { kind: protection diode, from: V9, drop: 0.4 V }", Part, "V9");
        Assert.Equal(12 * 1000 / 11001.0, fuse, 1e-3);
        Assert.Equal(0, diode, 1e-9);
    }

    [Theory] // the processor's rail is gone and that of the output converter is not: the loop stands where it was, or goes to code 0
    [InlineData(true, FaultEffect.Signalled, 0.0)]
    [InlineData(false, FaultEffect.Hidden, 12.0)]
    public void Missing_OfTheProcessorsRail_LeavesTheLoopAsTheOutputConverterHoldsIt(bool resets, FaultEffect effect, double milliamperes)
    {
        string text = File.ReadAllText(Repository.PathOf("demo", "nutrient-ph", "instrument.yaml"));
        const string Key = "resets with processor: true";
        Assert.Contains(Key, text, StringComparison.Ordinal);
        Instrument instrument = InstrumentReader.ReadText("instrument.yaml", resets ? text : text.Replace(Key, "resets with processor: false", StringComparison.Ordinal), Repository.PathOf("demo", "nutrient-ph")).Value!;
        FaultRow row = Reviewer.Supplies(instrument)!.Missing.Single(r => r.Fault == "A5 missing");
        Assert.Equal(effect, row.Effect);
        Assert.Equal(milliamperes, row.LoopValue * 1e3, 0.03);
        Assert.True(double.IsNaN(row.Display), "a processor without supply shows nothing");
        Assert.Contains("processor without supply", row.Remark, StringComparison.Ordinal);
        Assert.Contains(resets ? "writing: code 0" : "writing: keeps its last code", row.Remark, StringComparison.Ordinal);
    }

    [Theory] // Property: whatever is missing, the network of each demo has an operating point
    [InlineData("nutrient-ph")]
    [InlineData("cold-store-pt100")]
    [InlineData("hopper-bridge")]
    [InlineData("loop-powered-level")]
    public void Missing_OfAnyRailOfADemo_HasAnOperatingPoint(string demo)
    {
        SupplyReport report = Reviewer.Supplies(InstrumentReader.ReadFile(Repository.PathOf("demo", demo, "instrument.yaml")).Value!)!;
        Assert.Equal(report.Typical!.Rails.Length, report.Missing.Length);
        Assert.All(report.Missing, row => Assert.NotEqual(FaultEffect.Undefined, row.Effect));
        Assert.All(report.Missing, row => Assert.InRange(row.RailVolts, -15, 30));
    }

    private static double Missing(string supplies, string parts, string rail) =>
        Trees.Report(supplies, parts).Missing.Single(r => r.Fault == rail + " missing").RailVolts;

    private static double Parallel(double a, double b) => a * b / (a + b);
}
