using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;

namespace Throughline.Workbench.State;

/// <summary>
/// The panel of an open instrument being played. It outlives the pages, every page on the file plays the same one, and time passes only while a page is there. Safe on any thread.
/// </summary>
public sealed class PanelDesk : IDisposable
{
    private const int FrameMilliseconds = 100;
    private const int MostLog = 60;

    /// <summary>What a byte of the settings memory holds when the power fails in its write: erased, and nothing in it yet.</summary>
    private const byte Torn = 0xFF;

    private readonly Lock _gate = new();
    private readonly LinkedList<PanelLogEntry> _log = [];
    private Timer? _clock;
    private int _watchers;
    private PanelPlayer? _player;
    private PanelScript? _script;
    private PanelView? _view;
    private ulong _held;
    private int _speed = 1;
    private bool _isOn = true;
    private bool _isArmed;
    private string? _mistake;
    private string? _notice;
    private (int Screen, PanelLoop Loop, string Failures) _seen;

    /// <summary>The panel now; null while none is played.</summary>
    public PanelView? View => Volatile.Read(ref _view);

    /// <summary>Raised after every change of <see cref="View"/>, on whatever thread made it.</summary>
    public event Action? Changed;

    /// <summary>Lays a panel on the desk, switched on; the one that is there stays if it is of this very instrument. Takes as long as the first readings.</summary>
    /// <returns>Its program; null when the instrument has no panel that can be played.</returns>
    public PanelProgram? Open(Instrument instrument)
    {
        if (PanelProgram.Of(instrument) is not { } program)
        {
            return null;
        }

        lock (_gate)
        {
            if (!ReferenceEquals(_player?.Instrument, instrument))
            {
                bool isFirst = _player is null;
                Begin(instrument);
                _notice = isFirst ? null : "The file has changed: the panel began anew, with a new unit.";
                Look();
            }
        }

        Changed?.Invoke();
        return program;
    }

    public void Dispose()
    {
        lock (_gate)
        {
            _clock?.Dispose();
            _clock = null;
        }
    }

    /// <summary>Begins anew, with a unit as it leaves the factory.</summary>
    public void Anew() => Do(player => Begin(player.Instrument), isWorldOnly: true);

    /// <summary>Lets time pass as long as what is returned is not disposed of.</summary>
    public IDisposable Watch()
    {
        lock (_gate)
        {
            if (_watchers++ == 0)
            {
                _clock = new Timer(_ => Frame(), null, FrameMilliseconds, FrameMilliseconds);
            }
        }

        return new Watcher(this);
    }

    /// <summary>Pushes a key down, from 0 at the left; it stays down until <see cref="Release"/>.</summary>
    public void Push(int key) => Do(player =>
    {
        if (key < 0 || key >= player.Program.Panel.Keys)
        {
            return;
        }

        string? label = LabelOf(player.Program, player.Panel.Screen, key, player.Panel.Language);
        Log(label is null ? $"key {key + 1}, which has no label here" : $"key {key + 1}, {label}");
        _held |= 1UL << key;
        Pass(player, PanelPlayer.PressMilliseconds);
    });

    /// <summary>Lets go of every key.</summary>
    public void Release()
    {
        if (_held != 0)
        {
            Do(player =>
            {
                _held = 0;
                Pass(player, PanelPlayer.PressMilliseconds);
            });
        }
    }

    /// <summary>Lets time pass.</summary>
    public void Wait(int seconds) => Do(player => Pass(player, seconds * 1000L));

    /// <summary>How fast time passes by itself; 0 stops it.</summary>
    public void SetSpeed(int speed) => Do(_ => _speed = Math.Clamp(speed, 0, 100), isWorldOnly: true);

    /// <summary>Does what a step of a script says.</summary>
    public void Say(string step) => Do(player =>
    {
        Log(step);
        _mistake = _script!.Do(step);
    });

    /// <summary>Puts the sensor into a standard, from 0.</summary>
    public void Dip(int standard) => Do(
        player =>
        {
            player.Dip(standard);
            Log("sensor into " + player.Instrument.Calibration!.Standards[standard].Value.Quantity.Text);
        },
        isWorldOnly: true);

    /// <summary>What the sensor is in; held within some measuring ranges.</summary>
    public void PutInto(double value) => Do(
        player =>
        {
            QuantityRange range = player.Instrument.Specification.Range;
            player.Sensor = Math.Clamp(value, range.Low - (4 * range.Width), range.High + (4 * range.Width));
            Log("sensor into " + Engineering.WithUnit(Engineering.Number(player.Sensor, 5), player.Instrument.Specification.Unit));
        },
        isWorldOnly: true);

    /// <summary>The temperature of what the sensor is in, °C.</summary>
    public void Warm(double celsius) => Do(
        player =>
        {
            player.ProcessCelsius = Math.Clamp(celsius, -100, 500);
            Log($"it has {Engineering.Number(player.ProcessCelsius, 4)} °C");
        },
        isWorldOnly: true);

    /// <summary>Power off, or on again.</summary>
    public void Switch() => Do(
        player =>
        {
            if (_isOn)
            {
                (_isOn, _held) = (false, 0);
                Log("power off");
                return;
            }

            SwitchOn(player);
        },
        isWorldOnly: true);

    /// <summary>Lets the power fail at a write of the settings memory that is to come, from 0, counted from now; null takes that back.</summary>
    public void FailAt(int? write) => Do(
        player =>
        {
            if (player.Memory is { } memory)
            {
                memory.PowerOn(write is { } at ? Math.Clamp(at, 0, memory.Bytes.Length * 4) : -1, Torn);
                _isArmed = write is not null;
                Log(write is { } w ? $"power is to fail at write {w + 1} of the next settings" : "power is to stay");
            }
        },
        isWorldOnly: true);

    /// <summary>The label of a key on a screen in a language; null where it has none.</summary>
    internal static string? LabelOf(PanelProgram program, int screen, int key, int language)
    {
        KeyLayout layout = program.Machine.Layouts[screen];
        PanelTranslation? translation = program.Panel.Screens[screen].Translations.FirstOrDefault(t => t.Language.Value == program.Languages[language]);
        for (int i = 0; i < layout.Keys.Length; i++)
        {
            if (layout.Keys[i].Number == key)
            {
                string label = translation is { Labels.IsEmpty: false } ? translation.Labels[i].Value : layout.Keys[i].Label.Value;
                return label.Length > 0 ? label : null;
            }
        }

        return null;
    }

    private void Begin(Instrument instrument)
    {
        _player = new PanelPlayer(instrument);
        _script = new PanelScript(_player);
        (_held, _isOn, _isArmed, _mistake, _notice) = (0, true, false, null, null);
        _log.Clear();
        _seen = (_player.Panel.Screen, _player.Panel.Loop, FailuresOf(_player));
        Log("switched on for the first time");
    }

    private void SwitchOn(PanelPlayer player)
    {
        player.Memory?.PowerOn();
        (_isOn, _isArmed) = (true, false);
        Log("power on");
        player.Restart();
    }

    /// <param name="isWorldOnly">Whether it can be done without power.</param>
    private void Do(Action<PanelPlayer> action, bool isWorldOnly = false)
    {
        lock (_gate)
        {
            if (_player is not { } player || (!isWorldOnly && !_isOn))
            {
                return;
            }

            (_mistake, _notice) = (null, null);
            action(player);
            Look();
        }

        Changed?.Invoke();
    }

    private void Frame()
    {
        // A step that takes longer than a frame has the panel: time waits for it.
        if (!_gate.TryEnter())
        {
            return;
        }

        try
        {
            if (_player is not { } player || _speed == 0 || !_isOn)
            {
                return;
            }

            Pass(player, FrameMilliseconds * _speed);
            Look();
        }
#pragma warning disable CA1031 // The edge of a timer's thread: the page says so, and time stands still.
        catch (Exception e)
#pragma warning restore CA1031
        {
            _speed = 0;
            _mistake = $"A fault of the program, not of your file: {e.GetType().Name}: {e.Message}";
            Look();
        }
        finally
        {
            _gate.Exit();
        }

        Changed?.Invoke();
    }

    private void Pass(PanelPlayer player, long milliseconds)
    {
        if (player.Memory is { } memory && _isArmed)
        {
            player.RunUntil(() => memory.IsDead, milliseconds / 1000.0, _held);
        }
        else
        {
            player.Run(milliseconds, _held);
        }
    }

    /// <summary>Takes a picture of it, and notes what has become another.</summary>
    private void Look()
    {
        PanelPlayer player = _player!;
        if (_isOn && _isArmed && player.Memory is { IsDead: true } memory)
        {
            (_isOn, _isArmed, _held) = (false, false, 0);
            Log($"■ power failed at write {memory.Writes + 1}: address {memory.Last.Address} was to hold {memory.Last.Value:X2} and holds {Torn:X2}");
        }

        PanelSection panel = player.Program.Panel;
        string failures = FailuresOf(player);
        if (_isOn)
        {
            Note(player, failures);
        }

        PanelState state = player.Panel.State;
        Volatile.Write(ref _view, new PanelView(
            _isOn ? player.Lines : [.. Enumerable.Repeat(new string(' ', panel.Columns), panel.Rows)],
            player.Panel.Screen,
            player.Panel.Language,
            [.. Enumerable.Range(0, panel.Keys).Select(k => new PanelKeyView(
                _isOn ? LabelOf(player.Program, player.Panel.Screen, k, player.Panel.Language) : null, _isOn && player.Program.Machine.HasEffect(state, k)))],
            player.Seconds,
            player.LoopValue,
            player.Panel.Loop,
            failures,
            player.Sensor,
            player.ProcessCelsius,
            player.IsBroken,
            player.Program.Machine.IsCalibrating(state) ? $"{int.PopCount(player.Panel.Taken)} of {player.Program.Machine.Points} taken · the reading {(player.Panel.IsSteady ? "is steady" : "is not steady yet")}" : "",
            KeptOf(player),
            _isOn,
            _isArmed,
            _speed,
            [.. _log],
            _mistake,
            _notice));
    }

    private void Note(PanelPlayer player, string failures)
    {
        (int Screen, PanelLoop Loop, string Failures) now = (player.Panel.Screen, player.Panel.Loop, failures);
        if (now.Screen != _seen.Screen)
        {
            Log($"screen “{player.Screen}”");
        }

        if (now.Loop != _seen.Loop)
        {
            Log(now.Loop switch { PanelLoop.Held => $"the {player.Signal.Place} is held", PanelLoop.Test => $"the {player.Signal.Place} is tested", PanelLoop.Trim => $"the {player.Signal.Place} gives a {player.Signal.Noun} of the trim", _ => $"the {player.Signal.Place} follows the reading" });
        }

        if (now.Failures != _seen.Failures)
        {
            Log(failures.Length > 0 ? "■ " + failures : "no failure any more");
        }

        _seen = now;
    }

    private static string FailuresOf(PanelPlayer player) =>
        string.Join(", ", PanelWords.Failures.Where(f => (player.Engine.Failures & (1 << (int)f.Kind)) != 0).Select(f => f.Word));

    private static string KeptOf(PanelPlayer player)
    {
        if (ArithmeticDesign.Of(player.Instrument) is not { Trouble: null } design)
        {
            return "";
        }

        // The gain is kept as what it has above one.
        return string.Join(" · ", new[]
        {
            design.Zero is { } zero ? $"{zero.Name} {Engineering.Format(player.Engine.Kept.Zero * zero.Step, zero.Unit, 4)}" : "",
            design.Gain is { } gain ? $"{gain.Name} {Engineering.Fixed(1 + (player.Engine.Kept.Gain * gain.Step), 5)}" : "",
        }.Where(k => k.Length > 0));
    }

    private void Log(string what)
    {
        _log.AddFirst(new PanelLogEntry(_player!.Seconds, what));
        while (_log.Count > MostLog)
        {
            _log.RemoveLast();
        }
    }

    private void Leave()
    {
        lock (_gate)
        {
            if (--_watchers == 0)
            {
                _clock?.Dispose();
                _clock = null;
                _held = 0;
            }
        }
    }

    private sealed class Watcher(PanelDesk desk) : IDisposable
    {
        private int _isGone;

        public void Dispose()
        {
            if (Interlocked.Exchange(ref _isGone, 1) == 0)
            {
                desk.Leave();
            }
        }
    }
}
