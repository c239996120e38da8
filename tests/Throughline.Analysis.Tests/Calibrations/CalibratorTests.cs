using CsCheck;
using Throughline.Analysis.Tests.Corpus;
using Throughline.Instruments;
using Throughline.Instruments.Physics;
using Xunit;

namespace Throughline.Analysis.Tests.Calibrations;

public class CalibratorTests
{
    private static Evaluator Electrode(
        string calibration, string sensor = "glass electrode, zero: 7.00 ±0.50 pH, slope: 80 .. 105 %", string arithmetic = "calibration: two-point", string specification = "measurand: pH, range: 2 .. 12") =>
        new(Model.Compile(Sketch.Read($$"""
            instrument: Calibrated
            specification: { {{specification}}, process: 0 .. 50 °C }
            sensor: { kind: {{sensor}}, resistance: 1 MΩ, between: [probe, bias] }
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
            """)));

    private const string Case5 = "accept: { slope: 85 .. 105 %, zero: ±30 mV }";

    // Case 5 of the cases from practice. Slopes by hand: 174.00 and 175 mV over 3 pH, 145 mV over 3 pH, against 59.16 mV/pH; the zero is counted at the neutral buffer
    [Theory]
    [InlineData("7.00", "4.00", "7.00", -0.03839, 0.13561, 0.980, -0.0384, CalibrationVerdict.ZeroRefused)]
    [InlineData("7.01", "4.01", "7.01", -0.015, 0.160, 0.986, -0.015, CalibrationVerdict.Accepted)]
    [InlineData("7.01", "4.01", "7.01", 0.015, 0.160, 0.817, 0.015, CalibrationVerdict.SlopeRefused)]
    public void Fit_Case5_GivesTheStatedSlopeZeroAndVerdict(
        string first, string second, string zeroPh, double firstVolts, double secondVolts, double slope, double zero, CalibrationVerdict verdict)
    {
        Evaluator evaluator = Electrode($"{{ buffers: {{ first: {first}, second: {second} }}, {Case5} }}", $"glass electrode, zero: {zeroPh} ±0.5 pH, slope: 80 .. 105 %");
        Calibrator calibrator = evaluator.Calibrator;
        CalibrationOutcome outcome = calibrator.Fit(
            [firstVolts, secondVolts], [calibrator.EnteredValue(0, 25), calibrator.EnteredValue(1, 25)], 25, evaluator.NewState());
        Assert.Equal(slope, outcome.Slope, 0.0005);
        Assert.Equal(zero, outcome.Zero, 0.00005);
        Assert.Equal(verdict, outcome.Verdict);
        Assert.Equal("V", calibrator.ZeroUnit);
    }

    [Fact] // By hand: an electrode of 90 % with 20 mV of zero is read without error after two points, at any temperature of the process
    public void Indicated_AfterTwoPoints_IsTheTruthForEveryElectrodeWithTheNominalIsopotential() =>
        Gen.Select(Gen.Double[0.6, 1.1], Gen.Double[6.3, 7.7], Gen.Double[0, 50], Gen.Double[0, 50], Gen.Double[0, 14]).Sample((slope, zero, standards, process, ph) =>
        {
            Evaluator evaluator = Electrode("{ buffers: { first: 7.00, second: 4.00 } }");
            UnitState state = evaluator.NewState();
            Span<double> signals = [Signal(7, standards), Signal(4, standards)];
            CalibrationOutcome outcome = evaluator.Calibrator.Fit(signals, [7, 4], standards, state);
            Assert.Equal(ph, evaluator.Calibrator.Indicated(outcome.Line, Signal(ph, process), process, state), 1e-9);
            Assert.Equal(slope, outcome.Slope, 1e-9);
            double Signal(double x, double celsius) => GlassElectrodeLaw.Potential(x, celsius, zero, slope, 7);
        }, iter: 100);

    [Fact] // By hand: the buffer of 4.00 is really 4.02, that of 7.00 right. The line passes (4.02, 4.00) and (7.00, 7.00): at 10.00 it reads 10 + 3 · 0.02/2.98 = 10.0201
    public void Indicated_WithOneBufferOff_HasTheWorkedResidual()
    {
        Evaluator evaluator = Electrode("{ buffers: { first: 7.00, second: 4.00 pH ±0.02 } }");
        UnitState state = evaluator.NewState();
        double buffer = evaluator.Calibrator.TrueValue(1, 25, 1);
        Assert.Equal(4.02, buffer, 1e-12);
        Assert.Equal(3.98, evaluator.Calibrator.TrueValue(1, 25, -1), 1e-12);
        Sensor sensor = evaluator.Instrument.Sensor;
        CalibrationOutcome outcome = evaluator.Calibrator.Fit([sensor.NominalSignal(7, 25), sensor.NominalSignal(buffer, 25)], [7, 4], 25, state);
        Assert.Equal(10 + (3 * 0.02 / 2.98), evaluator.Calibrator.Indicated(outcome.Line, sensor.NominalSignal(10, 25), 25, state), 1e-9);
    }

    [Fact] // Case 4 in reverse: a calibration whose code holds 25 °C while the buffers have 10 °C gives a slope of 56.18/59.16 = 95.0 % for a perfect electrode
    public void Fit_BuffersColderThanBelieved_TakesTheColdForWearOfTheElectrode()
    {
        Evaluator evaluator = Electrode("{ buffers: { first: 7.00, second: 4.00 }, at: 10 °C }");
        Sensor sensor = evaluator.Instrument.Sensor;
        CalibrationOutcome outcome = evaluator.Calibrator.Fit([sensor.NominalSignal(7, 10), sensor.NominalSignal(4, 10)], [7, 4], 25, evaluator.NewState());
        Assert.Equal(56.18 / 59.16, outcome.Slope, 0.0001);
    }

    [Fact]
    public void Fit_OnePoint_ShiftsAndKeepsTheSlope()
    {
        Evaluator evaluator = Electrode("{ buffers: { first: 7.00, second: 4.00 } }", arithmetic: "calibration: one-point");
        Assert.Equal(1, evaluator.Calibrator.Points);
        CalibrationOutcome outcome = evaluator.Calibrator.Fit([0.010], [7.0], 25, evaluator.NewState());
        Assert.Equal(new CalibrationLine(0.010, 1), outcome.Line);
        Assert.Equal(0.010, outcome.Zero, 1e-12);
    }

    [Fact] // Least squares by hand: points (−1, 0.1), (0, −0.2), (1, 0.1) about the nominal signals have offset 0 and no extra slope
    public void Fit_ThreePoints_IsTheLeastSquaresLine()
    {
        Evaluator evaluator = Electrode("{ buffers: { first: 4.00, second: 7.00, third: 10.00 } }", arithmetic: "calibration: n-point");
        Sensor sensor = evaluator.Instrument.Sensor;
        double[] signals = [sensor.NominalSignal(4, 25) + 0.0001, sensor.NominalSignal(7, 25) - 0.0002, sensor.NominalSignal(10, 25) + 0.0001];
        CalibrationOutcome outcome = evaluator.Calibrator.Fit(signals, [4, 7, 10], 25, evaluator.NewState());
        Assert.Equal(0, outcome.Zero, 1e-15);
        Assert.Equal(1, outcome.Slope, 1e-12);
    }

    [Theory]
    [InlineData(double.NaN, 0.1, 7, 4)]
    [InlineData(0, double.PositiveInfinity, 7, 4)]
    [InlineData(0, 0.1, 7, 7)]
    [InlineData(0.05, 0.05, 7, 4)]
    [InlineData(0, 0.1, double.NaN, 4)]
    public void Fit_NoLine_IsImpossibleAndNeutral(double first, double second, double firstPh, double secondPh)
    {
        Evaluator evaluator = Electrode("{ buffers: { first: 7.00, second: 4.00 } }");
        CalibrationOutcome outcome = evaluator.Calibrator.Fit([first, second], [firstPh, secondPh], 25, evaluator.NewState());
        Assert.Equal((CalibrationVerdict.Impossible, CalibrationLine.Neutral), (outcome.Verdict, outcome.Line));
    }

    [Fact]
    public void Judge_AtTheLimits_Accepts()
    {
        Calibrator calibrator = Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Case5} }}").Calibrator;
        Assert.True(calibrator.Judge(new CalibrationLine(0.030, 0.85)).IsAccepted);
        Assert.True(calibrator.Judge(new CalibrationLine(-0.030, 1.05)).IsAccepted);
        Assert.Equal(CalibrationVerdict.BothRefused, calibrator.Judge(new CalibrationLine(0.031, 0.84)).Verdict);
        Assert.Equal(CalibrationVerdict.SlopeRefused, calibrator.Judge(new CalibrationLine(0, double.NaN)).Verdict | CalibrationVerdict.SlopeRefused);
        Assert.False(calibrator.Judge(new CalibrationLine(double.NaN, 1)).IsAccepted);
    }

    [Fact] // ±0.5 pH of zero are 29.6 mV at 25 °C
    public void Judge_ZeroLimitInPh_IsReferredToTheNominalSlope()
    {
        Calibrator calibrator = Electrode(
            "{ buffers: { first: 7.00, second: 4.00 }, accept: { zero: ±0.5 pH } }", "glass electrode, zero: 7.00 ±0.5 pH").Calibrator;
        Assert.Equal("pH", calibrator.ZeroUnit);
        Assert.Equal(-0.010 / 0.05916, calibrator.Judge(new CalibrationLine(0.010, 1)).Zero, 0.0001);
        Assert.True(calibrator.Judge(new CalibrationLine(0.0295, 1)).IsAccepted);
        Assert.False(calibrator.Judge(new CalibrationLine(0.0297, 1)).IsAccepted);
    }

    [Fact] // An ion-selective electrode of −1 with 120 mV at 1 mmol/L: 5 mV more and 95 % of the slope are told apart by two points
    public void Fit_IonSelectiveElectrode_FindsPotentialAndSlope()
    {
        Evaluator evaluator = Electrode(
            "{ standards: { first: 1 mmol/L, second: 10 mmol/L } }",
            "ion-selective electrode, charge: -1, potential at: { 1 mmol/L: 120 mV ±10 mV }",
            specification: "measurand: chloride, unit: mmol/L, range: 0.5 .. 50 mmol/L");
        double k = 0.95 * Nernst.Slope(25);
        UnitState state = evaluator.NewState();
        CalibrationOutcome outcome = evaluator.Calibrator.Fit([0.125, 0.125 - k], [1, 10], 25, state);
        Assert.Equal(0.005, outcome.Zero, 1e-12);
        Assert.Equal(0.95, outcome.Slope, 1e-12);
        Assert.Equal(3, evaluator.Calibrator.Indicated(outcome.Line, 0.125 - (k * Math.Log10(3)), 25, state), 1e-9);
    }

    [Fact] // A pressure sensor that gives 2 % less and 10 mV more: 0 kPa reads 1 kPa, 100 kPa reads 99 kPa. Slope 98 %, zero 1 kPa
    public void Fit_OtherSensor_IsCorrectedInTheMeasurand()
    {
        Instrument instrument = Sketch.Read(Sketch.Divider(more: "calibration: { standards: { first: 0 kPa, second: 100 kPa }, accept: { slope: 97 .. 103 %, zero: ±1.5 kPa } }"));
        Evaluator evaluator = new(Model.Compile(instrument));
        UnitState state = evaluator.NewState();
        CalibrationOutcome outcome = evaluator.Calibrator.Fit([0.01, 0.99], [0, 100], 25, state);
        Assert.Equal((1, 0.98, true), (Math.Round(outcome.Zero, 9), Math.Round(outcome.Slope, 9), outcome.IsAccepted));
        Assert.Equal(50, evaluator.Calibrator.Indicated(outcome.Line, 0.50, 25, state), 1e-9);
        Assert.Equal("kPa", evaluator.Calibrator.ZeroUnit);
    }

    [Fact]
    public void FitAndIndicated_AllocateNothing()
    {
        Evaluator evaluator = Electrode($"{{ buffers: {{ first: 7.00 pH ±0.02, second: 4.00 pH ±0.02, follows temperature: true }}, at: 15 .. 30 °C, {Case5} }}");
        Calibrator calibrator = evaluator.Calibrator;
        UnitState state = evaluator.NewState();
        double sum = Round();
        long before = GC.GetAllocatedBytesForCurrentThread();
        sum += Round();
        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
        Assert.True(double.IsFinite(sum));

        double Round()
        {
            double total = 0;
            for (int i = 0; i < 100; i++)
            {
                double celsius = 15 + (i * 0.1);
                Span<double> signals = [0.001 * i, 0.17];
                Span<double> values = [calibrator.EnteredValue(0, celsius), calibrator.TrueValue(1, celsius, 0.5)];
                CalibrationOutcome outcome = calibrator.Fit(signals, values, celsius, state);
                total += calibrator.Indicated(outcome.Line, 0.1, celsius, state);
            }

            return total;
        }
    }

    [Fact] // Through the whole chain: after its calibration a unit with another zero, slope and reference reads its own buffers exactly, and the truth between them
    public void Calibrate_OfAUnit_TakesOutZeroSlopeAndReference()
    {
        Evaluator evaluator = Electrode($"{{ buffers: {{ first: 7.00, second: 4.00, follows temperature: true }}, {Case5} }}", "glass electrode, zero: 7.00 ±0.5 pH, slope: 80 .. 105 %");
        UnitState state = evaluator.NewState();
        GlassElectrode electrode = (GlassElectrode)evaluator.Instrument.Sensor;
        state.Values[evaluator.Model.Parameters.IndexOf(electrode.Zero)] = 7.2;
        state.Values[evaluator.Model.Parameters.IndexOf(electrode.Slope)] = 0.93;
        state.Measurand = 5.5;
        // 7 − 0.93 · (7.2 − 5.5), by hand
        Assert.Equal(5.419, evaluator.Chain(state).IndicatedExact, 1e-6);
        CalibrationOutcome outcome = evaluator.Calibrate(state, 15);
        Assert.Equal(CalibrationVerdict.Accepted, outcome.Verdict);
        Assert.Equal(0.2 * 0.05916 * 0.93, outcome.Zero, 1e-5);
        Assert.Equal((5.5, 25.0), (state.Measurand, state.ProcessCelsius));
        Assert.Equal(5.5, evaluator.Chain(state).IndicatedExact, 1e-6);
        UnitState copy = evaluator.NewState();
        Assert.True(copy.Calibration.IsNeutral);
        copy.CopyFrom(state);
        Assert.Equal(state.Calibration, copy.Calibration);
    }

    [Fact]
    public void Calibrate_Refused_KeepsTheLineThatWas()
    {
        Evaluator evaluator = Electrode($"{{ buffers: {{ first: 7.00, second: 4.00 }}, {Case5} }}");
        UnitState state = evaluator.NewState();
        state.Values[evaluator.Model.Parameters.IndexOf(((GlassElectrode)evaluator.Instrument.Sensor).Zero)] = 7.6;
        Assert.Equal(CalibrationVerdict.ZeroRefused, evaluator.Calibrate(state, 25).Verdict);
        Assert.True(state.Calibration.IsNeutral);
    }

    [Fact] // Error of the measured temperature by hand: 2 K too much at pH 4 shifts by 3 · 2/298.15 = 0.0201 towards pH 7
    public void Chain_TemperatureMeasuredWrongly_ShiftsTheReading()
    {
        Evaluator evaluator = Electrode("{ buffers: { first: 7.00, second: 4.00 } }", arithmetic: "calibration: two-point, temperature error: ±2 K");
        UnitState state = evaluator.NewState();
        state.Measurand = 4;
        double right = evaluator.Chain(state).IndicatedExact;
        state.Values[evaluator.Model.Parameters.IndexOf(evaluator.Model.Arithmetic!.TemperatureError!)] = 2;
        Assert.Equal(3 * 2 / 300.15, evaluator.Chain(state).IndicatedExact - right, 1e-6);
    }
}
