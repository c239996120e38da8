using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// One unit's way from the measurand to display and loop, nothing rounded, amplifiers without limits, a calibration neither rounded nor refused: what the linear budget is
/// the first order of.
/// </summary>
internal sealed class ExactChain(Evaluator evaluator)
{
    /// <summary>How many standards the user calibrates in; 0 when the code's readings are never calibrated.</summary>
    public int Points { get; } = evaluator.Model.Converter is null ? 0 : evaluator.Calibrator.Points;

    /// <summary>Temperature of the standards when nothing deviates, °C.</summary>
    public double StandardCelsius { get; } = evaluator.Instrument.Calibration?.Temperature.Middle ?? UnitState.ReferenceCelsius;

    /// <summary>The signal that the code takes from the converter at a state; NaN without an operating point or a converter.</summary>
    public double Signal(UnitState state) => evaluator.Model.Converter is null ? double.NaN : evaluator.SignalRead(state, rounded: false);

    /// <summary>A unit in a standard, conditions of the bench.</summary>
    public UnitState InStandard(UnitState unit, int standard, double celsius)
    {
        UnitState state = unit.Copy();
        SetReference(state);
        state.ProcessCelsius = celsius;
        state.Measurand = evaluator.Calibrator.TrueValue(standard, celsius, state);
        return state;
    }

    /// <summary>The signals that a unit gives in the standards.</summary>
    public ImmutableArray<double> InStandards(UnitState unit, double celsius) =>
        [.. Enumerable.Range(0, Points).Select(i => Signal(InStandard(unit, i, celsius)))];

    /// <summary>The indicated value for a signal.</summary>
    /// <param name="inStandards">Signals read in the standards; empty before the calibration.</param>
    /// <param name="celsius">The standards' temperature.</param>
    /// <param name="state">The unit and its conditions while it reads.</param>
    public double Indicated(double signal, ReadOnlySpan<double> inStandards, double celsius, UnitState state)
    {
        CalibrationLine line = CalibrationLine.Neutral;
        if (!inStandards.IsEmpty)
        {
            // The code reads its other inputs, too, as they are while the unit stands in the standards.
            (double process, double ambient) = (state.ProcessCelsius, state.AmbientCelsius);
            (state.ProcessCelsius, state.AmbientCelsius) = (celsius, evaluator.Nominal.AmbientCelsius);
            double believed = evaluator.AssumedProcess(state);
            Span<double> values = stackalloc double[inStandards.Length];
            for (int i = 0; i < values.Length; i++)
            {
                values[i] = evaluator.Calibrator.EnteredValue(i, believed);
            }

            line = evaluator.Calibrator.Fit(inStandards, values, believed, state).Line;
            (state.ProcessCelsius, state.AmbientCelsius) = (process, ambient);
        }

        return evaluator.Calibrator.Indicated(line, signal, evaluator.AssumedProcess(state), state);
    }

    /// <summary>The output converter's drive for an indicated value, V, neither rounded nor limited.</summary>
    /// <param name="state">The unit, whose trim counts.</param>
    public double DriveOf(double indicated, UnitState state) =>
        state.OutputTrim.Of(evaluator.OutputCodeOf(evaluator.LoopScale!.Forward(indicated))) * evaluator.VoltsPerOutputCode;

    /// <summary>The loop's current, A. The state's drive is set on the way.</summary>
    public double Loop(UnitState state, double indicated)
    {
        if (evaluator.Model.OutputConverter is not null)
        {
            state.DriveVolts = DriveOf(indicated, state);
        }

        return evaluator.Field.Solve(state, limited: false).Status == SolveStatus.Solved ? Evaluator.LoopValue(evaluator.Field) : double.NaN;
    }

    /// <summary>Puts a state under the conditions of the bench and of a calibration; the unit itself stays.</summary>
    public void SetReference(UnitState state)
    {
        UnitState nominal = evaluator.Nominal;
        state.AmbientCelsius = nominal.AmbientCelsius;
        state.ProcessCelsius = nominal.ProcessCelsius;
        state.Burden = nominal.Burden;
        state.AgeSeconds = 0;
        foreach (Parameter p in evaluator.Model.OutsideSupplies())
        {
            state.Values[evaluator.Model.Parameters.IndexOf(p)] = p.Quantity.Value;
        }
    }
}
