using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <content>The user's calibration, performed on a unit through its whole chain.</content>
internal sealed partial class Evaluator
{
    /// <summary>What the code does when the user calibrates; with <see cref="Calibrator.Points"/> of 0 when the user does not.</summary>
    public Calibrator Calibrator { get; }

    /// <summary>
    /// Calibrates a unit: each standard in turn stands for the measurand, the chain gives a signal, the code fits its line. The state's conditions are put back; where the code
    /// accepts, the state keeps the line, otherwise the one it had.
    /// </summary>
    /// <param name="state">The unit: its standards are those its parameters say. Drift counts from now on: <see cref="UnitState.AgeSeconds"/> is 0 meanwhile.</param>
    /// <param name="celsius">Temperature of the standards, °C.</param>
    /// <param name="rounded">Whether the code sees whole codes; averaging hides their steps.</param>
    public CalibrationOutcome Calibrate(UnitState state, double celsius, bool rounded = false)
    {
        int points = Calibrator.Points;
        if (points == 0 || Model.Converter is null)
        {
            return new CalibrationOutcome(state.Calibration, double.NaN, double.NaN, CalibrationVerdict.Impossible);
        }

        (double measurand, double process, double age) = (state.Measurand, state.ProcessCelsius, state.AgeSeconds);
        state.ProcessCelsius = celsius;
        state.AgeSeconds = 0;
        double assumed = AssumedProcess(state);
        Span<double> signals = stackalloc double[points];
        Span<double> values = stackalloc double[points];
        for (int i = 0; i < points; i++)
        {
            state.Measurand = Calibrator.TrueValue(i, celsius, state);
            signals[i] = SignalRead(state, rounded);
            values[i] = Calibrator.EnteredValue(i, assumed);
        }

        CalibrationOutcome outcome = Calibrator.Fit(signals, values, assumed, state);
        (state.Measurand, state.ProcessCelsius, state.AgeSeconds) = (measurand, process, age);
        if (outcome.IsAccepted)
        {
            state.Calibration = outcome.Line;
        }

        return outcome;
    }

    /// <summary>The signal that the code takes the converter's code for at a state, without amplifier limits; NaN when there is no operating point.</summary>
    internal double SignalRead(UnitState state, bool rounded)
    {
        if (Field.Solve(state, limited: false).Status != SolveStatus.Solved)
        {
            return double.NaN;
        }

        ConverterStage adc = Model.Converter!;
        double exact = ExactCode(Field, Volts(Field, adc.Input.Value, adc.InputReturn?.Value), state);
        (double low, double high) = CodeRange;
        return SignalOfCode(rounded ? Math.Clamp(Math.Round(exact), low, high) : exact);
    }
}
