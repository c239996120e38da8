using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Adjusting;

/// <summary>Steps that move jumpers or set a node within the circuit: closed forms of a divider.</summary>
public sealed class JumperTests
{
    /// <summary>A divider of 5 V: 10 kΩ and a rheostat of 5 kΩ above, 10 kΩ below; a load of 10 kΩ behind J1.</summary>
    private static string Divider(string step) => $$"""
        instrument: Divider behind a jumper
        specification: { measurand: pressure, range: 0 .. 100 kPa, display: { step: 0.1 kPa, error: ±50 kPa } }
        sensor: { kind: table, signal: V, points: { 0 kPa: 0 V, 100 kPa: 1 V }, between: [s, 0V] }
        supplies:
          A5: { kind: dc, voltage: 5 V, return: 0V }
        stages:
          - input:
              parts:
                R0: { resistor: 10 kΩ, between: [s, 0V] }
                R1: { resistor: 10 kΩ, between: [A5, top] }
                VR1: { trimmer: 5 kΩ, between: [top, mid] }
                R2: { resistor: 10 kΩ, between: [mid, 0V] }
                J1: { jumper: run, positions: { run: [mid, load], test: [mid, spare] } }
                W1: { link: [spare, end] }
                RL: { resistor: 10 kΩ, between: [load, 0V] }
                RS: { resistor: 30 kΩ, between: [end, 0V] }
                RC: { resistor: 10 kΩ, between: [s, adc] }
                RD: { resistor: 10 kΩ, between: [adc, 0V] }
              from: [s, 0V]
              to: adc
              test points: { TP1: mid, TP2: adc }
          - reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V }
          - arithmetic: { from: reading, to: measurand }
        adjustment:
          - divider: {{step}}
        """;

    /// <summary>Position at which a rheostat of 5 kΩ above a load gives a voltage: (5 V / v − 1) load − 10 kΩ, over 5 kΩ.</summary>
    private static double Position(double volts, double load) => ((((5 / volts) - 1) * load) - 10e3) / 5e3;

    [Theory]
    [InlineData("{ turn: VR1, until: { TP1: 1.500 V ±1 mV } }", 1.5, 5e3)]                            // J1 at run: 10 kΩ beside 10 kΩ
    [InlineData("{ jumpers: { J1: test }, turn: VR1, until: { TP1: 1.900 V ±1 mV } }", 1.9, 7.5e3)]     // 30 kΩ beside 10 kΩ
    [InlineData("{ jumpers: { J1: out }, turn: VR1, until: { TP1: 2.200 V ±1 mV } }", 2.2, 10e3)]
    [InlineData("{ jumpers: { J1: test, W1: out }, turn: VR1, until: { TP1: 2.200 V ±1 mV } }", 2.2, 10e3)]
    public void Adjust_WithJumpersMoved_TurnsToTheClosedForm(string step, double volts, double load)
    {
        Instrument instrument = Sketch.Read(Divider(step));
        Evaluator evaluator = new(Model.Compile(instrument));
        AdjustmentOutcome outcome = Assert.Single(evaluator.Adjustment);
        Assert.True(outcome.Reached);
        Assert.Equal(Position(volts, load), outcome.Position, 1e-6);
        UnitLife life = BatchRunner.RunOne(LifePlan.Create(evaluator.Model), new BatchOptions(), 3);
        Assert.True(life.Reached(0)[0]);
        Assert.Equal(volts, life.MeterReadings(0)[0], 1e-3);
    }

    /// <summary>A node within the circuit that a step sets is held there; the sensor's signal is another matter.</summary>
    [Fact]
    public void Adjust_WithAnInnerNodeSet_SeesTheNodeAndNotTheSensor()
    {
        // 4 V at the top of the rheostat: 10 kΩ ∥ 10 kΩ below, so that 2.5 V stand at 3 kΩ of it.
        Instrument instrument = Sketch.Read(Divider("{ with: { top: 4 V }, turn: VR1, until: { TP1: 2.500 V ±1 mV } }"));
        AdjustmentOutcome outcome = Assert.Single(new Evaluator(Model.Compile(instrument)).Adjustment);
        Assert.True(outcome.Reached);
        Assert.Equal(((4 / 2.5) - 1) * 5e3 / 5e3, outcome.Position, 1e-6);
    }

    [Theory]
    [InlineData("{ jumpers: { J1: tset }, turn: VR1, until: { TP1: 1.5 V } }", "test")]
    [InlineData("{ jumpers: { J2: test }, turn: VR1, until: { TP1: 1.5 V } }", "J1")]
    [InlineData("{ jumpers: { R1: out }, turn: VR1, until: { TP1: 1.5 V } }", "J1")]
    [InlineData("{ jumpers: { W1: test }, turn: VR1, until: { TP1: 1.5 V } }", "out")]
    public void Read_OfAJumperThatCannotBe_SaysWhatCan(string step, string mention)
    {
        Parsed<Instrument> read = InstrumentReader.ReadText("sketch.yaml", Divider(step));
        Diagnostic diagnostic = Assert.Single(read.Diagnostics);
        Assert.Contains(mention, diagnostic.Expected, StringComparison.Ordinal);
        Assert.Equal(25, diagnostic.Span.Line);
    }
}
