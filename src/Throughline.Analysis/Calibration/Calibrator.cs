using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// What the code does when the user calibrates, and what it makes of a signal afterwards. One point shifts the zero and keeps the slope, two set both,
/// more are fitted by least squares. Immutable and shared between threads; nothing here allocates after construction.
/// </summary>
internal sealed class Calibrator
{
    private readonly Sensor _sensor;
    private readonly double? _pivot;
    private readonly double _slope;
    private readonly double _zeroAt;
    private readonly bool _zeroInVolts;
    private readonly double _acceptZero;
    private readonly double _leastSlope;
    private readonly double _greatestSlope;
    private readonly bool _followsTemperature;

    public Calibrator(Instrument instrument)
    {
        _sensor = instrument.Sensor;
        _pivot = _sensor.ZeroSignal;
        _slope = _sensor.NominalSlope;
        Specification s = instrument.Specification;
        _zeroAt = Math.Clamp(0, s.Range.Low, s.Range.High);
        Calibration? calibration = instrument.Calibration;
        Standards = calibration?.Standards ?? [];
        _followsTemperature = calibration?.FollowsTemperature ?? false;
        Points = instrument.Stages.OfType<ArithmeticStage>().FirstOrDefault()?.Calibration?.Value switch
        {
            "one-point" => Math.Min(1, Standards.Length),
            "two-point" => Math.Min(2, Standards.Length),
            _ => Standards.Length,
        };
        _zeroInVolts = calibration?.AcceptZero is { } zero ? zero.Dimension == Dimension.Voltage && s.Dimension != Dimension.Voltage : _pivot is not null;
        ZeroUnit = _zeroInVolts ? "V" : s.Unit;
        _acceptZero = calibration?.AcceptZero?.Tolerance ?? double.PositiveInfinity;
        _leastSlope = calibration?.AcceptSlope?.Low ?? double.NegativeInfinity;
        _greatestSlope = calibration?.AcceptSlope?.High ?? double.PositiveInfinity;
    }

    /// <summary>In the order asked for; the first <see cref="Points"/> of them are used.</summary>
    public ImmutableArray<CalibrationStandard> Standards { get; }

    /// <summary>How many standards the user calibrates in; 0 when the user does not calibrate.</summary>
    public int Points { get; }

    /// <summary>Unit of <see cref="CalibrationOutcome.Zero"/>: V, or the measurand's.</summary>
    public string ZeroUnit { get; }

    /// <summary>Accepted distance of the zero from the nominal one, in <see cref="ZeroUnit"/>; infinite without a limit.</summary>
    public double AcceptZero => _acceptZero;

    /// <summary>Accepted slopes as ratios to the theoretical one; infinite without limits.</summary>
    public (double Low, double High) AcceptSlope => (_leastSlope, _greatestSlope);

    /// <summary>The value that the code takes for a standard: that of its table where it knows the table, else the stated one.</summary>
    /// <param name="standard">Index in <see cref="Standards"/>.</param>
    /// <param name="celsius">The temperature that the code believes the standard to have, °C.</param>
    public double EnteredValue(int standard, double celsius) =>
        _followsTemperature ? Standards[standard].At(celsius) : Standards[standard].Value.Quantity.Value;

    /// <summary>The value that a standard really has, in the specification's unit.</summary>
    /// <param name="standard">Index in <see cref="Standards"/>.</param>
    /// <param name="celsius">Its temperature, °C.</param>
    /// <param name="toleranceDraw">From −1, the lower limit of its tolerance, over 0, the stated value, to 1, the upper limit.</param>
    public double TrueValue(int standard, double celsius, double toleranceDraw)
    {
        Quantity q = Standards[standard].Value.Quantity;
        return Standards[standard].At(celsius) + (toleranceDraw * (toleranceDraw < 0 ? q.Value - q.Low : q.High - q.Value));
    }

    /// <summary>The same for a unit whose state holds the value of the standard's parameter: the standard that its user happens to have.</summary>
    public double TrueValue(int standard, double celsius, IUnitState state)
    {
        Parameter value = Standards[standard].Value;
        return Standards[standard].At(celsius) + (state.Value(value) - value.Quantity.Value);
    }

    /// <summary>What the calibrated code makes of a signal, in the specification's unit; NaN when it can make nothing of it.</summary>
    /// <param name="line">As kept by the last calibration.</param>
    /// <param name="signal">The signal that the code takes the converter's code for, V, Ω, V/V or A.</param>
    /// <param name="assumedCelsius">The process temperature that the code uses, °C.</param>
    /// <param name="state">The unit and its conditions.</param>
    public double Indicated(CalibrationLine line, double signal, double assumedCelsius, IUnitState state) =>
        line.IsNeutral ? _sensor.Reading(signal, assumedCelsius, state)
        : _pivot is { } pivot ? _sensor.Reading(pivot + ((signal - pivot - line.Offset) / line.Gain), assumedCelsius, state)
        : line.Offset + (line.Gain * _sensor.Reading(signal, assumedCelsius, state));

    /// <summary>Fits the line and judges it by the file's limits, as the code does: a limit itself is accepted.</summary>
    /// <param name="signals">What the code reads in each standard, unit as in <see cref="Indicated"/>.</param>
    /// <param name="values">What it takes each standard for, same length.</param>
    /// <param name="assumedCelsius">The temperature that it believes the standards to have, °C.</param>
    /// <param name="state">The unit and its conditions while it is calibrated.</param>
    /// <exception cref="ArgumentException">The lengths differ or are 0.</exception>
    public CalibrationOutcome Fit(ReadOnlySpan<double> signals, ReadOnlySpan<double> values, double assumedCelsius, IUnitState state)
    {
        if (signals.Length != values.Length || signals.IsEmpty)
        {
            throw new ArgumentException("One signal to each standard, at least one.", nameof(signals));
        }

        // y = offset + gain · x: the electrode's signal over the nominal one, or the standard over what the nominal reading makes of the signal.
        double meanX = 0;
        double meanY = 0;
        for (int i = 0; i < signals.Length; i++)
        {
            (double x, double y) = Pair(signals[i], values[i], assumedCelsius, state);
            meanX += x;
            meanY += y;
        }

        meanX /= signals.Length;
        meanY /= signals.Length;
        double gain = 1;
        if (signals.Length > 1)
        {
            double xx = 0;
            double xy = 0;
            for (int i = 0; i < signals.Length; i++)
            {
                (double x, double y) = Pair(signals[i], values[i], assumedCelsius, state);
                xx += (x - meanX) * (x - meanX);
                xy += (x - meanX) * (y - meanY);
            }

            gain = xy / xx;
        }

        CalibrationLine line = new(meanY - (gain * meanX), gain);

        // Written so that NaN is caught too.
        return double.IsFinite(line.Offset) && double.IsFinite(gain) && gain != 0
            ? Judge(line)
            : new CalibrationOutcome(CalibrationLine.Neutral, double.NaN, double.NaN, CalibrationVerdict.Impossible);
    }

    /// <summary>Zero and slope of a line in the trade's terms, and what the limits say to them.</summary>
    public CalibrationOutcome Judge(CalibrationLine line)
    {
        double zero = ZeroOf(line);
        double slope = _pivot is null ? 1 / line.Gain : _slope * line.Gain;
        bool zeroGood = Math.Abs(zero) <= _acceptZero;
        bool slopeGood = slope >= _leastSlope && slope <= _greatestSlope;
        CalibrationVerdict verdict = (zeroGood, slopeGood) switch
        {
            (true, true) => CalibrationVerdict.Accepted,
            (false, true) => CalibrationVerdict.ZeroRefused,
            (true, false) => CalibrationVerdict.SlopeRefused,
            _ => CalibrationVerdict.BothRefused,
        };
        return new CalibrationOutcome(line, zero, slope, verdict);
    }

    /// <summary>The line of a sensor whose zero and slope are given in the trade's terms, as <see cref="Judge"/> gives them.</summary>
    public CalibrationLine LineOf(double zero, double slope)
    {
        const double Celsius = UnitState.ReferenceCelsius;
        if (_pivot is { } pivot)
        {
            double offset = _zeroInVolts ? zero : _sensor.NominalSignal(_sensor.MeasurandOf(pivot, Celsius) + zero, Celsius) - pivot;
            return new CalibrationLine(offset, slope / _slope);
        }

        double shift = _zeroInVolts ? _sensor.MeasurandOf(_sensor.NominalSignal(_zeroAt, Celsius) + zero, Celsius) - _zeroAt : zero;
        return new CalibrationLine(_zeroAt - ((_zeroAt + shift) / slope), 1 / slope);
    }

    /// <summary>The signal that <see cref="Indicated"/> makes a measurand of: what the sensor of this line gives.</summary>
    public double SignalOf(CalibrationLine line, double measurand, double celsius) =>
        _pivot is { } pivot
            ? pivot + line.Offset + (line.Gain * (_sensor.NominalSignal(measurand, celsius) - pivot))
            : _sensor.NominalSignal((measurand - line.Offset) / line.Gain, celsius);

    private (double X, double Y) Pair(double signal, double value, double celsius, IUnitState state) =>
        _pivot is { } pivot
            ? (_sensor.NominalSignal(value, celsius) - pivot, signal - pivot)
            : (_sensor.Reading(signal, celsius, state), value);

    private double ZeroOf(CalibrationLine line)
    {
        const double Celsius = UnitState.ReferenceCelsius;
        if (_pivot is { } pivot)
        {
            return _zeroInVolts ? line.Offset : _sensor.MeasurandOf(pivot + line.Offset, Celsius) - _sensor.MeasurandOf(pivot, Celsius);
        }

        // What the instrument without the calibration shows too much at its zero.
        double zero = ((_zeroAt - line.Offset) / line.Gain) - _zeroAt;
        return _zeroInVolts ? _sensor.NominalSignal(_zeroAt + zero, Celsius) - _sensor.NominalSignal(_zeroAt, Celsius) : zero;
    }
}
