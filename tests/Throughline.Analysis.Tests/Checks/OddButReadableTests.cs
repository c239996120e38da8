using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Checks;

/// <summary>Instruments that are odd in one respect each, and what their review has to say. Expected figures are worked by hand beside each.</summary>
public sealed class OddButReadableTests
{
    private const string Output = """
          - writing: { kind: dac, output: dac, bits: 12, reference: 2.5 V }
          - output:
              parts:
                U1: { op amp: {}, plus: dac, minus: loop-, out: loop+, supply: [A5, 0V] }
                R9: { resistor: 100 Ω, between: [loop-, 0V] }
              from: dac
              to: loop
              intent: { 0.4 V: 4 mA, 2 V: 20 mA }
        loop:
          through: [loop+, loop-]
          scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }
          load: 50 Ω

        """;

    [Fact] // L18 and L12 both cross from 0V to L0, and R9 joins the two: one gap, one finding, and a comparison that finds it by its name
    public void TwoIsolatedSupplies_AcrossOneBridgedGap_AreOneFinding()
    {
        Instrument instrument = Sketch.Read(Sketch.Divider(supply: "5 V, return: 0V }\n  L18: { kind: isolated converter, from: A5, voltage: 18 V, return: L0 }\n"
            + "  L12: { kind: isolated converter, from: A5, voltage: 12 V, return: L0 }\n  B9: { kind: dc, voltage: 9 V")
            .Replace("R3: {", "R9: { resistor: 1 kΩ, between: [L0, 0V] }\n        R3: {", StringComparison.Ordinal));
        Assert.Equal(Outcome.NotMet, Sketch.Finding(instrument, "isolation not bridged").Outcome);
        Assert.DoesNotContain(Reviewer.Compare(instrument, instrument).Turned, t => t.OutcomeChanged);
    }

    [Fact] // two returns that a link joins are one, and no isolated supply says otherwise
    public void TwoReturnsJoinedByALink_AreNotCalledApart()
    {
        Instrument instrument = Sketch.Read(Sketch.Divider(supply: "5 V, return: 0V }\n  B9: { kind: dc, voltage: 9 V, return: AGND }\n  C3: { kind: dc, voltage: 3 V")
            .Replace("R3: {", "W1: { link: [AGND, 0V] }\n        R4: { resistor: 1 kΩ, between: [B9, AGND] }\n        R3: {", StringComparison.Ordinal));
        Assert.DoesNotContain(Reviewer.Review(instrument).Findings, f => f.Check == "isolation not bridged");
    }

    [Fact] // each states a return of its own, so that the walk for a return never meets the ring
    public void SuppliesThatFeedEachOther_AreRefused()
    {
        string text = Sketch.Divider(supply: "5 V, return: 0V }\n  P: { kind: switching converter, from: Q, voltage: 5 V, return: 0V }\n  Q: { kind: switching converter, from: P, voltage: 5 V");
        Diagnostic diagnostic = Assert.Single(InstrumentReader.ReadText("sketch.yaml", text).Diagnostics);
        Assert.Equal("recursion", diagnostic.Code);
    }

    [Fact] // NE 43 keeps measuring to 3.8 mA only where the instrument does: without a limit −2.5 kPa gives 3.6 mA
    public void FailureCurrentWithoutALimitOfMeasuring_IsNotDistinct()
    {
        string limits = "  limits: { failure: 3.6 mA }\n";
        Finding without = Sketch.Finding(Sketch.Read(Sketch.Divider(more: Output + limits)), "failure current distinct");
        Assert.Equal(Outcome.NotMet, without.Outcome);
        Assert.Contains("under", without.Mend, StringComparison.Ordinal);
        Finding with = Sketch.Finding(Sketch.Read(Sketch.Divider(more: Output + limits.Replace("failure", "under: 3.8 mA, failure", StringComparison.Ordinal))), "failure current distinct");
        Assert.Equal(Outcome.Met, with.Outcome);
    }

    [Fact] // the arithmetic names the second converter, of 5 V: 1 V through the divider is 0.5 V, code 410 of 4096
    public void TwoConverters_TheArithmeticSaysWhichIsRead()
    {
        string text = Sketch.Divider().Replace("from: reading", "from: precise", StringComparison.Ordinal)
            .Replace("  - arithmetic", "  - precise: { kind: adc, input: adc, bits: 12, reference: 5 V }\n  - arithmetic", StringComparison.Ordinal);
        ReadingsTable table = Reviewer.Readings(Sketch.Read(text), [100.0]);
        int code = table.Columns.Select((c, i) => (c, i)).Single(p => p.c.Name == "code").i;
        Assert.Equal(410, table.Rows[0].Values[code]);
    }

    [Fact] // 10 kΩ with 1 µF: T90 = RC ln 10 = 23.03 ms. There is no converter; the loop itself is what is read
    public void SensorStraightIntoTheLoop_HasAResponseTime()
    {
        Instrument instrument = Sketch.Read("""
            instrument: Straight
            specification: { measurand: pressure, range: 0 .. 100 kPa, response: 50 ms }
            sensor: { kind: table, signal: V, points: { 0 kPa: 0.4 V, 100 kPa: 2 V }, between: [s, 0V] }
            supplies:
              A5: { kind: dc, voltage: 5 V, return: 0V }
            stages:
              - output:
                  parts:
                    R1: { resistor: 10 kΩ, between: [s, f] }
                    C1: { capacitor: 1 µF, between: [f, 0V] }
                    U1: { op amp: {}, plus: f, minus: loop-, out: loop+, supply: [A5, 0V] }
                    R9: { resistor: 100 Ω, between: [loop-, 0V] }
                  from: [s, 0V]
                  to: loop
                  intent: { 0.4 V: 4 mA, 2 V: 20 mA }
            loop: { through: [loop+, loop-], scale: { 0 kPa: 4 mA, 100 kPa: 20 mA }, load: 50 Ω }
            """);
        Finding finding = Sketch.Finding(instrument, "response time");
        Assert.Equal(Outcome.Met, finding.Outcome);
        Assert.Equal(10e3 * 1e-6 * Math.Log(10), Sketch.Figure(finding, "T90"), 1e-4);
    }

    [Fact] // R4 lifts the input by A5/21 everywhere; the sensor's table is ten times steeper at the end, so that the start shows ten times the shift
    public void SupplyThatMovesTheStartOfTheRange_IsFoundThere()
    {
        string text = Sketch.Divider(supply: "5 V ±2 %", intent: "{ 0 V: 0.2381 V, 1 V: 0.7143 V }")
            .Replace("{ 0 kPa: 0 V, 100 kPa: 1 V }", "{ 0 kPa: 0 V, 50 kPa: 0.0909 V, 100 kPa: 1 V }", StringComparison.Ordinal)
            .Replace("R3: {", "R4: { resistor: 100 kΩ, between: [A5, adc] }\n        R3: {", StringComparison.Ordinal);
        Finding finding = Sketch.Finding(Sketch.Read(text), "reading independent of the supplies", "A5");

        // ΔV at the node 0.1 V · 5k/(100k + 5k) = 4.762 mV; dV/dx there 90.9 mV / 50 kPa · 0.4762 = 0.8657 mV/kPa: 5.50 kPa, ten times what the end shows.
        Assert.Equal(5.50, Math.Abs(Sketch.Figure(finding, "shift of the reading")), 0.05);
        Assert.Equal(Outcome.NotMet, finding.Outcome);
    }

    [Fact] // the intent counts volts at the divider of a Pt100, the step sets ohms: no line leads from one to the other, and no finding may pretend it
    public void StepInOhmsAtAStageWithAnIntentInVolts_IsNotJudgedByTheLine()
    {
        Instrument instrument = Sketch.Read("""
            instrument: Ohms and volts
            specification: { measurand: temperature, range: 0 .. 100 °C }
            sensor: { kind: platinum resistance, element: Pt100, wires: 2, between: [s, 0V] }
            supplies:
              A5: { kind: dc, voltage: 5 V, return: 0V }
            stages:
              - input:
                  parts:
                    R1: { resistor: 4.9 kΩ, between: [A5, top] }
                    VR1: { trimmer: 200 Ω, between: [top, s] }
                    R2: { resistor: 1 kΩ, between: [s, adc] }
                  from: [s, 0V]
                  to: adc
                  intent: { 0 V: 0 V, 1 V: 1 V }
              - reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V }
              - arithmetic: { from: reading }
            adjustment:
              - zero: { with: { s: 100 Ω }, turn: VR1, until: { adc: 98.04 mV ±0.1 mV } }
            """);
        Assert.DoesNotContain(Reviewer.Review(instrument).Findings, f => f.Check == "adjustment target agrees with the intent");
        Assert.Equal(Outcome.Met, Sketch.Finding(instrument, "adjustment target within the trimmer's reach").Outcome);
    }

    [Fact] // at 0 V out of a follower whose sensor is not on its input nothing brings 1 V there: the last point must not cover the first
    public void IntentOfAStageThatNothingDrives_IsNotMet()
    {
        string text = Sketch.Divider().Replace("from: [s, 0V]", "from: [A5, 0V]", StringComparison.Ordinal).Replace("{ 0 V: 0 V, 1 V: 0.5 V }", "{ 0 V: 0 V, 5 V: 0 V }", StringComparison.Ordinal);
        Finding finding = Sketch.Finding(Sketch.Read(text), "stage does what its intent says");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.StartsWith("Nothing that drives", finding.Statement, StringComparison.Ordinal);
    }

    [Fact] // both steps turn VR1 to different targets: the first one's position exists, but the second takes it away
    public void TrimmerTurnedTwice_SaysSoWithoutClaimingThatItIsTooSmall()
    {
        string text = Sketch.Divider(more: """
            adjustment:
              - first: { with: { s: 1 V }, turn: VR1, until: { TP1: 0.45 V ±1 mV } }
              - second: { with: { s: 1 V }, turn: VR1, until: { TP1: 0.48 V ±1 mV } }
            """).Replace("R1: { resistor: 10 kΩ, between: [s, adc] }", "R1: { resistor: 10 kΩ, between: [s, m] }\n        VR1: { trimmer: 5 kΩ, between: [m, adc] }", StringComparison.Ordinal);
        Finding finding = Sketch.Finding(Sketch.Read(text), "adjustment target within the trimmer's reach", "first");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        Assert.Contains("a later step", finding.Statement, StringComparison.Ordinal);
    }
}
