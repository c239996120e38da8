using Throughline.Testing;
using Xunit;
using static Throughline.Analysis.Tests.Outputs.BlockSketch;

namespace Throughline.Analysis.Tests.Outputs;

/// <summary>
/// The blocks of output stages against the published examples of voltage to current conversion: data/circuits/answers.csv, group B, whose rows name
/// the books and data sheets. Every circuit is read from an instrument file.
/// </summary>
public sealed class OutputBlocksTests
{
    private static readonly PublishedTable Answers = PublishedTable.Read("circuits", "answers.csv");

    [Theory] // B1: the load does not matter
    [InlineData("100 Ω")]
    [InlineData("4.7 kΩ")]
    [InlineData("15 kΩ")]
    public void FloatingLoad_AnyLoad_CarriesThePublishedCurrent(string load)
    {
        BlockSketch sketch = new($$"""
            O:  { block: floating-load current, in: in, load: a, return: b, common: 0V, positive: P, negative: N, amplifier: ideal, sense: 10 kΩ }
            RL: { resistor: {{load}}, between: [a, b] }
            """);
        Equal("B1", "load current", sketch.At(5).Amperes("RL"));
    }

    [Fact] // B1: an output that reaches 13 V drives 0.5 mA through 16 kΩ at most
    public void FloatingLoad_BeyondTheLargestLoad_IsAtItsLimit()
    {
        double largest = Value("B1", "largest RL for 13 V output");
        Assert.Equal(0.5e-3, Current(largest * 0.999), 1e-9);
        Assert.True(Current(largest * 1.01) < 0.4995e-3);

        static double Current(double ohms) => new BlockSketch(
            $$"""
            O:  { block: floating-load current, in: in, load: a, return: b, common: 0V, positive: P, negative: N, amplifier: 2 V from its supplies, sense: 10 kΩ }
            RL: { resistor: {{Number(ohms)}} Ω, between: [a, b] }
            """,
            "{ P: { kind: dc, voltage: 15 V, return: 0V }, N: { kind: dc, voltage: −15 V, return: 0V } }").At(5).Amperes("RL");
    }

    [Fact] // B2
    public void CurrentPump_OfMatchedResistors_GivesThePublishedCurrentAndSwing()
    {
        Equal("B2", "output current", Pumped(15e3, 4.5e3, 15e3, 4.5e3, 0));
        Equal("B2", "output current", Pumped(15e3, 4.5e3, 15e3, 4.5e3, 10));
        Equal("B2", "op amp output at 10 V load", Pump(15e3, 4.5e3, 15e3, 4.5e3, 10, "ideal").At(15).Volts("O.out"));
    }

    [Theory] // B2: the output resistance of a mismatched pump has a sign
    [InlineData("worst-corner Ro 1% exact", 0.01)]
    [InlineData("opposite corner Ro 1%", -0.01)]
    [InlineData("worst-corner Ro 0.1% exact", 0.001)]
    public void CurrentPump_OfMismatchedResistors_HasThePublishedOutputResistance(string quantity, double t)
    {
        double Current(double volts) => Pumped(15e3 * (1 + t), 4.5e3 * (1 - t), 15e3 * (1 - t), 4.5e3 * (1 + t), volts);
        Equal("B2", quantity, -1 / (Current(1) - Current(0)), 1e-7);
    }

    [Fact] // B2: finite gain
    public void CurrentPump_OfFiniteGain_HasThePublishedOutputResistance()
    {
        double Current(double volts) => -Pump(15e3, 3e3, 15e3, 3e3, volts, "gain of 200 k").At(15).Amperes("VL");

        // The difference of two currents of 1 mA, 2 nA apart: seven digits of the fourteen are left.
        Equal("B2", "Ro from finite gain 2e5, R2=R4=3k", -10 / (Current(10) - Current(0)), 1e-6);
    }

    [Theory] // B3
    [InlineData("output current", "Vload=0", 100e3, 99.9e3, 0)]
    [InlineData("output current", "Vload=1", 100e3, 99.9e3, 1)]
    [InlineData("output current, R4=100k (uncompensated)", "R4=100000 Vload=0", 100e3, 100e3, 0)]
    [InlineData("output current, R4=100k (uncompensated)", "R4=100000 Vload=1", 100e3, 100e3, 1)]
    [InlineData("output current R1 +0.1%", "R1=100100 Vload=0", 100.1e3, 99.9e3, 0)]
    public void ImprovedPump_GivesTheComputedCurrent(string quantity, string condition, double entry, double back, double volts) =>
        Equal("B3", quantity, Improved(entry, 100e3, 100e3, back, volts), condition: condition);

    [Fact] // B3: the worst of the sixteen corners of 0.1 %
    public void ImprovedPump_OfToleranced_HasTheComputedLeastOutputResistance()
    {
        double least = double.PositiveInfinity;
        for (int corner = 0; corner < 16; corner++)
        {
            double Factor(int bit) => (corner >> bit & 1) == 0 ? 0.999 : 1.001;
            double Current(double volts) => Improved(100e3 * Factor(0), 100e3 * Factor(1), 100e3 * Factor(2), 99.9e3 * Factor(3), volts);
            least = Math.Min(least, Math.Abs(1 / (Current(1) - Current(0))));
        }

        Equal("B3", "worst |Ro| with 0.1 % on R1..R4", least, 1e-6);
    }

    [Fact] // B4: 2.5 V below 15 V on 25 Ω; the base takes a hundred-and-first part
    public void HighSideSource_OfThePublishedValues_GivesTheCurrentAndTheAmplifiersOutput()
    {
        BlockSketch sketch = HighSide("10 Ω").At(12.5);
        double emitter = (15 - 12.5) / Value("B4", "sense resistor 100 mA from 2.5 V");
        Assert.Equal(0.1, emitter, 1e-12);
        Assert.Equal(emitter * 100 / 101, sketch.Amperes("RL"), 1e-9);

        // The book takes 0.7 V for the junction and 1 mA for the base; the transistor here has 0.7 V at 100 mA and 0.99 mA.
        Assert.Equal(Value("B4", "op amp output"), sketch.Volts("O.drive"), 0.02);
    }

    [Fact] // B4: the load may stand as high as 12.3 V
    public void HighSideSource_AtItsCompliance_StillGivesItsCurrent()
    {
        double compliance = Value("B4", "compliance");
        Assert.Equal(100e-3 * 100 / 101, HighSide($"{Number((compliance - 0.01) / 0.0990099)} Ω").At(12.5).Amperes("RL"), 1e-7);
        Assert.True(HighSide($"{Number((compliance + 0.5) / 0.0990099)} Ω").At(12.5).Amperes("RL") < 0.0988);
    }

    [Fact] // B5: 5 V on the published resistor make the 10 mA that it is chosen for, whatever the load
    public void ReferenceSource_OfThePublishedResistor_GivesItsCurrent()
    {
        string ohms = Number(Value("B5", "R"));
        double Current(double volts) => new BlockSketch($$"""
            O:  { block: reference current source, load: l, positive: P, negative: N, amplifier: ideal, reference: 5 V, sense: {{ohms}} Ω }
            VL: { voltage: {{Number(volts)}} V, between: [l, 0V] }
            R9: { resistor: 1 kΩ, between: [in, 0V] }
            """).At(0).Amperes("VL");
        Assert.Equal(10e-3, Math.Abs(Current(0)), 1e-12);
        Assert.Equal(10e-3, Math.Abs(Current(7)), 1e-12);
    }

    [Theory] // B7
    [InlineData(40e-6, "2.475 kΩ", "25 Ω", "loop current", "Iin=40e-6")]
    [InlineData(200e-6, "2.475 kΩ", "25 Ω", "loop current", "Iin=200e-6")]
    [InlineData(200e-6, "2.475 kΩ", "25.025 Ω", "loop current, R2 +0.1%", "Iin=200e-6 R2=25.025")]
    public void TwoWireOutput_GivesThePublishedLoopCurrent(double amperes, string ratio, string sense, string quantity, string condition) =>
        Equal("B7", quantity, TwoWire(amperes, ratio, sense, "250 Ω").At(0).Amperes("RL"), condition: condition);

    [Fact] // B6 has the same shape of law: 4 mA, and a slope that a resistor sets
    public void TwoWireOutput_OfThePublishedSpan_GivesTheComputedCurrent()
    {
        // 40 µA of zero and e/RS·400 + 0.16 mS·e at a ratio of 99:1 is the law of the published transmitter.
        double e = 1e-3 * (100.0 / 266) * 125;
        double amperes = 40e-6 + ((0.016 + (40 / 123.3)) * e / 100);
        Equal("B6", "loop current at 150 degC with RS=123.3", TwoWire(amperes, "2.475 kΩ", "25 Ω", "250 Ω").At(0).Amperes("RL"), 1e-8);
    }

    [Theory] // B8: supply less 7.5 V over the current
    [InlineData("Vs=24 Vmin=7.5 I=20e-3", 24, 200e-6)]
    [InlineData("Vs=12 Vmin=7.5 I=20e-3", 12, 200e-6)]
    [InlineData("Vs=21.6 Vmin=7.5 I=22.8e-3", 21.6, 228e-6)]
    public void TwoWireOutput_IntoTheLargestLoad_HasThePublishedTerminalVoltage(string condition, double supply, double amperes)
    {
        double load = Value("B8", "largest loop resistance", condition);
        BlockSketch sketch = TwoWire(amperes, "2.475 kΩ", "25 Ω", Number(load) + " Ω", supply).At(0);
        Assert.Equal(7.5, sketch.Volts("lp", "lm"), 1e-5);
    }

    [Fact] // B9
    public void Sink_OfFiniteCurrentGain_GivesTheComputedCurrent()
    {
        BlockSketch sketch = new($$"""
            O:  { block: voltage-to-current sink, in: in, sink: c, common: 0V, positive: P, negative: N, amplifier: ideal, transistor: npn of 100, sense: 100 Ω, drive: 1 kΩ }
            RL: { resistor: 250 Ω, between: [P, c] }
            """);
        Equal("B9", "collector current of NPN sink, beta=100, 2 V over 100 ohm", sketch.At(2).Amperes("RL"), 1e-6);
    }

    [Theory] // 0–20 mA: 100 Ω, no live zero; both transistors lose a hundred-and-first part
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(2)]
    public void RaisedSource_FromZero_RepeatsTheInputFromTheRail(double volts)
    {
        BlockSketch sketch = new($$"""
            O:  { block: raised voltage-to-current source, in: in, source: s, rail: P, common: 0V, positive: P, negative: N, amplifier: ideal, sink_transistor: npn of 100, source_transistor: pnp of 100, lower: 1 kΩ, upper: 1 kΩ, sense: 100 Ω, drive: 1 kΩ }
            RL: { resistor: 500 Ω, between: [s, 0V] }
            """);
        Assert.Equal(volts / 100 * 100 / 101 * 100 / 101, sketch.At(volts).Amperes("RL"), 1e-8);
    }

    [Fact] // gain 4 from 2.5 V; 100 Ω of cable protection stand inside the feedback
    public void VoltageOutput_IntoALoad_IsHeldAtTheTerminal()
    {
        double Volts(string load) => new BlockSketch($$"""
            O:  { block: voltage output, in: in, out: o, common: 0V, positive: P, negative: N, amplifier: ideal, feedback: 30 kΩ, ground: 10 kΩ, series: 100 Ω, C: 1 nF }
            RL: { resistor: {{load}}, between: [o, 0V] }
            """).At(2.5).Volts("o");
        Assert.Equal(10, Volts("1 GΩ"), 1e-9);
        Assert.Equal(10, Volts("2 kΩ"), 1e-9);
    }

    [Fact] // gain × input through 1 kΩ into 1 MΩ
    public void IsolatedStage_PassesItsGainToTheOtherSide()
    {
        BlockSketch sketch = new(
            """
            O:  { block: isolated stage, in: in, in-return: 0V, out: o, out-return: L0, amplifier: isolating, gain: 2, R: 1 kΩ, C: 1 µF }
            RL: { resistor: 1 MΩ, between: [o, L0] }
            R9: { resistor: 1 kΩ, between: [L5, L0] }
            """,
            "{ P: { kind: dc, voltage: 30 V, return: 0V }, L5: { kind: isolated converter, from: P, voltage: 5 V, return: L0 } }");
        Assert.Equal(2.0 * 1000 / 1001, sketch.At(1).Volts("o", "L0"), 1e-9);
    }

    private static double Pumped(double r1, double r2, double r3, double r4, double volts) => Pump(r1, r2, r3, r4, volts, "ideal").At(15).Amperes("VL") * -1;

    private static BlockSketch Pump(double r1, double r2, double r3, double r4, double volts, string amplifier) => new($$"""
        O:  { block: current pump, in: in, load: l, common: 0V, positive: P, negative: N, amplifier: {{amplifier}}, entry: {{Number(r1)}} Ω, back: {{Number(r2)}} Ω, ground: {{Number(r3)}} Ω, feedback: {{Number(r4)}} Ω }
        VL: { voltage: {{Number(volts)}} V, between: [l, 0V] }
        """);

    private static double Improved(double entry, double ground, double feedback, double back, double volts) => new BlockSketch($$"""
        O:  { block: improved current pump, in: in, load: l, common: 0V, positive: P, negative: N, amplifier: ideal, entry: {{Number(entry)}} Ω, ground: {{Number(ground)}} Ω, feedback: {{Number(feedback)}} Ω, back: {{Number(back)}} Ω, sense: 100 Ω }
        VL: { voltage: {{Number(volts)}} V, between: [l, 0V] }
        """).At(1).Amperes("VL") * -1;

    /// <summary>0.7 V at 100 mA: 0.1 A / exp(0.7 V / 25.6926 mV) at 25 °C.</summary>
    private static BlockSketch HighSide(string load) => new(
        $$"""
        O:  { block: voltage-to-current source, in: in, source: s, rail: P, positive: P, negative: N, amplifier: ideal, transistor: pnp of 0.7 V, sense: 25 Ω, drive: 1 kΩ }
        RL: { resistor: {{load}}, between: [s, 0V] }
        """,
        "{ P: { kind: dc, voltage: 15 V, return: 0V }, N: { kind: dc, voltage: −15 V, return: 0V } }");

    private static BlockSketch TwoWire(double amperes, string ratio, string sense, string load, double supply = 24) => new(
        $$"""
        I1: { current: {{Number(amperes)}} A, from: 0V, to: n }
        O:  { block: two-wire output, in: n, common: 0V, loop-plus: lp, loop-minus: lm, positive: P, amplifier: ideal, transistor: npn of 100, ratio: {{ratio}}, sense: {{sense}}, drive: 1 kΩ }
        VS: { voltage: {{Number(supply)}} V, between: [lp, receiver] }
        RL: { resistor: {{load}}, between: [lm, receiver] }
        """,
        "{ P: { kind: dc, voltage: 5 V, return: 0V } }");

    private static double Value(string example, string quantity, string? condition = null) => Answers.Rows
        .First(r => r["example"] == example && r["quantity"] == quantity && (condition is null || r["condition"] == condition)).Number("value");

    private static void Equal(string example, string quantity, double found, double relative = 1e-9, string? condition = null)
    {
        double value = Value(example, quantity, condition);
        Assert.Equal(value, found, Math.Abs(value) * relative);
    }
}
