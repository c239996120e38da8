using System.Collections.Immutable;
using System.Runtime.InteropServices;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>How the signal that the code takes and the loop's current at a fixed drive move with everything, at one state. Converters' nonlinearities are apart,
/// since how they bend is a contribution of its own.</summary>
internal sealed record ChainGradient
{
    /// <summary>The signal that the code takes; NaN without a converter.</summary>
    public double Signal { get; init; } = double.NaN;

    /// <summary>Its change per code.</summary>
    public double SignalPerCode { get; init; }

    /// <summary>The code's place in the converter's range, 0 to 1.</summary>
    public double CodePlace { get; init; }

    /// <summary>Change of the signal per unit of everything; null without a converter.</summary>
    public Gradient? OfSignal { get; init; }

    /// <summary>Change of the signal per unit of the measurand; 0 unless asked for.</summary>
    public double SignalPerMeasurand { get; init; }

    /// <summary>A; NaN without a loop.</summary>
    public double LoopValue { get; init; } = double.NaN;

    /// <summary>Per volt that the output converter is told to give.</summary>
    public double LoopPerVolt { get; init; }

    /// <summary>What the output converter's nonlinearity does, per code of it, by its share at places of the range: where it stands, and where it stood while a trimmer
    /// was set by it.</summary>
    public ImmutableArray<(double Weight, double Place)> OutputErrors { get; init; } = [];

    /// <summary>Change of the loop's current per unit of everything with the drive held; null without a loop.</summary>
    public Gradient? OfLoop { get; init; }
}

/// <summary>Makes chain gradients: one solve and an adjoint solve for each reading.</summary>
internal sealed class ChainDifferentiator
{
    /// <summary>A drive this near, as a part of it, is not worth another solve: gradients move by no more.</summary>
    private const double DriveTolerance = 1e-5;

    private readonly Evaluator _evaluator;
    private readonly Extremes _extremes;
    private readonly Reading? _input;
    private readonly Reading? _reference;
    private readonly Reading? _loop;
    private readonly ConverterStage? _adc;
    private readonly OutputConverterStage? _dac;
    private readonly double[] _stepDrives;
    private readonly Binding[] _readMeasurand;
    private readonly Binding[] _readDrive;

    public ChainDifferentiator(Evaluator evaluator, Extremes extremes)
    {
        _evaluator = evaluator;
        _extremes = extremes;
        _adc = evaluator.Model.Converter;
        _dac = evaluator.Model.OutputConverter;
        BoundNetwork network = evaluator.Model.Field;
        _input = evaluator.ConverterProbe(network) is { } input ? new Reading(input) : null;
        _reference = _adc?.ReferenceNodes is { } nodes && Evaluator.VoltageProbe(network, nodes.Plus.Value, nodes.Minus?.Value) is { } probe ? new Reading(probe) : null;
        _loop = evaluator.Instrument.Loop is null ? null : new Reading(network.Output!.Value);
        UnitState state = evaluator.NewState();
        _readMeasurand = evaluator.Field.ReadersOf(state, UnitState.Of.Measurand, MeasurandStep);
        _readDrive = _dac is null ? [] : evaluator.Field.ReadersOf(state, UnitState.Of.Drive, FullDrive(_dac) * 1e-4);
        _stepDrives =
        [
            .. evaluator.Adjustment.Select(o =>
            {
                evaluator.SetSources(state, o.Step, evaluator.Nominal.DriveVolts);
                return state.DriveVolts;
            }),
        ];
    }

    /// <summary>The gradient at a state; null without an operating point.</summary>
    /// <param name="follow">Whether trimmers follow the parts, as they do on every adjusted unit.</param>
    /// <param name="driveOf">The output converter's drive for the signal that the code takes, V; null leaves the state's.</param>
    public ChainGradient? At(UnitState state, bool follow, bool withMeasurand = false, bool withLoop = true, Func<double, double>? driveOf = null)
    {
        NetworkRun run = _evaluator.Field;
        if (run.Solve(state, limited: false).Status != SolveStatus.Solved)
        {
            return null;
        }

        double volts = _input is { } input ? run.Read(input, state) : double.NaN;
        double code = _input is null ? double.NaN : _evaluator.ExactCode(run, volts, state);
        double signal = _input is null ? double.NaN : _evaluator.SignalOfCode(code);
        if (withLoop && driveOf is not null)
        {
            double drive = driveOf(signal);
            if (Math.Abs(drive - state.DriveVolts) > DriveTolerance * Math.Abs(drive))
            {
                state.DriveVolts = drive;
                if (run.Solve(state, limited: false, fromLast: true).Status != SolveStatus.Solved)
                {
                    return null;
                }
            }
        }

        List<Reading> readings = [];
        int Place(Reading? reading)
        {
            if (reading is { } wanted)
            {
                readings.Add(wanted);
                return readings.Count - 1;
            }

            return -1;
        }

        int ofInput = Place(_input);
        int ofReference = Place(_reference);
        int ofLoop = Place(withLoop ? _loop : null);
        Gradient[] gradients = [.. readings.Select(_ => new Gradient(_evaluator.Model.Parameters.Count, _evaluator.Model.Trimmers.Length))];
        run.Differentiate(CollectionsMarshal.AsSpan(readings), state, gradients);
        ChainGradient result = new();
        if (ofInput >= 0)
        {
            double perMeasurand = withMeasurand ? run.Slope(ofInput, state, UnitState.Of.Measurand, MeasurandStep, _readMeasurand) : 0;
            result = OfSignal(state, volts, code, signal, perMeasurand, gradients[ofInput], ofReference < 0 ? null : gradients[ofReference], follow);
        }

        return ofLoop < 0 ? result : AddLoop(result, state, ofLoop, gradients[ofLoop], follow);
    }

    private double MeasurandStep => _evaluator.Instrument.Specification.Range.Width * 1e-4;

    private ChainGradient OfSignal(
        UnitState state, double volts, double code, double signal, double voltsPerMeasurand, Gradient gradient, Gradient? ofReference, bool follow)
    {
        ConverterStage adc = _adc!;
        ParameterSet parameters = _evaluator.Model.Parameters;
        double fromReference = state.AmbientCelsius - UnitState.ReferenceCelsius;
        double reference = _evaluator.ReferenceVolts(_evaluator.Field, state);
        double gainError = adc.GainError is { } ge ? state.Value(ge) : 0;
        double perVolt = Math.ScaleB(adc.Gain * (1 + gainError) / reference, adc.Bipolar ? adc.Bits - 1 : adc.Bits);
        double straight = (volts + (adc.Offset is { } o ? state.Value(o) : 0)) * perVolt;
        (double low, double high) = _evaluator.CodeRange;

        // The constants of the code are straight between their points: a small step has only rounding in it.
        const double Step = 0.01;
        double perCode = (_evaluator.SignalOfCode(code + Step) - _evaluator.SignalOfCode(code - Step)) / (2 * Step);
        Scale(gradient, perVolt * perCode);
        if (ofReference is not null)
        {
            Add(gradient, ofReference, -straight / reference * perCode);
        }

        AddOwn(adc.Reference, -straight / reference);
        AddOwn(adc.ReferenceAgeing, -straight / (1 + (Aged(adc.ReferenceAgeing, state) * state.AgeSeconds)) * state.AgeSeconds);
        AddOwn(adc.Offset, perVolt);
        AddOwn(adc.GainError, straight / (1 + gainError));
        if (follow)
        {
            _extremes.Follow(gradient);
        }

        return new ChainGradient
        {
            Signal = signal,
            SignalPerCode = perCode,
            CodePlace = (straight - low) / (high - low),
            OfSignal = gradient,
            SignalPerMeasurand = voltsPerMeasurand * perVolt * perCode,
        };

        void AddOwn(Parameter? parameter, double codes)
        {
            if (parameter is not null)
            {
                int i = parameters.IndexOf(parameter);
                gradient.Values[i] += codes * perCode;
                gradient.Drifts[i] += codes * perCode * fromReference;
            }
        }
    }

    private ChainGradient AddLoop(ChainGradient signal, UnitState state, int reading, Gradient gradient, bool follow)
    {
        double perVolt = 0;
        List<(double, double)> errors = [];
        if (_dac is { } dac)
        {
            double full = FullDrive(dac);
            perVolt = _evaluator.Field.Slope(reading, state, UnitState.Of.Drive, full * 1e-4, _readDrive);
            if (dac.Nonlinearity is { } nonlinearity)
            {
                int i = _evaluator.Model.Parameters.IndexOf(nonlinearity);
                errors.Add((gradient.Values[i], state.DriveVolts / full));
                for (int step = 0; follow && step < _evaluator.Adjustment.Length; step++)
                {
                    double perTarget = 0;
                    for (int t = 0; t < gradient.Positions.Length; t++)
                    {
                        perTarget += gradient.Positions[t] * _extremes.PositionPerTarget(t, step);
                    }

                    if (_extremes.OfMeter(step) is { } meter && meter.Values[i] * perTarget != 0)
                    {
                        errors.Add((-perTarget * meter.Values[i], _stepDrives[step] / full));
                    }
                }
            }
        }

        if (follow)
        {
            _extremes.Follow(gradient);
        }

        if (_dac?.Nonlinearity is { } bent)
        {
            int i = _evaluator.Model.Parameters.IndexOf(bent);
            (gradient.Values[i], gradient.Drifts[i]) = (0, 0);
        }

        return new ChainGradient
        {
            Signal = signal.Signal,
            SignalPerCode = signal.SignalPerCode,
            CodePlace = signal.CodePlace,
            OfSignal = signal.OfSignal,
            SignalPerMeasurand = signal.SignalPerMeasurand,
            LoopValue = Evaluator.LoopValue(_evaluator.Field),
            LoopPerVolt = perVolt,
            OutputErrors = [.. errors],
            OfLoop = gradient,
        };
    }

    private static double Aged(Parameter? ageing, UnitState state) => ageing is null ? 0 : state.Value(ageing);

    private double FullDrive(OutputConverterStage dac) => (dac.Reference?.Quantity.Value ?? _evaluator.NominalOutputReference) * dac.Gain;

    private static void Scale(Gradient gradient, double factor)
    {
        Scale(gradient.Values, factor);
        Scale(gradient.Drifts, factor);
        Scale(gradient.Positions, factor);

        static void Scale(double[] numbers, double factor)
        {
            for (int i = 0; i < numbers.Length; i++)
            {
                numbers[i] *= factor;
            }
        }
    }

    private static void Add(Gradient gradient, Gradient other, double factor)
    {
        Add(gradient.Values, other.Values, factor);
        Add(gradient.Drifts, other.Drifts, factor);
        Add(gradient.Positions, other.Positions, factor);

        static void Add(double[] numbers, double[] others, double factor)
        {
            for (int i = 0; i < numbers.Length; i++)
            {
                numbers[i] += others[i] * factor;
            }
        }
    }
}
