using System.Runtime.CompilerServices;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// One nominal, adjusted unit at work: a sensor in something, the whole chain behind it, the line of its last calibration. For those who play an instrument rather than
/// judge it. Holds buffers; one per thread.
/// </summary>
public sealed class SimulatedUnit
{
    // Several checks of one review ask for the same instrument's limits.
    private static readonly ConditionalWeakTable<Instrument, Tuple<double, double>> Limits = [];

    private readonly Evaluator _evaluator;
    private readonly UnitState _state;
    private NetworkRun? _broken;

    /// <summary>Builds and adjusts the unit; nothing of what the user wrote throws.</summary>
    public SimulatedUnit(Instrument instrument)
    {
        _evaluator = new Evaluator(Model.Compile(instrument));
        _state = _evaluator.NewState();
    }

    /// <summary>What the sensor stands in, in the specification's unit.</summary>
    public double Measurand { get => _state.Measurand; set => _state.Measurand = value; }

    /// <summary>Its temperature, °C.</summary>
    public double ProcessCelsius { get => _state.ProcessCelsius; set => _state.ProcessCelsius = value; }

    /// <summary>Whether a wire of the sensor is open. A sensor whose break says nothing, or that the file does not describe so far, stays whole.</summary>
    public bool IsBroken
    {
        get => _broken is not null;
        set => _broken = !value ? null
            : _broken ?? (Fault.All(_evaluator.Instrument).FirstOrDefault(f => f.Name.StartsWith("sensor open", StringComparison.Ordinal)) is { } fault
                ? new NetworkRun(_evaluator.Model.BindFault(fault))
                : null);
    }

    /// <summary>The numbers of the sensor that may differ from unit to unit.</summary>
    public IEnumerable<Parameter> SensorParameters => _evaluator.Instrument.Sensor.Parameters;

    /// <summary>Gives this unit's sensor a number of its own.</summary>
    /// <param name="parameter">One of <see cref="SensorParameters"/>.</param>
    public void SetSensor(Parameter parameter, double value) => _state.Values[_evaluator.Model.Parameters.IndexOf(parameter)] = value;

    /// <summary>The code that the converter gives now; null without a converter or where the circuit has no operating point.</summary>
    public long? Code()
    {
        double code = _evaluator.Chain(_broken ?? _evaluator.Field, _state, limited: true).Code;
        return double.IsFinite(code) ? (long)code : null;
    }

    /// <summary>The temperature that the code is given, °C: of the process, or of a thermocouple's terminals.</summary>
    public double MeasuredCelsius => _evaluator.Instrument.Sensor is ThermocoupleSensor ? _state.AmbientCelsius : _evaluator.AssumedProcess(_state);

    /// <summary>The loop's current at an output code, A; NaN without an output converter.</summary>
    public double LoopValueOf(long outputCode)
    {
        if (_evaluator.Model.OutputConverter is null)
        {
            return double.NaN;
        }

        NetworkRun run = _broken ?? _evaluator.Field;
        _state.DriveVolts = outputCode * _evaluator.VoltsPerOutputCode;
        run.Solve(_state, limited: true);
        return Evaluator.LoopValue(run);
    }

    /// <summary>In how many standards the user calibrates; 0 when the user does not.</summary>
    public int CalibrationPoints => _evaluator.Model.Converter is null ? 0 : _evaluator.Calibrator.Points;

    /// <summary>Unit of a calibration's zero: V, or the specification's.</summary>
    public string ZeroUnit => _evaluator.Calibrator.ZeroUnit;

    /// <summary>What the code works with; <see cref="CalibrationLine.Neutral"/> in a new unit.</summary>
    public CalibrationLine Calibration { get => _state.Calibration; set => _state.Calibration = value; }

    /// <summary>Runs the chain once.</summary>
    public SimulatedReading Read()
    {
        ChainPoint point = _evaluator.Chain(_broken ?? _evaluator.Field, _state, limited: true);
        Specification specification = _evaluator.Instrument.Specification;
        bool hasConverter = _evaluator.Model.Converter is not null;
        (double low, double high) = _evaluator.CodeRange;
        bool isPlausible = !hasConverter
            || (double.IsFinite(point.Indicated) && point.Code > low && point.Code < high && _evaluator.Model.Arithmetic?.Plausible?.Contains(point.Indicated) != false);
        return new SimulatedReading
        {
            Signal = hasConverter ? _evaluator.SignalOfCode(point.Code) : point.Signal,
            Indicated = point.Indicated,
            Shown = point.Display,
            Celsius = _evaluator.AssumedProcess(_state),
            LoopValue = point.LoopValue,
            IsPlausible = isPlausible,
            IsInRange = !hasConverter || specification.Range.Contains(point.Display),
        };
    }

    /// <summary>The loop's current when the code asks for one, A; NaN without a loop.</summary>
    public double LoopValue(double wantedValue)
    {
        if (_evaluator.Model.OutputConverter is not null)
        {
            double code = _evaluator.OutputCodeOf(wantedValue);
            if (!double.IsFinite(code))
            {
                return double.NaN;
            }

            _state.DriveVolts = _evaluator.NearestOutputCode(_state.OutputTrim.Of(code)) * _evaluator.VoltsPerOutputCode;
        }

        _evaluator.Field.Solve(_state, limited: true);
        return Evaluator.LoopValue(_evaluator.Field);
    }

    /// <summary>The value that the code takes a standard for at the temperature that it measures now.</summary>
    /// <param name="standard">From 0.</param>
    /// <param name="entered">The stated value as the user entered it, in the specification's unit.</param>
    public double ValueOf(int standard, double entered) =>
        _evaluator.Calibrator.EnteredValue(standard, _evaluator.AssumedProcess(_state)) + (entered - _evaluator.Calibrator.Standards[standard].Value.Quantity.Value);

    /// <summary>Fits and judges a line through readings; changes nothing.</summary>
    /// <param name="signals">As <see cref="SimulatedReading.Signal"/>, one for each standard.</param>
    /// <param name="values">What the code takes the standards for, same length.</param>
    /// <exception cref="ArgumentException">The lengths differ or are 0.</exception>
    public CalibrationOutcome Fit(ReadOnlySpan<double> signals, ReadOnlySpan<double> values) => _evaluator.Calibrator.Fit(signals, values, _evaluator.AssumedProcess(_state), _state);

    /// <summary>The signals that the code reads at the ends of the converter, V, Ω, V/V or A; NaN without one.</summary>
    public static (double Low, double High) SignalLimits(Instrument instrument)
    {
        (double low, double high) = Limits.GetValue(instrument, i =>
        {
            Evaluator evaluator = new(Model.Compile(i));
            (double atLow, double atHigh) = (evaluator.SignalOfCode(evaluator.CodeRange.Low), evaluator.SignalOfCode(evaluator.CodeRange.High));
            return Tuple.Create(Math.Min(atLow, atHigh), Math.Max(atLow, atHigh));
        });
        return (low, high);
    }
}

/// <summary>What a unit reads. NaN where the instrument has no such thing.</summary>
public readonly record struct SimulatedReading
{
    /// <summary>The sensor's signal that the code takes its reading for, V, Ω, V/V or A.</summary>
    public required double Signal { get; init; }

    /// <summary>In the specification's unit.</summary>
    public required double Indicated { get; init; }

    /// <summary>The same in steps of the display.</summary>
    public required double Shown { get; init; }

    /// <summary>The process temperature that the code uses, °C.</summary>
    public required double Celsius { get; init; }

    public required double LoopValue { get; init; }

    /// <summary>Whether the code believes the reading: inside the plausible range and not at an end of the converter.</summary>
    public required bool IsPlausible { get; init; }

    /// <summary>Whether it lies in the measuring range.</summary>
    public required bool IsInRange { get; init; }
}
