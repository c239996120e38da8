using System.Collections.Immutable;
using System.Numerics;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// A panel at work, in whole numbers and with time: the twin of the C code, step for step. What happens in it is a way through <see cref="PanelMachine"/>; the events of the last tick say which.
/// One per thread.
/// </summary>
public sealed class PanelRun
{
    /// <summary>A key that is held repeats after so many milliseconds.</summary>
    public const int RepeatsAfter = 600;

    /// <summary>And then as often as this.</summary>
    public const int RepeatsEvery = 100;

    /// <summary>After so many repeats a value moves by <see cref="FastSteps"/> at once.</summary>
    public const int FastAfter = 20;

    public const int FastSteps = 10;

    /// <summary>One bit for each current of the output's trim.</summary>
    internal const int BothCurrents = 3;

    /// <summary>More than one key was down: nothing counts until all are up.</summary>
    private const int Blocked = -1;

    private readonly IPanelHost _host;
    private readonly long[] _entered;
    private readonly long[] _starts;
    private readonly byte[] _display;
    private readonly List<PanelEvent> _events = [];
    private readonly int _allTaken;
    private int _down;
    private bool _repeats;
    private long _held;
    private int _repeated;
    private long _idle;
    private bool _isFresh = true;

    // Steady, or read at all where a reading need not be steady.
    private bool _isReady;

    public PanelRun(PanelProgram program, IPanelHost host, int language = 0)
    {
        Program = program;
        _host = host;
        _starts = [.. program.Entries.Select(e => e.Start)];
        _entered = [.. _starts];
        _display = new byte[program.Cells];
        _allTaken = (1 << program.Machine.Points) - 1;
        Screen = program.Machine.Measuring;
        Language = language < program.Languages.Length ? language : 0;
    }

    public PanelProgram Program { get; }

    /// <summary>Index of the screen that is shown.</summary>
    public int Screen { get; private set; }

    public int Language { get; private set; }

    /// <summary>Which current of the output's trim is given now, 0 for the lower one; −1 for none.</summary>
    public int Trims => Now.Trims;

    /// <summary>One bit for each standard, or each current of the trim, that has been taken.</summary>
    public int Taken { get; private set; }

    public bool IsSteady { get; private set; }

    /// <summary>What the last judgement said; true before the first.</summary>
    public bool IsGood { get; private set; } = true;

    /// <summary>One bit for each failure, in the order of the file.</summary>
    public int Failures { get; private set; }

    public PanelLoop Loop => Program.Screens[Screen].Loop;

    /// <summary>Codes of the display, row by row.</summary>
    public ReadOnlySpan<byte> Display => _display;

    /// <summary>What happened during the last tick, as the abstract machine has it.</summary>
    public IReadOnlyList<PanelEvent> Events => _events;

    /// <summary>The state of the abstract machine that this is in.</summary>
    public PanelState State
    {
        get
        {
            PanelState state = new(Screen, Taken, IsSteady, IsGood, Failures, 0);
            for (int i = 0; i < Program.Machine.Entries.Length; i++)
            {
                state = state.With(i, Program.Entries[i].ClassOf(_entered[i]));
            }

            return state;
        }
    }

    /// <summary>A value as entered, in units of its <see cref="PanelProgramEntry"/>.</summary>
    public long Entered(int entry) => _entered[entry];

    /// <summary>Lets the entering of a value begin with another one than the file's. A value at an end of its range does not count, nor any where the file's own is at one: the checked machine begins
    /// between the ends there or at the end.</summary>
    public void BeginAt(int entry, long value)
    {
        PanelProgramEntry of = Program.Entries[entry];
        bool isBetween = of.ClassOf(value) == EntryClass.Between && of.ClassOf(of.Start) == EntryClass.Between;
        _starts[entry] = isBetween ? value : of.Start;
        if (Now.Standard < 0)
        {
            _entered[entry] = _starts[entry];
        }
    }

    public void Tick(in PanelInputs given)
    {
        _events.Clear();
        int before = Screen;
        Fail(given.Failures);
        Watch(given.IsSteady && Screen == before);
        Press(given.Keys, given.Milliseconds);
        Wait(given.Milliseconds);
        Draw(given.Values.Span);
    }

    private PanelProgramScreen Now => Program.Screens[Screen];

    private PanelMachine Machine => Program.Machine;

    private void Fail(int kinds)
    {
        ImmutableArray<PanelFailure> failures = Program.Panel.Failures;
        for (int i = 0; i < failures.Length; i++)
        {
            bool comes = (kinds & (1 << (int)failures[i].Kind)) != 0;
            bool was = (Failures & (1 << i)) != 0;
            if (comes == was)
            {
                continue;
            }

            _events.Add(new PanelEvent(comes ? PanelEventKind.FailureComes : PanelEventKind.FailureGoes, i));
            Failures ^= 1 << i;
            if (comes && failures[i].Kind == PanelFailureKind.SensorBroken)
            {
                IsSteady = false;
            }

            bool standsIn = Screen == Machine.Measuring || Machine.FailureScreens.Contains(Screen);
            if (standsIn && Standing(Machine.Measuring) != Screen)
            {
                Go(Machine.Measuring);
            }
        }
    }

    private void Watch(bool isSteady)
    {
        bool steady = isSteady && !IsBroken;
        _isReady = steady;
        if (Now.Standard < 0 || !Machine.NeedsSteady || steady == IsSteady)
        {
            return;
        }

        IsSteady = steady;
        if (steady)
        {
            Do(Now.OnSteady, 1);
        }

        // Behind what the step itself tells: the machine judges in the moment of the event.
        _events.Add(new PanelEvent(steady ? PanelEventKind.Steady : PanelEventKind.Moving));
    }

    private void Press(ulong keys, long milliseconds)
    {
        if (keys == 0)
        {
            _down = 0;
            return;
        }

        int key = BitOperations.IsPow2(keys) ? BitOperations.TrailingZeroCount(keys) + 1 : Blocked;
        if (key == Blocked || (_down != 0 && _down != key))
        {
            _down = Blocked;
            return;
        }

        if (_down == 0)
        {
            _down = key;
            _held = 0;
            _repeated = 0;
            _repeats = true;
            Rest();
            Key(key - 1, 1);
            return;
        }

        if (!_repeats || Now.Keys[key - 1].Kind is not (PanelStepKind.Up or PanelStepKind.Down))
        {
            return;
        }

        _held += milliseconds;
        while (_repeats && _held >= RepeatsAfter)
        {
            _held -= RepeatsEvery;
            if (Key(key - 1, _repeated < FastAfter ? 1 : FastSteps))
            {
                // A key that is stuck does not keep the screen for ever: a value at its end moves no more.
                Rest();
            }

            if (_repeated < FastAfter)
            {
                _repeated++;
            }
        }
    }

    /// <summary>Does what a key does; false where it has no effect.</summary>
    private bool Key(int key, int steps)
    {
        if (key >= Now.Keys.Length || !HasEffect(Now.Keys[key]))
        {
            return false;
        }

        PanelStep step = Now.Keys[key];
        int entry = step.Kind is PanelStepKind.Up or PanelStepKind.Down ? Now.Entry : -1;
        Do(step, steps);
        bool isAtEnd = entry >= 0 && Program.Entries[entry].ClassOf(_entered[entry]) != EntryClass.Between;
        _events.Add(new PanelEvent(isAtEnd ? PanelEventKind.Hold : PanelEventKind.Key, key));
        return true;
    }

    private bool HasEffect(PanelStep step) => step.Kind switch
    {
        PanelStepKind.None => false,
        PanelStepKind.Up => Now.Entry >= 0 && _entered[Now.Entry] < Program.Entries[Now.Entry].High,
        PanelStepKind.Down => Now.Entry >= 0 && _entered[Now.Entry] > Program.Entries[Now.Entry].Low,
        PanelStepKind.Take => MayTake,
        PanelStepKind.Restore => Machine.Panel.Failures.Any(f => f.Kind == PanelFailureKind.MemoryCorrupt),
        PanelStepKind.Language => Program.Languages.Length > 1,
        _ => true,
    };

    private void Do(PanelStep step, int steps)
    {
        switch (step.Kind)
        {
            case PanelStepKind.Go:
                Go(step.Screen);
                break;
            case PanelStepKind.Up:
                Move(Now.Entry, steps);
                break;
            case PanelStepKind.Down:
                Move(Now.Entry, -steps);
                break;
            case PanelStepKind.Take when MayTake:
                Take();
                break;
            case PanelStepKind.Restore:
                _host.Restore();
                Repair();
                Go(Machine.Measuring);
                break;
            case PanelStepKind.Language:
                Language = Language + 1 < Program.Languages.Length ? Language + 1 : 0;
                _host.Speak(Language);
                break;
        }
    }

    private void Move(int entry, int steps)
    {
        PanelProgramEntry of = Program.Entries[entry];
        _entered[entry] = of.Moved(_entered[entry], steps);
        if (PanelWords.StandardOf(of.Source) is { } standard && standard < Machine.Points)
        {
            _host.Enter(standard, _entered[entry]);
        }
    }

    private bool MayTake => Now.Trims >= 0 ? Machine.HasTrim : Now.Standard >= 0 && Now.Standard < Machine.Points && _isReady && !IsBroken;

    private bool IsBroken => (Failures & MaskOf(PanelFailureKind.SensorBroken)) != 0;

    private int MaskOf(PanelFailureKind kind)
    {
        int mask = 0;
        for (int i = 0; i < Program.Panel.Failures.Length; i++)
        {
            mask |= Program.Panel.Failures[i].Kind == kind ? 1 << i : 0;
        }

        return mask;
    }

    private void Repair() => Failures &= ~MaskOf(PanelFailureKind.MemoryCorrupt);

    private void Take()
    {
        PanelProgramScreen screen = Now;
        if (screen.Trims >= 0)
        {
            TakeCurrent(screen);
            return;
        }

        _host.Enter(screen.Standard, _entered[Program.EntryOf(PanelSource.FirstStandard + screen.Standard)]);
        _host.Take(screen.Standard);
        int taken = Taken | (1 << screen.Standard);
        if (taken != _allTaken)
        {
            Taken = taken;
            if (screen.TakenScreen >= 0)
            {
                Go(screen.TakenScreen);
            }
            else
            {
                IsSteady = false;
                _isReady = false;
                _host.Settle();
            }

            return;
        }

        bool isGood = _host.Judge();
        Told(isGood);
        if (isGood)
        {
            Repair();
        }

        Taken = 0;
        Go(isGood ? screen.AcceptedScreen : screen.RefusedScreen);
    }

    /// <summary>Takes what is entered for a current of the output's trim; with both it is judged.</summary>
    private void TakeCurrent(PanelProgramScreen screen)
    {
        Taken |= 1 << screen.Trims;
        if (Taken != BothCurrents)
        {
            if (screen.TakenScreen >= 0)
            {
                Go(screen.TakenScreen);
            }

            return;
        }

        bool isGood = _host.JudgeTrim(_entered[Program.EntryOf(PanelSource.OutputTrimLow)], _entered[Program.EntryOf(PanelSource.OutputTrimHigh)]);
        Told(isGood);
        Taken = 0;
        Go(isGood ? screen.AcceptedScreen : screen.RefusedScreen);
    }

    private void Told(bool isGood)
    {
        if (isGood != IsGood)
        {
            _events.Add(new PanelEvent(isGood ? PanelEventKind.GoodSensor : PanelEventKind.BadSensor));
            IsGood = isGood;
        }
    }

    private void Go(int screen)
    {
        int entry = Now.Entry;
        bool was = Now.Standard >= 0;
        bool trimmed = Now.Trims >= 0;
        Screen = Standing(screen);
        bool goesOn = (was && Now.Standard >= 0) || (trimmed && Now.Trims >= 0);
        if (was && !goesOn)
        {
            _host.Abandon();
        }

        if (!goesOn)
        {
            Taken = 0;
            if (Now.Entry < 0 || Now.Entry != entry)
            {
                for (int i = 0; i < _entered.Length; i++)
                {
                    _entered[i] = _starts[i];
                }
            }

            if (Now.Standard >= 0)
            {
                _host.Begin();
            }
        }

        if (Now.Standard >= 0)
        {
            _host.Settle();
        }

        IsSteady = false;
        _isReady = false;
        _repeats = false;
        Rest();
    }

    /// <summary>The screen's time begins anew with the next tick.</summary>
    private void Rest()
    {
        _idle = 0;
        _isFresh = true;
    }

    /// <summary>The screen that stands in for another while something has failed.</summary>
    private int Standing(int screen)
    {
        if (screen == Machine.Measuring)
        {
            for (int i = 0; i < Machine.FailureScreens.Length; i++)
            {
                if ((Failures & (1 << i)) != 0)
                {
                    return Machine.FailureScreens[i];
                }
            }
        }

        return screen;
    }

    private void Wait(long milliseconds)
    {
        _idle += _isFresh || Now.AfterScreen < 0 ? 0 : milliseconds;
        _isFresh = false;
        if (Now.AfterScreen >= 0 && _idle >= Now.AfterMilliseconds)
        {
            _events.Add(new PanelEvent(PanelEventKind.Time));
            Go(Now.AfterScreen);
        }
    }

    private void Draw(ReadOnlySpan<long> values)
    {
        PanelProgramPage page = Now.Pages[Language];
        page.Text.CopyTo(_display);
        foreach (PanelProgramField field in page.Fields)
        {
            Span<byte> place = _display.AsSpan((field.Row * Program.Panel.Columns) + field.Column, field.Width);
            long value = field.Scale < 0 ? PanelInputs.None : ValueOf(Program.Scales[field.Scale].Source, values);
            Write(place, field, value);
        }
    }

    private long ValueOf(PanelSource source, ReadOnlySpan<long> values)
    {
        if (source == PanelSource.SecondsLeft)
        {
            return Now.AfterScreen < 0 ? PanelInputs.None : (Now.AfterMilliseconds - _idle + 999) / 1000;
        }

        int entry = PanelWords.IsEntered(source) ? Program.EntryOf(source) : -1;
        return entry >= 0 ? _entered[entry] : values[(int)source];
    }

    /// <summary>Digits from the right, the point between them, a minus before them; dashes where there is no value or no room.</summary>
    private void Write(Span<byte> place, PanelProgramField field, long value)
    {
        int point = field.Decimals > 0 ? field.Width - field.Decimals - 1 : field.Width;
        PanelScale scale = field.Scale < 0 ? default : Program.Scales[field.Scale];
        long number = value == PanelInputs.None ? 0 : scale.Of(value);
        if (value == PanelInputs.None || number < scale.Least || number > scale.Most)
        {
            place.Fill((byte)'-');
            if (point < field.Width)
            {
                place[point] = (byte)'.';
            }

            return;
        }

        long rest = Math.Abs(number);
        int column = field.Width;
        while (column > 0)
        {
            column--;
            if (column == point)
            {
                place[column] = (byte)'.';
            }
            else if (rest > 0 || column + 1 >= point)
            {
                place[column] = (byte)('0' + (rest % 10));
                rest /= 10;
            }
            else
            {
                place[column] = number < 0 ? (byte)'-' : PanelCharacters.Space;
                number = 0;
            }
        }
    }
}
