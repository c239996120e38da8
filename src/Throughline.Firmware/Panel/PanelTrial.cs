using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What happens in one step of a trial of a whole instrument's code.</summary>
/// <param name="Ticks">Readings of the converter that are taken.</param>
/// <param name="Milliseconds">Between two of them.</param>
/// <param name="Keys">Those that are down, one bit for each, the leftmost lowest.</param>
/// <param name="Code">Of the converter.</param>
/// <param name="Temperature">0.01 °C.</param>
/// <param name="Memory">What happens to the settings memory: −1 nothing, −2 the power goes and comes, less: it fails at write (−3 − <paramref name="Memory"/>) / 256 from now on and the byte under the
/// pen becomes the remainder, 0 and more: the byte at <paramref name="Memory"/> / 256 becomes the remainder.</param>
internal readonly record struct PanelTrialStep(int Ticks, int Milliseconds, ulong Keys, long Code, long Temperature, long Memory)
{
    /// <summary>The power goes and comes.</summary>
    public const long Interrupted = -2;

    /// <summary>The first of the numbers that say at which write the power fails.</summary>
    public const long Fails = -3;

    /// <summary>The six numbers, with a space between.</summary>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Ticks} {Milliseconds} {Keys} {Code} {Temperature} {Memory}");
}

/// <summary>
/// A person who tries things on a whole instrument, a sensor that now rests in a standard and now does not, a memory that now and then forgets and a power that now and then fails in the middle of a write:
/// always the same for the same seed. The model runs along; the code in C has to show, give and keep the same.
/// </summary>
internal sealed class PanelTrial
{
    private readonly PanelProgram _program;
    private readonly SettingsMemory? _memory;
    private readonly SettingsLayout? _layout;
    private readonly List<long> _codes = [];
    private readonly RepeatedNumbers _numbers;
    private long _code;
    private long _temperature = 2500;
    private ulong _keys;
    private bool _isDead;

    /// <param name="program">Of an instrument whose code is known.</param>
    public PanelTrial(PanelProgram program, ulong seed)
    {
        _program = program;
        _numbers = new RepeatedNumbers(seed);
        Instrument instrument = program.Arithmetic.Law.Instrument;
        if (SettingsLayout.Of(instrument) is { Trouble: null } layout)
        {
            _layout = layout;
            _memory = new SettingsMemory((int)layout.Size);
            Array.Fill(_memory.Bytes, byte.MaxValue);
            _memory.PowerOn();
        }

        SimulatedUnit unit = new(instrument);
        for (int i = 0; i < program.Machine.Points && i < instrument.Calibration?.Standards.Length; i++)
        {
            unit.Measurand = instrument.Calibration.Standards[i].At(25);
            _codes.Add(unit.Code() ?? (long)program.Arithmetic.Code.Low);
        }

        _code = _codes.Count > 0 ? _codes[0] : (long)(program.Arithmetic.Code.Low + ((program.Arithmetic.Code.High - program.Arithmetic.Code.Low) / 2));
        Engine = NewEngine();
    }

    /// <summary>The model.</summary>
    public PanelEngine Engine { get; private set; }

    /// <summary>Every byte of the settings memory; empty without one.</summary>
    public ReadOnlySpan<byte> Memory => _memory is null ? [] : _memory.Bytes;

    /// <summary>One step, which the model has made when it comes back.</summary>
    public PanelTrialStep Next()
    {
        int milliseconds = Below(8) switch { 0 => 1 + Below(60), 1 => 400, _ => 5 };
        int ticks = Below(6) == 0 ? 200 : 1 + Below(30);
        PanelProgramScreen screen = _program.Screens[Engine.Panel.Screen];
        int dice = Below(100);
        _keys = dice < 40 ? 0 : dice < 90 ? 1UL << Below(_program.Panel.Keys) : dice < 96 ? _keys : _numbers.Last >> (64 - _program.Panel.Keys);
        if (screen.Standard >= 0 && Below(3) > 0)
        {
            // Someone who calibrates: into the standard, patience, SET.
            long near = Held(_codes[screen.Standard] + (Below(5) == 0 ? Below(600) - 300 : 0));
            _code = Engine.Calibration!.IsSteady ? _code : near;
            (ticks, milliseconds) = Engine.Panel.IsSteady ? (2, 5) : (150, 400);
            int take = screen.Keys.IndexOf(new PanelStep(PanelStepKind.Take, 0));
            _keys = Engine.Panel.IsSteady && _keys == 0 && take >= 0 ? 1UL << take : 0;
        }
        else if (screen.Trims >= 0 && Below(3) > 0)
        {
            // Someone who trims: a few steps, or far too many, then SET.
            (ticks, milliseconds) = Below(4) == 0 ? (200, 400) : (2, 5);
            int key = screen.Keys.IndexOf(new PanelStep(Below(3) switch { 0 => PanelStepKind.Up, 1 => PanelStepKind.Down, _ => PanelStepKind.Take }, 0));
            _keys = _keys == 0 && key >= 0 ? 1UL << key : 0;
        }
        else if (Below(12) == 0)
        {
            _code = Below(4) == 0 ? (long)_program.Arithmetic.Code.High : (long)_program.Arithmetic.Code.Low + Below((int)(_program.Arithmetic.Code.High - _program.Arithmetic.Code.Low) + 1);
            _temperature = Below(5500) - 500;
        }

        PanelTrialStep step = new(ticks, milliseconds, _keys, _code, _temperature, HappensToMemory());
        Apply(step.Memory);
        for (int i = 0; i < ticks; i++)
        {
            Engine.Tick(milliseconds, _keys, _code, _temperature);
        }

        return step;
    }

    private long HappensToMemory()
    {
        if (_isDead)
        {
            return PanelTrialStep.Interrupted;
        }

        return (Below(300), _memory) switch
        {
            (0, _) => PanelTrialStep.Interrupted,
            (1 or 2, not null) => (Below((int)Math.Min(_layout!.End, _layout.Size)) * 256L) + Below(256),
            (int dice, not null) when dice < 12 => PanelTrialStep.Fails - ((Below((int)Math.Min(2 * _layout!.End, 400)) * 256L) + Below(256)),
            _ => -1,
        };
    }

    private void Apply(long memory)
    {
        if (memory == PanelTrialStep.Interrupted)
        {
            _isDead = false;
            _memory?.PowerOn();
            Engine = NewEngine();
        }
        else if (memory >= 0)
        {
            _memory!.Bytes[memory / 256] = (byte)(memory % 256);
        }
        else if (memory <= PanelTrialStep.Fails)
        {
            long said = PanelTrialStep.Fails - memory;
            _memory!.PowerOn((int)(said / 256), (byte)(said % 256));
            _isDead = true;
        }
    }

    private PanelEngine NewEngine() => new(_program, _memory is null ? new PassingSettings() : new StoredSettings(_layout!, _memory));

    private long Held(long code) => (long)Int128.Clamp(code, _program.Arithmetic.Code.Low, _program.Arithmetic.Code.High);

    /// <summary>From 0 to less than a number.</summary>
    private int Below(int number) => (int)((UInt128)_numbers.Next() * (UInt128)number >> 64);
}
