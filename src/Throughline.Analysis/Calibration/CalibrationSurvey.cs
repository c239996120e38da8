using System.Collections.Immutable;
using Throughline.Instruments;
using Throughline.Instruments.Physics;

namespace Throughline.Analysis;

/// <summary>
/// Plays the user's calibration through with good sensors, dead ones and mistakes. A good sensor is one at any corner of what its part of the file states; its standards are within
/// their tolerances, at either end of their temperatures, the measured temperature off by its stated error.
/// </summary>
internal sealed class CalibrationSurvey
{
    /// <summary>An electrode's slope below this share is worn out (common practice, no source: manuals begin to refuse between 80 and 85 %).</summary>
    private const double WornSlope = 0.80;

    /// <summary>An electrode's zero beyond this is dead, V (common practice, no source: the widest that manuals accept is ±60 mV).</summary>
    private const double DeadZeroVolts = 0.065;

    /// <summary>Any other sensor is dead when its zero is off by this share of the measuring range.</summary>
    private const double DeadZeroShare = 1.0 / 6;

    private const double WrongKelvin = 10;

    private const double Ninety = 0.1;

    private const int MostCorners = 8;

    private readonly Evaluator _evaluator;
    private readonly Calibrator _calibrator;
    private readonly Sensor _sensor;
    private readonly Specification _specification;
    private readonly Calibration _calibration;
    private readonly UnitState _state;
    private readonly double[] _signals;
    private readonly double[] _values;
    private readonly int[] _sensorCorners;
    private readonly int[] _allCorners;
    private readonly double[] _standardTemperatures;
    private readonly double[] _processTemperatures;
    private readonly double[] _points;

    private CalibrationSurvey(Evaluator evaluator)
    {
        _evaluator = evaluator;
        _calibrator = evaluator.Calibrator;
        _sensor = evaluator.Instrument.Sensor;
        _specification = evaluator.Instrument.Specification;
        _calibration = evaluator.Instrument.Calibration!;
        _state = evaluator.NewState();
        _signals = new double[_calibrator.Points];
        _values = new double[_calibrator.Points];
        _standardTemperatures = Ends(_calibration.Temperature);
        _processTemperatures = Ends(_specification.Process);
        _points = [.. Enumerable.Range(0, 7).Select(i => _specification.Range.Low + (_specification.Range.Width * i / 6))];
        ParameterSet parameters = evaluator.Model.Parameters;
        _state.AgeSeconds = 1;
        _sensorCorners = [.. _state.Reads(_sensor.Signal).Parameters.Where(i => parameters.High(i) > parameters.Low(i)).Take(MostCorners)];
        _state.AgeSeconds = 0;
        IEnumerable<Parameter?> others = [.. _calibrator.Standards.Take(_calibrator.Points).Select(s => s.Value), evaluator.Model.Arithmetic?.TemperatureError];
        _allCorners = [.. _sensorCorners, .. others.OfType<Parameter>().Where(p => p.Quantity.High > p.Quantity.Low).Select(parameters.IndexOf)];
    }

    /// <summary>Null when the user does not calibrate.</summary>
    /// <param name="allowedError">In the specification's unit: what the interval has to keep.</param>
    public static CalibrationReport? Build(Evaluator evaluator, double allowedError) =>
        evaluator.Calibrator.Points == 0 ? null : new CalibrationSurvey(evaluator).Build(allowedError);

    private CalibrationReport Build(double allowed)
    {
        (double leastZero, double greatestZero, double leastSlope, double greatestSlope) =
            (double.PositiveInfinity, double.NegativeInfinity, double.PositiveInfinity, double.NegativeInfinity);
        CalibrationOutcome? refused = null;
        double worst = 0;
        ForEach(_allCorners, _standardTemperatures, celsius =>
        {
            CalibrationOutcome outcome = Calibrate(celsius);
            (leastZero, greatestZero) = (Math.Min(leastZero, outcome.Zero), Math.Max(greatestZero, outcome.Zero));
            (leastSlope, greatestSlope) = (Math.Min(leastSlope, outcome.Slope), Math.Max(greatestSlope, outcome.Slope));
            double excess = Excess(outcome);
            if (!outcome.IsAccepted && (refused is null || excess > worst))
            {
                (refused, worst) = (outcome, excess);
            }
        });
        double interval = _specification.CalibrationInterval?.Value ?? 0;
        double atFirst = ErrorAt(0).Error;
        (double atEnd, double where, _) = ErrorAt(interval);
        return new CalibrationReport
        {
            Points = _calibrator.Points,
            ZeroUnit = _calibrator.ZeroUnit,
            LeastZero = leastZero,
            GreatestZero = greatestZero,
            LeastSlope = leastSlope,
            GreatestSlope = greatestSlope,
            AcceptedZero = _calibrator.AcceptZero,
            AcceptedLeastSlope = _calibrator.AcceptSlope.Low,
            AcceptedGreatestSlope = _calibrator.AcceptSlope.High,
            Refused = refused,
            Dead = DeadSensors(),
            OutOfRange = FindOutOfRange(),
            Mistakes = FindMistakes(),
            ErrorAtFirst = atFirst,
            ErrorAtEnd = atEnd,
            WorstAt = where,
            LongestInterval = LongestInterval(allowed, atFirst),
        };
    }

    private static double[] Ends(QuantityRange range) => range.Width > 0 ? [range.Low, range.High] : [range.Low];

    /// <summary>How far beyond the limits, in widths of them.</summary>
    private double Excess(CalibrationOutcome outcome)
    {
        (double low, double high) = _calibrator.AcceptSlope;
        double zero = (Math.Abs(outcome.Zero) - _calibrator.AcceptZero) / _calibrator.AcceptZero;
        double slope = Math.Max(low - outcome.Slope, outcome.Slope - high) / (high - low);
        return outcome.Verdict == CalibrationVerdict.Impossible ? double.PositiveInfinity : Math.Max(double.IsNaN(zero) ? 0 : zero, double.IsNaN(slope) ? 0 : slope);
    }

    /// <summary>Sets every corner of the parameters, and the stated values, at every temperature.</summary>
    private void ForEach(int[] parameters, double[] temperatures, Action<double> visit) => ForEach(parameters, temperatures, corner => visit(corner.Celsius));

    private void ForEach(int[] parameters, double[] temperatures, Action<Corner> visit)
    {
        foreach (double celsius in temperatures)
        {
            for (int number = -1; number < 1 << parameters.Length; number++)
            {
                Set(parameters, number);
                visit(new Corner(number, celsius));
            }
        }
    }

    /// <summary>Sets a corner of the parameters; all else is as on the nominal unit.</summary>
    private void Set(int[] parameters, int corner)
    {
        ParameterSet set = _evaluator.Model.Parameters;
        _state.CopyFrom(_evaluator.Nominal);
        for (int i = 0; i < parameters.Length && corner >= 0; i++)
        {
            _state.Values[parameters[i]] = (corner >> i & 1) == 0 ? set.Low(parameters[i]) : set.High(parameters[i]);
        }
    }

    /// <summary>The sensor's signal at a value of the measurand, as the code of a faultless circuit reads it.</summary>
    private double Signal(double measurand, double celsius)
    {
        (_state.Measurand, _state.ProcessCelsius) = (measurand, celsius);
        return _sensor.Signal(_state);
    }

    /// <summary>Fills in what the code reads and takes for the standards when all goes well.</summary>
    private double Prepare(double celsius)
    {
        _state.ProcessCelsius = celsius;
        double believed = _evaluator.AssumedProcess(_state);
        for (int i = 0; i < _signals.Length; i++)
        {
            _signals[i] = Signal(_calibrator.TrueValue(i, celsius, _state), celsius);
            _values[i] = _calibrator.EnteredValue(i, believed);
        }

        return believed;
    }

    private CalibrationOutcome Calibrate(double celsius)
    {
        double believed = Prepare(celsius);
        return _calibrator.Fit(_signals, _values, believed, _state);
    }

    /// <summary>The greatest error of the state's sensor over the measuring range and the process temperatures.</summary>
    private (double Error, double At) ErrorWith(CalibrationLine line)
    {
        // Rounding alone is no error.
        (double error, double at) = (0, _specification.Range.Low);
        double nothing = 1e-9 * _specification.Range.Width;
        foreach (double process in _processTemperatures)
        {
            foreach (double x in _points)
            {
                double signal = Signal(x, process);
                double e = _calibrator.Indicated(line, signal, _evaluator.AssumedProcess(_state), _state) - x;
                if (CheckContext.SizeOf(e) > Math.Max(nothing, CheckContext.SizeOf(error)))
                {
                    (error, at) = (e, x);
                }
            }
        }

        return (error, at);
    }

    private (double Error, double At, Corner Corner) ErrorAt(double seconds)
    {
        (double Error, double At, Corner Corner) worst = (0, _specification.Range.Low, new Corner(-1, _standardTemperatures[0]));
        ForEach(_allCorners, _standardTemperatures, corner =>
        {
            (double e, double x) = ErrorOf(corner.Celsius, seconds);
            if (CheckContext.SizeOf(e) > CheckContext.SizeOf(worst.Error))
            {
                worst = (e, x, corner);
            }
        });
        return worst;
    }

    /// <summary>The same of the state's sensor alone; none where it can't be calibrated.</summary>
    private (double Error, double At) ErrorOf(double celsius, double seconds)
    {
        _state.AgeSeconds = 0;
        CalibrationOutcome outcome = Calibrate(celsius);
        _state.AgeSeconds = seconds;
        return outcome.Verdict == CalibrationVerdict.Impossible ? (0, _specification.Range.Low) : ErrorWith(outcome.Line);
    }

    private double LongestInterval(double allowed, double atFirst)
    {
        if (!(Math.Abs(atFirst) <= allowed))
        {
            return 0;
        }

        const double Day = 86400;
        const double Longest = 100 * 365.25 * Day;
        double late = Day;
        (double Error, double At, Corner Corner) worst = ErrorAt(late);
        while (late < Longest && Keeps(worst.Error))
        {
            late *= 2;
            worst = ErrorAt(late);
        }

        if (late >= Longest)
        {
            return double.PositiveInfinity;
        }

        // The corner that is worst after too long says how long; the others are asked whether they hold as long.
        double early = late == Day ? 0 : late / 2;
        double least = early;
        double fine = (late - early) / 65536;
        while (true)
        {
            while (late - early > 1.5 * fine)
            {
                double middle = (early + late) / 2;
                Set(_allCorners, worst.Corner.Number);
                (early, late) = Keeps(ErrorOf(worst.Corner.Celsius, middle).Error) ? (middle, late) : (early, middle);
            }

            worst = ErrorAt(early);
            if (early == least || Keeps(worst.Error))
            {
                return early;
            }

            (early, late) = (least, early);
        }

        bool Keeps(double error) => Math.Abs(error) <= allowed;
    }

    private ImmutableArray<DeadSensor> DeadSensors()
    {
        // What good sensors do without a fault of the standards: a dead one is well beyond that.
        double zero = 0, below = 0, above = 0;
        ForEach(_sensorCorners, [UnitState.ReferenceCelsius], celsius =>
        {
            for (int i = 0; i < _signals.Length; i++)
            {
                _values[i] = _calibrator.Standards[i].At(celsius);
                _signals[i] = Signal(_values[i], celsius);
            }

            CalibrationOutcome outcome = _calibrator.Fit(_signals, _values, celsius, _state);
            zero = Math.Max(zero, Math.Abs(outcome.Zero));
            below = Math.Max(below, 1 - outcome.Slope);
            above = Math.Max(above, outcome.Slope - 1);
        });
        _state.CopyFrom(_evaluator.Nominal);
        List<DeadSensor> dead = [];
        double first = _sensor.NominalSignal(_calibrator.Standards[0].Value.Quantity.Value, UnitState.ReferenceCelsius);
        if (_calibrator.Points > 1)
        {
            Add("that gives the same signal in every standard", _ => first);
        }

        Add("that gives no signal at all", _ => 0);
        CalibrationLine neutral = CalibrationLine.Neutral;
        CalibrationOutcome nominal = _calibrator.Judge(neutral);
        double floor = _sensor.ZeroSignal is null ? _specification.Range.Width * DeadZeroShare : Math.Abs(_calibrator.Judge(neutral with { Offset = DeadZeroVolts }).Zero);
        double far = Math.Max(3 * zero, floor);
        foreach (double z in new[] { far, -far })
        {
            CalibrationLine line = _calibrator.LineOf(z, nominal.Slope);
            Add($"with a zero of {Zero(z)}", x => _calibrator.SignalOf(line, x, UnitState.ReferenceCelsius));
        }

        if (_calibrator.Points > 1)
        {
            foreach (double s in new[] { Math.Max(0.1, Math.Min(WornSlope, 1 - (2 * below))), Math.Max(2 - WornSlope, 1 + (2 * above)) })
            {
                CalibrationLine line = _calibrator.LineOf(0, s);
                Add($"with a slope of {Engineering.Percent(s)}", x => _calibrator.SignalOf(line, x, UnitState.ReferenceCelsius));
            }
        }

        return [.. dead];

        void Add(string name, Func<double, double> signal)
        {
            for (int i = 0; i < _signals.Length; i++)
            {
                _values[i] = _calibrator.Standards[i].At(UnitState.ReferenceCelsius);
                _signals[i] = signal(_values[i]);
            }

            dead.Add(new DeadSensor(name, _calibrator.Fit(_signals, _values, UnitState.ReferenceCelsius, _state).Verdict));
        }
    }

    private string Zero(double zero) => Engineering.Format(zero, _calibrator.ZeroUnit, 3, signed: true);

    /// <summary>The worst accepted sensor whose signal leaves the converter's linear range while the measurand is within its range.</summary>
    private (double Volts, double Measurand)? FindOutOfRange()
    {
        if (_evaluator.InputTransfer is not { } transfer || _evaluator.Model.Converter is not { } adc || !double.IsFinite(_calibrator.AcceptZero))
        {
            return null;
        }

        double full = _evaluator.ConverterFullScale;
        double low = Math.Max(adc.Bipolar ? -full : 0, adc.Linear?.Low ?? double.NegativeInfinity);
        double high = Math.Min(full, adc.Linear?.High ?? double.PositiveInfinity);
        double nominal = _sensor.NominalSlope;
        (double leastSlope, double greatestSlope) = _calibrator.Points < 2 ? (nominal, nominal) : _calibrator.AcceptSlope;
        (double Volts, double Measurand)? worst = null;
        double beyond = 1e-9;
        foreach (double slope in new[] { leastSlope, greatestSlope }.Where(double.IsFinite))
        {
            foreach (double zero in new[] { -_calibrator.AcceptZero, _calibrator.AcceptZero })
            {
                CalibrationLine line = _calibrator.LineOf(zero, slope);
                foreach (double x in new[] { _specification.Range.Low, _specification.Range.High })
                {
                    foreach (double process in _processTemperatures)
                    {
                        double volts = transfer.Forward(_calibrator.SignalOf(line, x, process));
                        double over = Math.Max(low - volts, volts - high);
                        if (over > beyond)
                        {
                            (worst, beyond) = ((volts, x), over);
                        }
                    }
                }
            }
        }

        return worst;
    }

    private ImmutableArray<CalibrationMistake> FindMistakes()
    {
        List<CalibrationMistake> mistakes = [];
        int n = _calibrator.Points;
        if (n > 1)
        {
            Play("standards swapped", _ => (_signals[0], _signals[1]) = (_signals[1], _signals[0]));
            for (int asked = 0; asked < n; asked++)
            {
                for (int taken = 0; taken < n; taken++)
                {
                    if (taken != asked)
                    {
                        (int a, int t) = (asked, taken);
                        Play($"{Say(t)} where {Say(a)} is asked for", _ => _signals[a] = _signals[t]);
                    }
                }
            }
        }

        for (int asked = 0; asked < n; asked++)
        {
            int a = asked;
            foreach ((string name, Func<double, double> value) in Others(a))
            {
                Play($"{name} instead of {Say(a)}", celsius => _signals[a] = Signal(value(celsius), celsius));
            }
        }

        PlayImpatience(mistakes);
        if (_evaluator.Model.Arithmetic is not { Compensation: Compensation.Fixed } && TemperatureCounts())
        {
            foreach (double kelvin in new[] { WrongKelvin, -WrongKelvin })
            {
                Play(
                    $"temperature of the standards taken {Engineering.Number(Math.Abs(kelvin))} K too {(kelvin > 0 ? "high" : "low")}",
                    celsius =>
                    {
                        for (int i = 0; i < n; i++)
                        {
                            _values[i] = _calibrator.EnteredValue(i, celsius + kelvin);
                        }
                    },
                    kelvin);
            }
        }

        return [.. mistakes];

        void Play(string name, Action<double> spoil, double kelvin = 0) => mistakes.Add(PlayOne(name, spoil, kelvin));
    }

    private CalibrationMistake PlayOne(string name, Action<double> spoil, double kelvin = 0)
    {
        bool slips = false;
        (double error, double at) = (0, double.NaN);
        string? refused = null;
        ForEach(_sensorCorners, _standardTemperatures, celsius =>
        {
            double believed = Prepare(celsius) + kelvin;
            spoil(celsius);
            CalibrationOutcome outcome = _calibrator.Fit(_signals, _values, believed, _state);
            refused ??= outcome.IsAccepted ? null : WordOf(outcome.Verdict);
            if (!outcome.IsAccepted)
            {
                return;
            }

            (double e, double x) = ErrorWith(outcome.Line);
            if (!slips || CheckContext.SizeOf(e) > CheckContext.SizeOf(error))
            {
                (error, at) = (e, x);
            }

            slips = true;
        });
        return new CalibrationMistake(name, slips, slips ? null : refused, slips ? error : double.NaN, at);
    }

    /// <summary>
    /// A standard taken before the sensor has settled. Its signal goes towards the standard's as an exponential of the stated T90; a reading counts as steady when it moves by less than the
    /// band over the time asked for.
    /// </summary>
    private void PlayImpatience(List<CalibrationMistake> mistakes)
    {
        if (_calibration is not { SteadyWithin: { } within, SteadyFor.Value: var seconds })
        {
            mistakes.Add(PlayOne("taken at nine tenths of the change", _ => Approach(_ => Ninety)));
            return;
        }

        if (_sensor.Response is not { Value: var t90 })
        {
            return;
        }

        // Change left behind when nine tenths are reached, and what of it goes within the time asked for.
        double decay = Math.Exp(-seconds * Math.Log(10) / t90);
        bool inVolts = within.Dimension == Dimension.Voltage && _specification.Dimension != Dimension.Voltage;
        bool isSteady = true;
        CalibrationMistake early = PlayOne("taken at nine tenths of the change", celsius => Approach(i =>
        {
            isSteady &= Ninety * Step(i, celsius) * (1 - decay) <= within.Value;
            return Ninety;
        }));
        mistakes.Add(isSteady ? early : early with { SlipsThrough = false, RefusedBy = "not steady", Error = double.NaN, At = double.NaN });
        mistakes.Add(PlayOne("taken as soon as it counts as steady", celsius => Approach(i =>
        {
            double step = Step(i, celsius);
            return step == 0 ? 0 : Math.Min(1, within.Value / (step * (1 - decay))) * decay;
        })));

        // How far the signal has to go in standard i, in the unit of the steadiness.
        double Step(int i, double celsius)
        {
            double from = Before(i);
            return inVolts ? Math.Abs(from - _signals[i]) : Math.Abs(_sensor.Reading(from, celsius, _state) - _sensor.Reading(_signals[i], celsius, _state));
        }
    }

    /// <summary>What the sensor gave before standard i: the standard before, or the end of the measuring range that is farther away.</summary>
    private double Before(int i)
    {
        if (i > 0)
        {
            return _signals[i - 1];
        }

        QuantityRange range = _specification.Range;
        double value = _calibrator.Standards[0].Value.Quantity.Value;
        return Signal(value - range.Low > range.High - value ? range.Low : range.High, _state.ProcessCelsius);
    }

    /// <summary>Leaves a share of the change undone in every standard.</summary>
    private void Approach(Func<int, double> left)
    {
        // From the last to the first: each needs the settled signal of the one before.
        for (int i = _signals.Length - 1; i >= 0; i--)
        {
            double from = Before(i);
            _signals[i] += left(i) * (from - _signals[i]);
        }
    }

    private bool TemperatureCounts()
    {
        double value = _calibrator.Standards[^1].Value.Quantity.Value;
        return _sensor.NominalSignal(value, 20) != _sensor.NominalSignal(value, 30) || _calibrator.EnteredValue(_calibrator.Points - 1, 20) != _calibrator.EnteredValue(_calibrator.Points - 1, 30);
    }

    /// <summary>Other standards of the usual set that a person may have in hand instead; those of the calibration itself apart.</summary>
    private IEnumerable<(string Name, Func<double, double> Value)> Others(int asked)
    {
        if (_specification.Dimension != Dimension.Acidity)
        {
            yield break;
        }

        const double Same = 0.05;
        foreach (PhBuffer buffer in PhBuffer.All.Where(b => b.Family == BufferFamily.Iupac || (b.Family == BufferFamily.Technical25 && b.Label == 7)))
        {
            bool isUsual = buffer.Name is "tetroxalate" or "phthalate" or "borax" or "carbonate" or "technical" || (buffer.Name == "phosphate" && buffer.Label < 7);
            if (isUsual && _calibrator.Standards.All(s => Math.Abs(s.Value.Quantity.Value - buffer.Label) > Same))
            {
                yield return ("pH " + (buffer.Label == 7 ? "7.00" : Engineering.Number(buffer.Label, 4)), celsius => buffer.Ph(Math.Clamp(celsius, buffer.LowestCelsius, buffer.HighestCelsius)));
            }
        }
    }

    private string Say(int standard)
    {
        double value = _calibrator.Standards[standard].Value.Quantity.Value;
        return _specification.Unit == "pH" ? "pH " + Engineering.Fixed(value, 2) : Engineering.WithUnit(Engineering.Number(value), _specification.Unit);
    }

    private static string WordOf(CalibrationVerdict verdict) => verdict switch
    {
        CalibrationVerdict.ZeroRefused => "zero",
        CalibrationVerdict.SlopeRefused => "slope",
        CalibrationVerdict.BothRefused => "zero and slope",
        _ => "no line",
    };

    /// <summary>A sensor and standards at their limits, as bits of their parameters, and the temperature at which they are calibrated; −1 for the stated values.</summary>
    private readonly record struct Corner(int Number, double Celsius);
}
