using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// A whole instrument's code at work, in whole numbers and with time: readings added up and evaluated, failures seen, the panel, calibration and settings, the output. One per thread.
/// </summary>
public sealed class PanelEngine : IPanelHost
{
    /// <summary>How often the settings are looked at, ms.</summary>
    public const int LooksEvery = 1000;

    private readonly ArithmeticDesign _design;
    private readonly ISettingsKeeper _settings;
    private readonly Int128[] _numbers;
    private readonly long[] _values;
    private readonly (long Factor, long Divisor)[] _standards;
    private readonly OutputTrimDesign? _trim;
    private readonly int _readings;
    private readonly long _plausibleLow;
    private readonly long _plausibleHigh;
    private readonly long _rangeLow;
    private readonly long _rangeHigh;
    private KeptSettings _kept;
    private long _sum;
    private int _count;
    private long _sinceSum;
    private long _sinceLook;
    private long _followed;
    private long _asked;
    private (long Steps, long Offset, long Gain, long Code) _given = (-1, 0, 0, 0);
    private bool _isCorrupt;
    private bool _isBroken;
    private bool _isOutside;

    /// <summary>Switches on.</summary>
    public PanelEngine(PanelProgram program, ISettingsKeeper settings)
    {
        Program = program;
        Calibration = program.Calibration is null ? null : new CalibrationSequence(program.Calibration);
        _standards = [.. Enumerable.Range(0, program.Calibration?.Points ?? 0).Select(program.StandardScale)];
        _settings = settings;
        _design = program.Arithmetic;
        _trim = program.OutputTrim;
        _numbers = new Int128[_design.Program.Nodes.Count];
        _values = new long[PanelWords.Sources.Length];
        Array.Fill(_values, PanelInputs.None);
        _readings = Math.Max(1, _design.Law.Converter.Average);
        (_plausibleLow, _plausibleHigh) = Plausible(_design);
        (_rangeLow, _rangeHigh) = Range(_design);
        _isCorrupt = !settings.Load(out _kept);
        _followed = StartSteps(program);
        _asked = _followed;
        OutputCode = CodeOf(_asked);
        Panel = new PanelRun(program, this, _kept.Language);
        WorkWithSettings();
    }

    public PanelProgram Program { get; }

    public PanelRun Panel { get; }

    /// <summary>Null where the user does not calibrate.</summary>
    public CalibrationSequence? Calibration { get; }

    /// <summary>What the output converter is given.</summary>
    public long OutputCode { get; private set; }

    /// <summary>What the arithmetic works with.</summary>
    public KeptSettings Kept => _kept;

    /// <summary>One bit for each failure that is present, in the order of <see cref="PanelFailureKind"/>.</summary>
    public int Failures => (_isBroken ? 1 << (int)PanelFailureKind.SensorBroken : 0) | (_isCorrupt ? 1 << (int)PanelFailureKind.MemoryCorrupt : 0)
        | (_isOutside ? 1 << (int)PanelFailureKind.OutOfRange : 0);

    /// <summary>The calibrated measurand of the last reading, in its unit; NaN before the first.</summary>
    public double Measurand => _values[(int)PanelSource.Measurand] == PanelInputs.None ? double.NaN : (double)_numbers[_design.Measurand.Index] * _design.Measurand.Step;

    /// <summary>The failure current in steps of the output code; null where the file has none, or nothing to give it with.</summary>
    public static long? FailureSteps(PanelProgram program) =>
        program.Arithmetic.Law.Instrument.Loop?.Failure is { } failure && program.Output is { } line ? line.NearestSteps(failure.Value) : null;

    /// <summary>The steps of the output code until the first reading is there: that of a failure, or the least that is measured with.</summary>
    public static long StartSteps(PanelProgram program) =>
        FailureSteps(program) ?? (program.Output is { } line && program.Arithmetic.Law.Instrument.Loop is { } loop ? line.NearestSteps(loop.Under?.Value ?? loop.Scale.Min(p => p.To.Value)) : 0);

    /// <summary>Least and greatest measurand that is believed, in its steps.</summary>
    internal static (long Low, long High) Plausible(ArithmeticDesign design) => design.Law.Arithmetic.Plausible is { } plausible
        ? Whole(plausible, design.Measurand)
        : ((long)design.Measurand.Low, (long)design.Measurand.High);

    /// <summary>The measuring range in steps of the display, or of the measurand without one.</summary>
    internal static (long Low, long High) Range(ArithmeticDesign design) => Whole(design.Law.Instrument.Specification.Range, design.Shown ?? design.Measurand);

    private static (long Low, long High) Whole(QuantityRange range, Node node) =>
        ((long)Math.Ceiling((range.Low / node.Step) - 1e-9), (long)Math.Floor((range.High / node.Step) + 1e-9));

    /// <summary>A reading of the converter and what else has happened since the one before.</summary>
    /// <param name="milliseconds">Up to 65535.</param>
    /// <param name="keys">One bit for each key that is down, the leftmost lowest.</param>
    /// <param name="code">Held to the codes that the converter has.</param>
    /// <param name="temperature">0.01 °C; held to what the arithmetic takes, not read where it takes none.</param>
    public void Tick(long milliseconds, ulong keys, long code, long temperature)
    {
        _sum += (long)Int128.Clamp(code, _design.Code.Low, _design.Code.High);
        _count++;
        _sinceSum += milliseconds;
        if (_count >= _readings)
        {
            Evaluate(temperature);
        }

        _sinceLook += milliseconds;
        if (_sinceLook >= LooksEvery)
        {
            _sinceLook = 0;
            _isCorrupt |= !_settings.IsSound();
        }

        _values[(int)PanelSource.LoopCurrent] = _asked;
        if (Calibration is not null)
        {
            _values[(int)PanelSource.SecondsSteady] = Math.Min(Calibration.SecondsSteady, ushort.MaxValue);
        }

        Panel.Tick(new PanelInputs(milliseconds, keys, Failures, Calibration?.IsSteady == true && !_isBroken, _values));
        if (Panel.Loop == PanelLoop.Trim && _trim is not null)
        {
            OutputCode = Panel.Trims == 0 ? _trim.LowCode : _trim.HighCode;
            _asked = OutputCode * OutputTrimDesign.StepsPerCode;
            return;
        }

        _asked = Panel.Loop switch
        {
            PanelLoop.Follows => Followed(),
            PanelLoop.Test when Program.Output is { } line && Program.EntryOf(PanelSource.TestCurrent) is >= 0 and int entry => line.StepsOf(Panel.Entered(entry)),
            _ => _followed,
        };
        OutputCode = CodeOf(_asked);
    }

    /// <summary>What the converter is given for what is asked for.</summary>
    private long CodeOf(long steps)
    {
        if (_trim is null)
        {
            return steps;
        }

        if ((_given.Steps, _given.Offset, _given.Gain) != (steps, _kept.TrimOffset, _kept.TrimGain))
        {
            _given = (steps, _kept.TrimOffset, _kept.TrimGain, _trim.CodeOf(steps, _kept.TrimOffset, _kept.TrimGain));
        }

        return _given.Code;
    }

    private long Followed()
    {
        if (_values[(int)PanelSource.Measurand] != PanelInputs.None)
        {
            _followed = _isBroken || _isCorrupt ? FailureSteps(Program) ?? Computed : Computed;
        }

        return _followed;
    }

    private long Computed => _design.OutputCode is { } node ? (long)_numbers[node.Index] : 0;

    private void Evaluate(long temperature)
    {
        long held = _design.Temperature is { } t ? (long)Int128.Clamp(temperature, t.Low, t.High) : Program.AssumedTemperature;
        _design.RunOfSum(new ArithmeticInputs(0, held, _kept.Zero, _kept.Gain), _sum, _numbers);
        Node shown = _design.Shown ?? _design.Measurand;
        long measurand = (long)_numbers[_design.Measurand.Index];
        long display = (long)_numbers[shown.Index];
        _isBroken = _sum <= (long)_design.Sum.Low || _sum >= (long)_design.Sum.High || measurand < _plausibleLow || measurand > _plausibleHigh;
        _isOutside = !_isBroken && (display < _rangeLow || display > _rangeHigh);
        _values[(int)PanelSource.Measurand] = display;
        _values[(int)PanelSource.Temperature] = held;
        _values[(int)PanelSource.Signal] = _design.Signal is { } signal ? (long)_numbers[signal.Index] : _sum;
        if (_isBroken)
        {
            Calibration?.Settle();
        }
        else
        {
            Calibration?.Offer((long)_numbers[_design.Uncalibrated.Index], held, _sinceSum);
        }

        _sum = 0;
        _count = 0;
        _sinceSum = 0;
    }

    void IPanelHost.Begin() => Calibration?.Begin();

    void IPanelHost.Abandon() => Calibration?.Abandon();

    void IPanelHost.Settle() => Calibration?.Settle();

    void IPanelHost.Enter(int standard, long entered)
    {
        (long factor, long divisor) = _standards[standard];
        Calibration!.Enter(standard, (long)Rounding.Divide((Int128)entered * factor, divisor, truncates: false));
        Work();
    }

    void IPanelHost.Take(int standard) => Calibration!.Take(standard);

    bool IPanelHost.Judge()
    {
        CalibrationResult result = Calibration!.Judge();
        bool isNumber = (result.Refusal & (CalibrationRefusal.TooNear | CalibrationRefusal.Incomplete)) == 0;
        _values[(int)PanelSource.Slope] = isNumber ? result.Slope : PanelInputs.None;
        _values[(int)PanelSource.Zero] = isNumber ? result.Zero : PanelInputs.None;
        if (!result.IsAccepted)
        {
            return false;
        }

        Work();
        for (int i = 0; i < _standards.Length; i++)
        {
            int entry = Program.EntryOf(PanelSource.FirstStandard + i);
            _settings.SetStandard(i, Panel.Entered(entry) / Program.Entries[entry].Step);
        }

        BeginWithSettings();
        _settings.Save(_kept);
        _isCorrupt = false;
        return true;
    }

    bool IPanelHost.JudgeTrim(long low, long high)
    {
        (long shownLow, long shownHigh) = (Steps(PanelSource.OutputTrimLow, low), Steps(PanelSource.OutputTrimHigh, high));
        if (!_trim!.IsAccepted(shownLow, shownHigh))
        {
            return false;
        }

        (long offset, long gain) = _trim.Fit(shownLow, shownHigh);
        _kept = _kept with { TrimOffset = offset, TrimGain = gain };

        // Settings that were lost stay lost until someone calibrates or restores them: a trim does not make them good.
        if (!_isCorrupt)
        {
            _settings.Save(_kept);
        }

        return true;

        long Steps(PanelSource source, long entered) => (long)Rounding.Divide(entered, Program.Entries[Program.EntryOf(source)].Step, truncates: false);
    }

    /// <summary>Readings are made with what the calibration says.</summary>
    private void Work() => _kept = _kept with { Zero = Calibration!.Working.Zero, Gain = Calibration.Working.Gain };

    /// <summary>Readings are made with what the settings say, and entries begin with the standards that they hold.</summary>
    private void WorkWithSettings()
    {
        if (Calibration is not null)
        {
            Calibration.Load(new CalibrationKept(_kept.Zero, _kept.Gain), []);
            Work();
            BeginWithSettings();
        }
    }

    private void BeginWithSettings()
    {
        for (int i = 0; i < _standards.Length; i++)
        {
            if (_settings.Standard(i) is { } steps)
            {
                int entry = Program.EntryOf(PanelSource.FirstStandard + i);
                Panel.BeginAt(entry, steps * Program.Entries[entry].Step);
            }
        }
    }

    void IPanelHost.Restore()
    {
        int language = Panel.Language;
        _settings.Restore(out _kept);
        _kept = _kept with { Language = language };
        _settings.Save(_kept);
        _isCorrupt = false;
        WorkWithSettings();
    }

    void IPanelHost.Speak(int language)
    {
        _kept = _kept with { Language = language };
        if (!_isCorrupt)
        {
            _settings.Save(_kept);
        }
    }
}
