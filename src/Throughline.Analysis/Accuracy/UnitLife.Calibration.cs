namespace Throughline.Analysis;

/// <content>The user's calibration of a block of units.</content>
internal sealed partial class UnitLife
{
    private readonly Calibrator _calibrator;
    private readonly double[] _signals;
    private readonly int _standardTemperature;

    /// <summary>What the code said to each unit's calibration; accepted where nothing is calibrated.</summary>
    public CalibrationVerdict[] Verdicts { get; }

    /// <summary>Zeros found, in the calibrator's unit.</summary>
    public double[] Zeros { get; }

    /// <summary>Slopes found, over the theoretical one.</summary>
    public double[] Slopes { get; }

    /// <summary>How many standards the user calibrates in.</summary>
    public int StandardCount => _calibrator.Points;

    /// <summary>The signal that the code took from the converter in a standard.</summary>
    public ReadOnlySpan<double> StandardSignals(int standard) => _signals.AsSpan(standard * Lanes, Lanes);

    /// <summary>Every unit's user calibrates once, in the standards that the user happens to have, at the temperature that they happen to have.
    /// A refused calibration leaves the code as it was.</summary>
    private void Calibrate(TestConditions conditions, int count)
    {
        Array.Fill(Verdicts, CalibrationVerdict.Accepted);
        int standards = _calibrator.Points;
        if (standards == 0 || _input is null)
        {
            return;
        }

        SetConditions(conditions, count);
        Span<double> process = _block.Condition(UnitState.Of.Process);
        process.Fill(Plan.StandardCelsius);
        if (_standardTemperature >= 0)
        {
            Held(_standardTemperature)[..count].CopyTo(process);
        }

        _block.Condition(UnitState.Of.Drive).Fill(_evaluator.Nominal.DriveVolts);
        _input.Prepare(_block, count);
        ReadyConverter(count);
        Span<double> measurand = _block.Condition(UnitState.Of.Measurand);
        for (int s = 0; s < standards; s++)
        {
            for (int lane = 0; lane < count; lane++)
            {
                _block.Lane = lane;
                measurand[lane] = _calibrator.TrueValue(s, process[lane], _block);
            }

            ReadCodes((Plan.Tests.Length * Plan.Points.Length) + s, count);
            for (int lane = 0; lane < count; lane++)
            {
                _signals[(s * Lanes) + lane] = SignalOf(_codes[lane]);
            }
        }

        Span<double> signals = stackalloc double[standards];
        Span<double> values = stackalloc double[standards];
        for (int lane = 0; lane < count; lane++)
        {
            _block.Lane = lane;
            double believed = _assumed[lane];
            for (int s = 0; s < standards; s++)
            {
                signals[s] = _signals[(s * Lanes) + lane];
                values[s] = _calibrator.EnteredValue(s, believed);
            }

            CalibrationOutcome outcome = _calibrator.Fit(signals, values, believed, _block);
            Verdicts[lane] = outcome.Verdict;
            (Zeros[lane], Slopes[lane]) = (outcome.Zero, outcome.Slope);
            if (outcome.IsAccepted)
            {
                _block.Calibration = outcome.Line;
            }
        }
    }
}
