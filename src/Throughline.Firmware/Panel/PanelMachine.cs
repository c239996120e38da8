using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// What a panel does, as a deterministic machine: the same that the player runs and that is checked over all reachable states. Immutable; any thread.
/// </summary>
public sealed class PanelMachine
{
    private readonly Dictionary<string, int> _index;
    private readonly ImmutableArray<PanelAction?[]> _actions;
    private readonly int _allTaken;
    private readonly int _freshEntries;

    /// <param name="instrument">One with a panel that has screens.</param>
    /// <exception cref="ArgumentException">It has none.</exception>
    public PanelMachine(Instrument instrument)
    {
        Panel = instrument.Panel is { Screens.IsEmpty: false } panel ? panel : throw new ArgumentException("The instrument has no panel with screens.", nameof(instrument));
        _index = [];
        for (int i = 0; i < Panel.Screens.Length; i++)
        {
            _index.TryAdd(Panel.Screens[i].Name.Value, i);
        }

        Layouts = [.. Panel.Screens.Select(s => KeyLayout.Of(Panel, s.Lines, s.Keys, []))];
        _actions = [.. Layouts.Select(ActionsOf)];
        Measuring = IndexOf(Panel.Measuring!.Value.Value);
        Points = PointsOf(instrument);
        _allTaken = (1 << Points) - 1;
        HasTrim = OutputTrimDesign.Of(instrument) is not null;
        NeedsSteady = instrument.Calibration is { SteadyWithin: not null, SteadyFor: not null };
        Entries = [.. Panel.Screens.Where(s => s.Enters is not null).Select(s => s.Enters!.Value.Value).Distinct()];
        for (int i = 0; i < Entries.Length; i++)
        {
            // A value may begin at one of its ends.
            EntryClass begins = PanelValues.EntryOf(instrument, Entries[i]) is { } range ? range.ClassOf(range.Start) : EntryClass.Greatest;
            _freshEntries |= (int)begins << (2 * i);
        }

        FailureScreens = [.. Panel.Failures.Select(f => IndexOf(f.Screen.Value))];
    }

    public PanelSection Panel { get; }

    /// <summary>Index of the measuring screen.</summary>
    public int Measuring { get; }

    /// <summary>Which labels stand above which keys, screen by screen, in the language of the screens.</summary>
    public ImmutableArray<KeyLayout> Layouts { get; }

    /// <summary>Values that can be entered, in the order of the screens.</summary>
    public ImmutableArray<PanelSource> Entries { get; }

    /// <summary>The screen of each failure.</summary>
    public ImmutableArray<int> FailureScreens { get; }

    /// <summary>Standards of a calibration; 0 when the user does not calibrate.</summary>
    public int Points { get; }

    /// <summary>Whether the output is trimmed at two currents.</summary>
    public bool HasTrim { get; }

    /// <summary>Whether a reading has to be steady before it is taken.</summary>
    public bool NeedsSteady { get; }

    /// <summary>Switched on: the measuring screen, a good sensor, nothing failed.</summary>
    public PanelState Start => new(Measuring, 0, false, true, 0, _freshEntries);

    public int IndexOf(string screen) => _index[screen];

    public PanelScreen ScreenOf(PanelState state) => Panel.Screens[state.Screen];

    /// <summary>What a key does on a screen; null for nothing.</summary>
    public PanelAction? ActionOf(int screen, int key) => _actions[screen][key];

    /// <summary>Index of what a screen enters in <see cref="Entries"/>; −1 for nothing.</summary>
    public int EntryOf(int screen) => Panel.Screens[screen].Enters is { } enters ? Entries.IndexOf(enters.Value) : -1;

    /// <summary>Whether a step of the calibration is under way.</summary>
    public bool IsCalibrating(PanelState state) => ScreenOf(state).Calibrates is not null;

    /// <summary>Whether a step of the output's trim is under way.</summary>
    public bool IsTrimming(PanelState state) => ScreenOf(state).Trims is not null;

    /// <summary>Whether a key would do something now.</summary>
    public bool HasEffect(PanelState state, int key) => ActionOf(state.Screen, key) switch
    {
        null => false,
        { Kind: PanelActionKind.Up } => EntryOf(state.Screen) is >= 0 and int entry && state.ClassOf(entry) != EntryClass.Greatest,
        { Kind: PanelActionKind.Down } => EntryOf(state.Screen) is >= 0 and int entry && state.ClassOf(entry) != EntryClass.Least,
        { Kind: PanelActionKind.Take } => MayTake(state),
        { Kind: PanelActionKind.Restore } => Panel.Failures.Any(f => f.Kind == PanelFailureKind.MemoryCorrupt),
        { Kind: PanelActionKind.Language } => Panel.OtherLanguages.Any(),
        _ => true,
    };

    /// <summary>Every event that can happen in a state, those of the world around among them.</summary>
    public IEnumerable<PanelEvent> EventsOf(PanelState state)
    {
        for (int key = 0; key < Panel.Keys; key++)
        {
            if (ActionOf(state.Screen, key) is not { } action)
            {
                continue;
            }

            yield return new PanelEvent(PanelEventKind.Key, key);
            if (action.Kind is PanelActionKind.Up or PanelActionKind.Down)
            {
                yield return new PanelEvent(PanelEventKind.Hold, key);
            }
        }

        if (ScreenOf(state).After is not null)
        {
            yield return new PanelEvent(PanelEventKind.Time);
        }

        if (IsCalibrating(state))
        {
            yield return new PanelEvent(state.IsSteady ? PanelEventKind.Moving : PanelEventKind.Steady);
        }

        if (IsCalibrating(state) || IsTrimming(state))
        {
            yield return new PanelEvent(state.IsGood ? PanelEventKind.BadSensor : PanelEventKind.GoodSensor);
        }
        else if (!state.IsGood)
        {
            yield return new PanelEvent(PanelEventKind.GoodSensor);
        }

        for (int i = 0; i < Panel.Failures.Length; i++)
        {
            if ((state.Failures & (1 << i)) == 0)
            {
                yield return new PanelEvent(PanelEventKind.FailureComes, i);
            }
            else if (Panel.Failures[i].Kind != PanelFailureKind.MemoryCorrupt)
            {
                // Memory does not mend itself: it is put back, or written anew by a calibration.
                yield return new PanelEvent(PanelEventKind.FailureGoes, i);
            }
        }
    }

    /// <summary>The state after an event; the same state where the event does nothing.</summary>
    public PanelState Next(PanelState state, PanelEvent happened)
    {
        switch (happened.Kind)
        {
            case PanelEventKind.Key when happened.Index < Panel.Keys && HasEffect(state, happened.Index):
                return Do(state, ActionOf(state.Screen, happened.Index)!, isHeld: false);
            case PanelEventKind.Hold when happened.Index < Panel.Keys && HasEffect(state, happened.Index):
                return Do(state, ActionOf(state.Screen, happened.Index)!, isHeld: true);
            case PanelEventKind.Time when ScreenOf(state).After is { } after:
                return Go(state, IndexOf(after.Screen.Value));
            case PanelEventKind.Steady when IsCalibrating(state) && !IsBroken(state):
                PanelState steady = state with { IsSteady = true };
                return ScreenOf(state).OnSteady is { } then && !state.IsSteady ? Do(steady, then, isHeld: false) : steady;
            case PanelEventKind.Moving:
                return state with { IsSteady = false };
            case PanelEventKind.GoodSensor:
                return state with { IsGood = true };
            case PanelEventKind.BadSensor:
                return state with { IsGood = false };
            case PanelEventKind.FailureComes:
                return Settle(state with
                {
                    Failures = state.Failures | (1 << happened.Index),
                    IsSteady = state.IsSteady && Panel.Failures[happened.Index].Kind != PanelFailureKind.SensorBroken,
                });
            case PanelEventKind.FailureGoes:
                return Settle(state with { Failures = state.Failures & ~(1 << happened.Index) });
            default:
                return state;
        }
    }

    private PanelState Do(PanelState state, PanelAction action, bool isHeld)
    {
        int entry = EntryOf(state.Screen);
        return action.Kind switch
        {
            PanelActionKind.Go => Go(state, IndexOf(action.Text.Value)),
            PanelActionKind.Up when entry >= 0 => state.With(entry, isHeld ? EntryClass.Greatest : EntryClass.Between),
            PanelActionKind.Down when entry >= 0 => state.With(entry, isHeld ? EntryClass.Least : EntryClass.Between),
            PanelActionKind.Take when MayTake(state) => Take(state),
            PanelActionKind.Restore => Go(Repaired(state), Measuring),
            _ => state,
        };
    }

    private bool MayTake(PanelState state) => IsTrimming(state) ? HasTrim :
        ScreenOf(state).Calibrates is { } standard && standard.Value < Points && (state.IsSteady || !NeedsSteady) && !IsBroken(state);

    private bool IsBroken(PanelState state)
    {
        for (int i = 0; i < Panel.Failures.Length; i++)
        {
            if (Panel.Failures[i].Kind == PanelFailureKind.SensorBroken && (state.Failures & (1 << i)) != 0)
            {
                return true;
            }
        }

        return false;
    }

    private PanelState Take(PanelState state)
    {
        PanelScreen screen = ScreenOf(state);
        bool trims = IsTrimming(state);
        int taken = state.Taken | (1 << (screen.Trims ?? screen.Calibrates!.Value.Value));
        if (taken != (trims ? PanelRun.BothCurrents : _allTaken))
        {
            return screen.OnTaken is { } next ? Go(state with { Taken = taken }, IndexOf(next.Value)) : state with { Taken = taken, IsSteady = false };
        }

        Located<string>? target = state.IsGood ? screen.OnAccepted : screen.OnRefused;
        PanelState judged = (state.IsGood && !trims ? Repaired(state) : state) with { Taken = 0 };
        return Go(judged, target is { } named ? IndexOf(named.Value) : Measuring);
    }

    private PanelState Repaired(PanelState state)
    {
        int failures = state.Failures;
        for (int i = 0; i < Panel.Failures.Length; i++)
        {
            failures &= Panel.Failures[i].Kind == PanelFailureKind.MemoryCorrupt ? ~(1 << i) : ~0;
        }

        return state with { Failures = failures };
    }

    /// <summary>Shows a screen. Coming to a step of the calibration or of the trim from elsewhere begins it; going elsewhere forgets what was taken and entered.</summary>
    private PanelState Go(PanelState state, int screen)
    {
        screen = Standing(screen, state.Failures);
        PanelScreen to = Panel.Screens[screen];
        bool goesOn = (IsCalibrating(state) && to.Calibrates is not null) || (IsTrimming(state) && to.Trims is not null);
        return state with
        {
            Screen = screen,
            IsSteady = false,
            Taken = goesOn ? state.Taken : 0,
            Entries = goesOn || to.Enters is { } enters && Panel.Screens[state.Screen].Enters?.Value == enters.Value ? state.Entries : _freshEntries,
        };
    }

    /// <summary>Puts the right screen after a failure came or went: failures stand in for the measuring screen and disturb no other.</summary>
    private PanelState Settle(PanelState state)
    {
        if (state.Screen != Measuring && !FailureScreens.Contains(state.Screen))
        {
            return state;
        }

        int standing = Standing(Measuring, state.Failures);
        return standing == state.Screen ? state : Go(state, Measuring);
    }

    private int Standing(int screen, int failures)
    {
        if (screen == Measuring && failures != 0)
        {
            for (int i = 0; i < FailureScreens.Length; i++)
            {
                if ((failures & (1 << i)) != 0)
                {
                    return FailureScreens[i];
                }
            }
        }

        return screen;
    }

    private PanelAction?[] ActionsOf(KeyLayout layout)
    {
        PanelAction?[] actions = new PanelAction?[Panel.Keys];
        foreach (PlacedKey key in layout.Keys)
        {
            if (key.Number is { } number)
            {
                actions[number] ??= key.Key.Action;
            }
        }

        return actions;
    }

    private static int PointsOf(Instrument instrument)
    {
        int standards = instrument.Calibration?.Standards.Length ?? 0;
        return instrument.Stages.OfType<ArithmeticStage>().FirstOrDefault()?.Calibration?.Value switch
        {
            "one-point" => Math.Min(1, standards),
            "two-point" => Math.Min(2, standards),
            _ => standards,
        };
    }
}
