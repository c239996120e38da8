using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// An instrument played: the engine with the simulated chain before and behind it, and with time. The sensor follows what it stands in with its own response; the code runs reading by
/// reading. Not for several threads.
/// </summary>
public sealed class PanelPlayer
{
    /// <summary>A key is down for this long when it is pressed, ms, and up again as long.</summary>
    public const int PressMilliseconds = 80;

    private readonly SimulatedUnit _unit;
    private readonly ISettingsKeeper _settings;
    private readonly double _timeConstant;
    private readonly double _settled;
    private double _target;
    private double _shift;
    private double _seen;
    private long _code;
    private long _temperature;
    private bool _isStale = true;

    /// <summary>A new unit, adjusted, its sensor in the middle of the measuring range at 25 °C, switched on.</summary>
    /// <exception cref="ArgumentException">It has no panel that can be played.</exception>
    public PanelPlayer(Instrument instrument)
    {
        Program = PanelProgram.Of(instrument) ?? throw new ArgumentException("The instrument has no panel that can be played.", nameof(instrument));
        Instrument = instrument;
        _unit = new SimulatedUnit(instrument);
        if (SettingsLayout.Of(instrument) is { Trouble: null } layout)
        {
            // As it leaves the factory: every byte written.
            Memory = new SettingsMemory((int)layout.Size);
            _settings = new StoredSettings(layout, Memory);
            _settings.Restore(out _);
        }
        else
        {
            _settings = new PassingSettings();
        }

        QuantityRange range = instrument.Specification.Range;
        const double Share = 1e-5;
        _settled = Share * range.Width;
        _timeConstant = (instrument.Sensor.Response?.Value ?? 0) / Math.Log(10);
        _target = _seen = (range.Low + range.High) / 2;
        _unit.ProcessCelsius = Math.Clamp(_unit.ProcessCelsius, instrument.Specification.Process.Low, instrument.Specification.Process.High);
        TickMilliseconds = (int)Math.Clamp(Math.Round((Program.Arithmetic.Law.Converter.Every?.Value ?? 0.005) * 1000), 1, 1000);
        Engine = NewEngine();
        SettleIn();
    }

    public Instrument Instrument { get; }

    public PanelProgram Program { get; }

    public PanelEngine Engine { get; private set; }

    /// <summary>The settings memory; null without one.</summary>
    public SettingsMemory? Memory { get; }

    public PanelRun Panel => Engine.Panel;

    /// <summary>From one reading of the converter to the next, ms.</summary>
    public int TickMilliseconds { get; }

    /// <summary>Since the first switching on, s.</summary>
    public double Seconds => Milliseconds / 1000.0;

    public long Milliseconds { get; private set; }

    /// <summary>What the sensor is in, in the specification's unit.</summary>
    public double Sensor
    {
        get => _target;
        set => _target = value;
    }

    /// <summary>Temperature of the process, °C.</summary>
    public double ProcessCelsius
    {
        get => _unit.ProcessCelsius;
        set
        {
            _unit.ProcessCelsius = value;
            _isStale = true;
        }
    }

    public bool IsBroken
    {
        get => _unit.IsBroken;
        set
        {
            _unit.IsBroken = value;
            _isStale = true;
        }
    }

    public IEnumerable<Parameter> SensorParameters => _unit.SensorParameters;

    /// <summary>What the instrument puts out; a current where it has no output.</summary>
    public OutputSignal Signal => Instrument.Output;

    /// <summary>What the output gives now, A or V; NaN without one.</summary>
    public double LoopValue => _unit.LoopValueOf(Engine.OutputCode);

    /// <summary>Lines of the display from the top.</summary>
    public ImmutableArray<string> Lines =>
        [.. Enumerable.Range(0, Program.Panel.Rows).Select(r => Program.Decode(Panel.Display.Slice(r * Program.Panel.Columns, Program.Panel.Columns)))];

    /// <summary>Name of the screen that is shown.</summary>
    public string Screen => Program.Panel.Screens[Panel.Screen].Name.Value;

    /// <summary>Gives the sensor a number of its own.</summary>
    public void SetSensor(Parameter parameter, double value)
    {
        _unit.SetSensor(parameter, value);
        _isStale = true;
    }

    /// <summary>Puts the sensor into a standard, at its value at the temperature there is.</summary>
    public void Dip(int standard) => Sensor = Instrument.Calibration!.Standards[standard].At(ProcessCelsius);

    /// <summary>Makes the sensor one that a calibration accepts, or one that it refuses by being off all over.</summary>
    /// <returns>False where nothing makes the difference.</returns>
    public bool Judge(bool isGood)
    {
        _shift = 0;
        if (isGood)
        {
            return true;
        }

        foreach (double share in new[] { 0.02, 0.05, 0.1, 0.2, 0.3 })
        {
            foreach (int sign in new[] { 1, -1 })
            {
                _shift = sign * share * Instrument.Specification.Range.Width;
                if (IsRefused())
                {
                    return true;
                }
            }
        }

        _shift = 0;
        return false;
    }

    /// <summary>Power off and on again.</summary>
    public void Restart()
    {
        Engine = NewEngine();
        SettleIn();
    }

    /// <summary>Lets time pass with some keys down.</summary>
    /// <param name="keys">One bit for each key.</param>
    public void Run(long milliseconds, ulong keys = 0)
    {
        for (long passed = 0; passed < milliseconds; passed += TickMilliseconds)
        {
            Tick(keys);
        }
    }

    /// <summary>Presses a key, from 0 at the left, and lets go.</summary>
    public void Press(int key)
    {
        Run(PressMilliseconds, 1UL << key);
        Run(PressMilliseconds);
    }

    /// <summary>Lets time pass until something is so, at most for a while.</summary>
    /// <returns>Whether it came to be so.</returns>
    public bool RunUntil(Func<bool> isSo, double mostSeconds, ulong keys = 0)
    {
        for (long passed = 0; passed < mostSeconds * 1000; passed += TickMilliseconds)
        {
            if (isSo())
            {
                return true;
            }

            Tick(keys);
        }

        return isSo();
    }

    /// <summary>A text about now: <c>4 min 10 s</c> and what the loop does.</summary>
    public string Beside() => string.Join(
        " · ",
        new[]
        {
            Engineering.Duration(Math.Round(Seconds, 1)),
            "`" + Screen + "`",
            double.IsNaN(LoopValue) ? "" : Engineering.Fixed(LoopValue / Signal.ShownScale, Signal.ShownDecimals, Signal.ShownUnit) + (Panel.Loop switch { PanelLoop.Held => " held", PanelLoop.Test => " test", PanelLoop.Trim => " for the trim", _ => "" }),
            string.Join(", ", PanelWords.Failures.Where(f => (Engine.Failures & (1 << (int)f.Kind)) != 0).Select(f => f.Word)),
        }.Where(t => t.Length > 0));

    private PanelEngine NewEngine() => new(Program, _settings);

    /// <summary>The first reading after switching on.</summary>
    private void SettleIn()
    {
        RunUntil(() => !double.IsNaN(Engine.Measurand), 60);
        Run(TickMilliseconds);
    }

    private void Tick(ulong keys)
    {
        double aim = _target + _shift;
        if (_seen != aim)
        {
            double left = _timeConstant > 0 ? Math.Exp(-TickMilliseconds / 1000.0 / _timeConstant) : 0;
            double now = aim + ((_seen - aim) * left);
            now = Math.Abs(now - aim) <= _settled ? aim : now;
            _isStale |= now != _seen;
            _seen = now;
        }

        // The chain is solved once for all readings of a sum: it moves little meanwhile.
        if (_isStale && Milliseconds % (TickMilliseconds * Math.Max(1, Program.Arithmetic.Law.Converter.Average)) < TickMilliseconds)
        {
            _unit.Measurand = _seen;
            _code = _unit.Code() ?? (long)Program.Arithmetic.Code.Low;
            _temperature = (long)Math.Round(_unit.MeasuredCelsius / ArithmeticDesign.TemperatureStep);
            _isStale = false;
        }

        Engine.Tick(TickMilliseconds, keys, _code, _temperature);
        Milliseconds += TickMilliseconds;
    }

    /// <summary>Whether a calibration refuses a sensor that is off by the shift, from the first standard on or only in the later ones.</summary>
    private bool IsRefused()
    {
        int points = _unit.CalibrationPoints;
        bool isRefused = points > 0;
        for (int first = 0; first < points && isRefused; first++)
        {
            double[] signals = new double[points];
            double[] values = new double[points];
            for (int i = 0; i < points && isRefused; i++)
            {
                CalibrationStandard standard = Instrument.Calibration!.Standards[i];
                _unit.Measurand = standard.At(ProcessCelsius) + (i < first ? 0 : _shift);
                SimulatedReading reading = _unit.Read();
                (signals[i], values[i]) = (reading.Signal, _unit.ValueOf(i, standard.Value.Quantity.Value));
                isRefused = reading.IsPlausible;
            }

            isRefused = isRefused && !_unit.Fit(signals, values).IsAccepted;
        }

        _isStale = true;
        return isRefused;
    }
}
