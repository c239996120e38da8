using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Analysis.Tests.Calibrations;

public class CalibrationReportTests
{
    private const string Window = "accept: { slope: 85 .. 105 %, zero: ±30 mV }";

    private static Instrument Electrode(
        string calibration, string sensor = "zero: 7.00 pH, slope: 100 %", string arithmetic = "calibration: two-point", string specification = "range: 4 .. 10, process: 25 °C") => Sketch.Read($$"""
            instrument: Calibrated
            specification: { measurand: pH, {{specification}}, display: { step: 0.01, error: ±0.1 } }
            sensor: { kind: glass electrode, {{sensor}}, resistance: 1 MΩ, between: [probe, bias] }
            supplies: { A5: { kind: dc, voltage: 5 V, return: 0V } }
            stages:
              - input:
                  parts:
                    VREF: { reference: 1.25 V, between: [bias, 0V] }
                    R1: { resistor: 1 kΩ, between: [probe, adc] }
                  from: [probe, bias]
                  to: adc
                  intent: { 0 mV: 1.25 V, 200 mV: 1.45 V }
              - reading: { kind: adc, input: adc, bits: 16, reference: 2.5 V }
              - arithmetic: { from: reading, {{arithmetic}} }
            calibration: {{calibration}}
            """);

    private static CalibrationReport Report(Instrument instrument)
    {
        CalibrationReport? report = Reviewer.Calibration(instrument);
        Assert.NotNull(report);
        return report;
    }

    private static CalibrationMistake Mistake(CalibrationReport report, string name) => Assert.Single(report.Mistakes, m => m.Name == name);

    [Fact] // By hand for a perfect electrode in 7.00 and 4.00: swapped, the line through (0 mV, 4) and (177 mV, 7) has a slope of −100 %; the same buffer twice has none
    public void Mistakes_SwappedOrTwice_AreRefused()
    {
        CalibrationReport report = Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window} }}"));
        Assert.Equal("zero and slope", Mistake(report, "standards swapped").RefusedBy);
        Assert.Equal("no line", Mistake(report, "pH 7.00 where pH 4.00 is asked for").RefusedBy);
        Assert.Equal("no line", Mistake(report, "pH 4.00 where pH 7.00 is asked for").RefusedBy);
    }

    [Fact] // By hand: without limits the swapped line is kept; it reads 11 − x: 10 reads 1, off by 9
    public void Mistakes_SwappedWithoutLimits_SlipThrough()
    {
        CalibrationMistake mistake = Mistake(Report(Electrode("{ buffers: { first: 7.00, second: 4.00 } }")), "standards swapped");
        Assert.True(mistake.SlipsThrough);
        Assert.Equal(-9, mistake.Error, 1e-6);
        Assert.Equal(10, mistake.At);
    }

    [Fact] // By hand: 6.865 taken for 7.00 beside a right 4.00. The line turns about 4.00 by 3/2.865 and is 0.135 off at 7, 0.135 · 6/2.865 = 0.2827 at 10; its slope is 2.865/3 = 95.5 %
    public void Mistakes_WrongBufferNearby_SlipsThroughWithTheWorkedError()
    {
        CalibrationReport report = Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window} }}"));
        CalibrationMistake mistake = Mistake(report, "pH 6.865 instead of pH 7.00");
        Assert.True(mistake.SlipsThrough);
        Assert.Equal(0.135 * 6 / 2.865, mistake.Error, 0.002);
        Assert.Equal(10, mistake.At);
        Assert.False(Mistake(report, "pH 9.18 instead of pH 7.00").SlipsThrough);

        // Nine tenths of the way from 10 to 7.00 and from 7.00 to 4.00 leave 0.3 pH in both: a little worse
        Assert.Equal(("taken at nine tenths of the change", -0.3), (report.WorstMistake!.Name, Math.Round(report.WorstMistake.Error, 9)));
    }

    [Fact] // By hand: nine tenths of the way from 7.00 to 4.00 leave 0.3 pH; in 7.00, coming from 4 or 10, 0.3 pH too. Without a criterion that is taken; with 0.5 mV in 10 s at a T90 of 30 s
           // 17.7 mV · (1 − 10^(−1/3)) = 9.5 mV moves: refused
    public void Mistakes_NotWaitedFor_IsRefusedBySteadiness()
    {
        CalibrationMistake open = Mistake(Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window} }}")), "taken at nine tenths of the change");
        Assert.True(open.SlipsThrough);
        CalibrationReport steady = Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window}, steady: {{ within: 0.5 mV, for: 10 s }} }}", "zero: 7.00 pH, response: 30 s"));
        Assert.Equal("not steady", Mistake(steady, "taken at nine tenths of the change").RefusedBy);

        // What is left when 0.5 mV pass in 10 s: 0.5 mV / (10^(1/3) − 1) = 0.433 mV, 0.0073 pH, in each buffer; at 10 the line's turning doubles it at most
        CalibrationMistake first = Mistake(steady, "taken as soon as it counts as steady");
        Assert.True(first.SlipsThrough);
        Assert.InRange(Math.Abs(first.Error), 0.0073, 0.0073 * 3.1);
    }

    [Fact] // By hand: the wait that a slow electrode needs is not in 10 s of 0.5 mV: at a T90 of 10 min only 17.7 mV · (1 − 10^(−1/60)) = 0.67 mV passes, at 20 min 0.34 mV: that slips through
    public void Mistakes_SlowElectrode_LooksSteadyAtNineTenths()
    {
        Instrument With(string response) => Electrode(
            $"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window}, steady: {{ within: 0.5 mV, for: 10 s }} }}", $"zero: 7.00 pH, response: {response}");
        Assert.False(Mistake(Report(With("10 min")), "taken at nine tenths of the change").SlipsThrough);
        Assert.True(Mistake(Report(With("20 min")), "taken at nine tenths of the change").SlipsThrough);
    }

    [Fact] // By hand: 10 K too much makes a perfect electrode look like 298.15/308.15 = 96.8 % of the slope; used at the right temperature it reads 3 · 10/298.15 = 0.1006 too much 3 pH from 7.00
    public void Mistakes_WrongTemperature_SlipsThroughWithTheWorkedError()
    {
        CalibrationReport report = Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00, family: constant }}, {Window} }}"));
        CalibrationMistake mistake = Mistake(report, "temperature of the standards taken 10 K too high");
        Assert.True(mistake.SlipsThrough);
        Assert.Equal(3 * 10 / 298.15, Math.Abs(mistake.Error), 1e-6);
    }

    [Fact] // By hand: 0.01 pH a day, ±0.01 pH of both buffers (0.01 + 0.02 · 3/3 = 0.03 at 10): (0.1 − 0.03)/0.01 = 7 days. Slope and drift of a perfect electrode only; the turned line
           // divides by its gain: 3.02/3 at most
    public void LongestInterval_OfDriftAndBuffers_IsAsWorked()
    {
        CalibrationReport report = Report(Electrode(
            $"{{ buffers: {{ first: 7.00 pH ±0.01, second: 4.00 pH ±0.01 }}, {Window} }}", "zero: 7.00 pH, drift: 0.01 pH/day", specification: "range: 4 .. 10, process: 25 °C, calibrated: every 5 days"));
        Assert.Equal(0.03, Math.Abs(report.ErrorAtFirst), 0.0003);
        Assert.Equal(0.08, Math.Abs(report.ErrorAtEnd), 0.0008);
        Assert.Equal(7 * 86400, report.LongestInterval, 0.08 * 86400);
    }

    [Fact]
    public void LongestInterval_WithoutDrift_IsInfinite_AndWithWideBuffersZero()
    {
        Assert.True(double.IsPositiveInfinity(Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window} }}")).LongestInterval));
        Assert.Equal(0, Report(Electrode($"{{ buffers: {{ first: 7.00 pH ±0.2, second: 4.00 pH ±0.01 }}, {Window} }}")).LongestInterval);
    }

    [Fact] // A perfect electrode in 7.00 gives 0 mV; so does a cracked one
    public void Dead_OnePointAtSeven_AcceptsACrackedElectrode()
    {
        CalibrationReport one = Report(Electrode($"{{ buffers: {{ first: 7.00 }}, {Window} }}", arithmetic: "calibration: one-point"));
        Assert.Equal(CalibrationVerdict.Accepted, Assert.Single(one.Dead, d => d.Name == "that gives no signal at all").Verdict);
        CalibrationReport two = Report(Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Window} }}"));
        Assert.All(two.Dead, d => Assert.NotEqual(CalibrationVerdict.Accepted, d.Verdict));
        Assert.Equal(6, two.Dead.Length);
    }

    [Fact]
    public void Build_WithoutCalibration_IsNull() => Assert.Null(Reviewer.Calibration(Sketch.Read(Sketch.Divider())));
}
