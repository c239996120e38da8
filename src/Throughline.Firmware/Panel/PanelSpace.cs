using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Every state that a panel can come to from switching on, found breadth first, so that the way to each is a shortest one. Immutable.</summary>
public sealed class PanelSpace
{
    /// <summary>Beyond so many states nothing is claimed.</summary>
    public const int MostStates = 200_000;

    private readonly List<PanelState> _states = [];
    private readonly List<(int From, PanelEvent By)> _ways = [];
    private readonly List<(PanelEvent By, int To)[]> _steps = [];
    private readonly Dictionary<PanelState, int> _index = [];

    public PanelSpace(PanelMachine machine)
    {
        Machine = machine;
        Add(machine.Start, -1, default);
        for (int i = 0; i < _states.Count && _states.Count < MostStates; i++)
        {
            List<(PanelEvent, int)> steps = [];
            foreach (PanelEvent happened in machine.EventsOf(_states[i]))
            {
                steps.Add((happened, Add(machine.Next(_states[i], happened), i, happened)));
            }

            _steps.Add([.. steps]);
            Transitions += steps.Count;
        }

        IsWhole = _steps.Count == _states.Count;
        Screens = [.. _states.Select(s => s.Screen).Distinct().Order()];
    }

    public PanelMachine Machine { get; }

    public IReadOnlyList<PanelState> States => _states;

    public int Transitions { get; }

    /// <summary>Whether every state was looked at; false when there are more than <see cref="MostStates"/>.</summary>
    public bool IsWhole { get; }

    /// <summary>Indices of the screens that are shown in some state.</summary>
    public ImmutableArray<int> Screens { get; }

    public bool Contains(PanelState state) => _index.ContainsKey(state);

    /// <summary>What can happen in a state and where it leads.</summary>
    public IReadOnlyList<(PanelEvent By, int To)> StepsOf(int state) => state < _steps.Count ? _steps[state] : [];

    /// <summary>A shortest way from switching on to a state: the events in their order.</summary>
    public ImmutableArray<PanelEvent> WayTo(int state)
    {
        List<PanelEvent> way = [];
        for (int i = state; _ways[i].From >= 0; i = _ways[i].From)
        {
            way.Add(_ways[i].By);
        }

        way.Reverse();
        return [.. way];
    }

    /// <summary>Whether the measuring screen is shown, or the screen of a failure that stands in for it.</summary>
    public bool IsHome(PanelState state) => state.Screen == Machine.Measuring || IsFailure(state);

    /// <summary>Whether the screen of a failure that is present is shown.</summary>
    public bool IsFailure(PanelState state)
    {
        for (int i = 0; i < Machine.FailureScreens.Length; i++)
        {
            if (Machine.FailureScreens[i] == state.Screen && (state.Failures & (1 << i)) != 0)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>The states from which steps of some kinds lead to a goal.</summary>
    public bool[] LeadingTo(Func<PanelState, bool> isGoal, Func<PanelState, PanelEvent, bool> mayHappen)
    {
        List<int>[] before = new List<int>[_states.Count];
        for (int i = 0; i < _steps.Count; i++)
        {
            foreach ((PanelEvent by, int to) in _steps[i])
            {
                if (to != i && mayHappen(_states[i], by))
                {
                    (before[to] ??= []).Add(i);
                }
            }
        }

        bool[] leads = new bool[_states.Count];
        Queue<int> open = new();
        for (int i = 0; i < leads.Length; i++)
        {
            if (isGoal(_states[i]))
            {
                leads[i] = true;
                open.Enqueue(i);
            }
        }

        while (open.TryDequeue(out int at))
        {
            foreach (int i in before[at] ?? [])
            {
                if (!leads[i])
                {
                    leads[i] = true;
                    open.Enqueue(i);
                }
            }
        }

        return leads;
    }

    /// <summary>How long the panel takes by itself from a state to the measuring screen or a failure's, s; null when it never comes there.</summary>
    public double? TimeHome(PanelState state)
    {
        double seconds = 0;
        HashSet<PanelState> seen = [];
        while (!IsHome(state))
        {
            if (Machine.ScreenOf(state).After is not { } after || !seen.Add(state))
            {
                return null;
            }

            seconds += after.Time.Value;
            state = Machine.Next(state, new PanelEvent(PanelEventKind.Time));
        }

        return seconds;
    }

    /// <summary>Events as a person performs them: <c>MENU · CAL · wait 60 s</c>.</summary>
    public string Tell(IEnumerable<PanelEvent> way)
    {
        PanelState state = Machine.Start;
        List<string> words = [];
        foreach (PanelEvent happened in way)
        {
            words.Add(Word(state, happened));
            state = Machine.Next(state, happened);
        }

        return words.Count == 0 ? "from the start" : string.Join(" · ", words);
    }

    private string Word(PanelState state, PanelEvent happened) => happened.Kind switch
    {
        PanelEventKind.Key => LabelOf(state, happened.Index),
        PanelEventKind.Hold => "hold " + LabelOf(state, happened.Index),
        PanelEventKind.Time => $"wait {Machine.ScreenOf(state).After!.Time.Text}",
        PanelEventKind.Steady => "reading steady",
        PanelEventKind.Moving => "reading moves",
        PanelEventKind.GoodSensor when Machine.IsTrimming(state) => "entries to be accepted",
        PanelEventKind.BadSensor when Machine.IsTrimming(state) => "entries to be refused",
        PanelEventKind.GoodSensor => "a good sensor",
        PanelEventKind.BadSensor => "a sensor to be refused",
        PanelEventKind.FailureComes => PanelWords.WordOf(Machine.Panel.Failures[happened.Index].Kind),
        _ => PanelWords.WordOf(Machine.Panel.Failures[happened.Index].Kind) + " no more",
    };

    private string LabelOf(PanelState state, int key) =>
        Machine.Layouts[state.Screen].Keys.FirstOrDefault(k => k.Number == key)?.Label.Value ?? string.Create(System.Globalization.CultureInfo.InvariantCulture, $"key {key + 1}");

    private int Add(PanelState state, int from, PanelEvent by)
    {
        if (!_index.TryGetValue(state, out int index))
        {
            index = _states.Count;
            _index.Add(state, index);
            _states.Add(state);
            _ways.Add((from, by));
        }

        return index;
    }
}
