using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// Lets each source from outside fall and rise, and solves the network wherever a rail leaves its voltage, a converter stops or the processor goes into reset.
/// Slow against start-up times, whose order is <see cref="StartSurvey"/>'s.
/// </summary>
internal sealed class BrownOutSurvey
{
    public const string LoopSource = "loop supply";

    /// <summary>How finely an event is found, V.</summary>
    private const double Fine = 1e-3;

    /// <summary>A rail this much below its stated voltage sags.</summary>
    private const double Sag = 1e-3;

    /// <summary>How often the way between two voltages is halved where the loop's current moves.</summary>
    private const int Halvings = 4;

    private readonly CheckContext _context;
    private readonly Instrument _instrument;
    private readonly OutputConverterStage _dac;
    private readonly Supply _root;
    private readonly ImmutableArray<Supply> _tree;
    private readonly Supply? _processorRail;
    private readonly Supply? _dacRail;
    private readonly ImmutableArray<double> _measurands;
    private readonly Dictionary<double, (double Volts, double Value)> _sound = [];
    private readonly Dictionary<(string Gone, bool IsOpen), (NetworkRun Run, Dictionary<string, double> Volts)> _networks = [];
    private NetworkRun? _loopRails;

    private BrownOutSurvey(CheckContext context, OutputConverterStage dac, Supply root)
    {
        _context = context;
        _instrument = context.Instrument;
        _dac = dac;
        _root = root;
        string[] names = [.. Fault.Fed(_instrument, root.Name.Value)];
        _tree = [.. names.Select(n => _instrument.Supplies.First(s => s.Name.Value == n))];
        _processorRail = Powering.RailOf(_instrument, context.Model.Arithmetic?.Name.Value);
        _dacRail = Powering.RailOf(_instrument, dac.Name.Value);

        // What a loop that falls can't drive any more is a matter of compliance: the least current is what can be right until the processor stops.
        Specification s = context.Specification;
        double least = context.Evaluator.LoopScale?.Forward(s.Range.Low) <= context.Evaluator.LoopScale?.Forward(s.Range.High) ? s.Range.Low : s.Range.High;
        _measurands = IsLoop ? [least] : [s.Range.Low, s.Range.High];
    }

    private bool IsLoop => _root.Kind == SupplyKind.Loop;

    /// <summary>Of every source from outside on which rails, the processor, its converters or the circuit depend; none without a loop or where nothing of starting and reset is stated.</summary>
    public static ImmutableArray<BrownOut> Build(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        return instrument.Loop is null || context.Model.OutputConverter is not { } dac || context.Evaluator.LoopScale is null || !StartSurvey.IsStated(instrument)
            ? []
            : [.. instrument.Supplies.Where(s => s.From is null && Matters(context.Model, s)).Select(s => new BrownOutSurvey(context, dac, s).Run())];
    }

    private static bool Matters(Model model, Supply root)
    {
        string[] tree = [.. Fault.Fed(model.Instrument, root.Name.Value)];
        string?[] consumers = [model.Arithmetic?.Name.Value, model.Converter?.Name.Value, model.OutputConverter?.Name.Value];
        return consumers.Any(c => Powering.RailOf(model.Instrument, c) is { } rail && tree.Contains(rail.Name.Value))
            || model.Parts.Any(p => p.Terminals.Any(t => tree.Contains(t.Node.Value)));
    }

    private BrownOut Run()
    {
        double top = Math.Abs(IsLoop ? _instrument.Loop!.Supply!.Quantity.Value : _root.Voltage.Quantity.Value);
        List<double> ends = [top];
        Seek(top, StateAt(top), 0, StateAt(0), ends);
        ends.Add(0);
        List<BrownOutStretch> stretches = [];
        for (int i = 1; i < ends.Count; i++)
        {
            if (ends[i - 1] - ends[i] >= 2 * Fine)
            {
                stretches.Add(Stretch(ends[i - 1], ends[i]));
            }
        }

        return new BrownOut(
            IsLoop ? LoopSource : _root.Name.Value,
            [.. stretches],
            [.. _tree.Where(s => IsConverter(s) && s.Input is null).Select(s => s.Name.Value)],
            _root.Span);
    }

    /// <summary>Where the state changes between two voltages: each rail only ever loses as the source falls, so that equal ends have nothing between them.</summary>
    private void Seek(double high, State atHigh, double low, State atLow, List<double> ends)
    {
        if (atHigh.Key == atLow.Key)
        {
            return;
        }

        double middle = (high + low) / 2;
        if (high - low <= Fine)
        {
            ends.Add(middle);
            return;
        }

        State atMiddle = StateAt(middle);
        Seek(high, atHigh, middle, atMiddle, ends);
        Seek(middle, atMiddle, low, atLow, ends);
    }

    private BrownOutStretch Stretch(double high, double low)
    {
        double inside = Math.Min(Fine, (high - low) / 4);
        State state = StateAt((high + low) / 2);
        Powering powering = Powering.Without(_context.Model, state.Gone);
        bool[] running = state.Processor switch
        {
            ProcessorState.Runs => [true],
            ProcessorState.MayReset => [true, false],
            _ => [false],
        };
        List<Sample> falling = [];
        List<Sample> rising = [];
        List<double> last = Take(high - inside);
        foreach (double v in new[] { (high + low) / 2, low + inside })
        {
            List<double> next = Take(v);
            Between(last, next, Halvings);
            last = next;
        }

        return new BrownOutStretch(high, low, state.Gone, state.Sagging, Words(state.Processor), Judge(falling), Judge(rising));

        // Where the loop moves on the way, what it passes through counts as well.
        void Between(List<double> from, List<double> to, int halvings)
        {
            if (halvings > 0 && from.Zip(to).Skip(1).Any(p => Math.Abs(p.First - p.Second) > _context.AllowedLoopError))
            {
                List<double> half = Take((from[0] + to[0]) / 2);
                Between(from, half, halvings - 1);
                Between(half, to, halvings - 1);
            }
        }

        // The voltage, then every current there.
        List<double> Take(double v)
        {
            List<double> taken = [v];
            State now = StateAt(v);
            foreach (bool runs in running)
            {
                foreach (double x in _measurands)
                {
                    OutputHold before = powering.HoldOf(_dac, runs, hasWritten: true);
                    falling.Add(Solve(now, v, x, before));

                    // On the way up it has its supply before the processor leaves reset, or it is written soon after it has it.
                    OutputHold after = powering.HoldOf(_dac, runs, hasWritten: false);
                    rising.Add(after == before ? falling[^1] : Solve(now, v, x, after));
                    taken.Add(falling[^1].Value);
                    taken.Add(rising[^1].Value);
                }
            }

            return taken;
        }
    }

    private static BrownOutLoop Judge(List<Sample> samples)
    {
        Sample worst = samples.MaxBy(s => s.Falseness);
        string words = string.Join(" or ", samples.Select(s => s.Hold).Distinct().Select(Powering.Words));
        return new BrownOutLoop(words, samples.Min(s => s.Value), samples.Max(s => s.Value), worst.Falseness, worst.Value, worst.Volts);
    }

    private Sample Solve(State now, double volts, double x, OutputHold hold)
    {
        NetworkRun run = NetworkAt(now, Powering.IsOpen(hold));
        UnitState state = NewState(x, volts);
        bool isSolved = false;
        double drive;
        if (hold == OutputHold.Written)
        {
            drive = _context.Evaluator.Chain(run, state, limited: true).DriveVolts;
            isSolved = run.Point is { Status: SolveStatus.Solved };
        }
        else
        {
            drive = hold == OutputHold.Kept ? Sound(x).Volts : Powering.VoltsOf(hold, _context.Evaluator);
        }

        // No converter gives more than its supply.
        double most = _dacRail is { } rail && now.Volts.TryGetValue(rail.Name.Value, out double supplied) ? Math.Abs(supplied) : double.PositiveInfinity;
        if (!isSolved || drive > most)
        {
            state.DriveVolts = Math.Min(drive, most);
            isSolved = run.Solve(state, limited: true).Status == SolveStatus.Solved;
        }

        run.BeginAtLast();
        double value = isSolved ? Evaluator.LoopValue(run) : double.NaN;
        return new Sample(hold, value, Falseness(value, hold, x), volts);
    }

    /// <summary>The network of what gives any voltage at a state, with the voltages of it.</summary>
    private NetworkRun NetworkAt(State now, bool isOpen)
    {
        (string, bool) key = (string.Join(',', now.Volts.Keys), isOpen);
        if (!_networks.TryGetValue(key, out (NetworkRun Run, Dictionary<string, double> Volts) found))
        {
            Dictionary<string, double> volts = new(now.Volts);
            found = _networks[key] = (new NetworkRun(_context.Model.BindFault(Weak(now with { Volts = volts }, isOpen))), volts);
        }

        foreach ((string name, double volts) in now.Volts)
        {
            found.Volts[name] = volts;
        }

        return found.Run;
    }

    /// <summary>A current that the processor wrote is as right as it was at the stated voltage; any other must be no measured value.</summary>
    private double Falseness(double value, OutputHold hold, double x)
    {
        double inside = _context.States.Falseness(value);
        double moved = Math.Abs(value - Sound(x).Value) / _context.AllowedLoopError;
        return hold == OutputHold.Written && !(moved > 1) ? Math.Min(inside, double.IsNaN(moved) ? -1 : moved - 1) : inside;
    }

    /// <summary>What the output converter was told to give while all was well, V, and what the loop carried, A.</summary>
    private (double Volts, double Value) Sound(double x)
    {
        if (!_sound.TryGetValue(x, out (double, double) sound))
        {
            UnitState state = _context.Evaluator.NewState();
            state.Measurand = x;
            ChainPoint point = _context.Evaluator.Chain(state);
            sound = _sound[x] = (point.DriveVolts, point.LoopValue);
        }

        return sound;
    }

    private UnitState NewState(double x, double volts)
    {
        UnitState state = _context.Evaluator.NewState();
        state.Measurand = x;
        if (IsLoop)
        {
            state.Values[_context.Model.Parameters.IndexOf(_instrument.Loop!.Supply!)] = volts;
        }

        return state;
    }

    private State StateAt(double volts)
    {
        Dictionary<string, double> rails = IsLoop ? LoopRails(volts) : Rails(volts);
        ImmutableArray<string> gone = [.. _tree.Where(s => !rails.ContainsKey(s.Name.Value)).Select(s => s.Name.Value)];
        ImmutableArray<string> sagging =
        [
            .. _tree.Where(s => Regulates(s) && rails.TryGetValue(s.Name.Value, out double v) && Math.Abs(v) < Stated(s) * (1 - Sag)).Select(s => s.Name.Value),
        ];
        return new State(rails, gone, sagging, ProcessorAt(rails));
    }

    private ProcessorState ProcessorAt(Dictionary<string, double> rails)
    {
        if (_processorRail is not { } rail || !_tree.Contains(rail))
        {
            return ProcessorState.Runs;
        }

        if (!rails.TryGetValue(rail.Name.Value, out double v))
        {
            return ProcessorState.Unpowered;
        }

        // Where no threshold is stated, it may be in reset anywhere below the least stated voltage.
        Quantity? threshold = _context.Model.Arithmetic?.ResetsBelow;
        double high = threshold?.High ?? (Stated(rail) * (1 - Sag)) - rail.Voltage.Quantity.Tolerance;
        double low = threshold?.Low ?? 0;
        return Math.Abs(v) >= high ? ProcessorState.Runs : Math.Abs(v) >= low && low < high ? ProcessorState.MayReset : ProcessorState.Reset;
    }

    /// <summary>What each supply gives, V; one that gives nothing is left out.</summary>
    private Dictionary<string, double> Rails(double volts)
    {
        Dictionary<string, double> rails = new() { [_root.Name.Value] = Math.CopySign(volts, _root.Voltage.Quantity.Value) };

        // In the order in which they feed each other.
        foreach (Supply supply in _tree.Skip(1))
        {
            if (!rails.TryGetValue(supply.From!.Value.Value, out double input))
            {
                continue;
            }

            double stated = supply.Voltage.Quantity.Value;
            double size = Math.Abs(input);
            if (IsConverter(supply))
            {
                double least = supply.Input is { } range ? Math.Min(Math.Abs(range.Low), Math.Abs(range.High)) : 0;
                if (size > 0 && size >= least)
                {
                    // A charge pump whose output falls with its load gives its input many times over; what regulates gives what is stated.
                    Supply from = _instrument.Supplies.First(s => s.Name.Value == supply.From.Value.Value);
                    rails[supply.Name.Value] = supply.Kind == SupplyKind.ChargePump && supply.OutputResistance is not null && Stated(from) > 0 ? stated * size / Stated(from) : stated;
                }
            }
            else
            {
                double lost = supply.Kind == SupplyKind.ProtectionDiode ? supply.Drop?.Value ?? 0 : supply.Kind == SupplyKind.Fuse ? 0
                    : supply.Feed is { } feed ? (feed.Dimension == Dimension.Resistance ? feed.Value * supply.Draws.Sum(d => d.Current.Value) : 0)
                    : supply.Dropout?.High ?? 0;
                double most = supply.IsInSeries ? double.PositiveInfinity : Math.Abs(stated);
                rails[supply.Name.Value] = Math.CopySign(Math.Min(most, Math.Max(0, size - lost)), stated);
            }
        }

        return rails;
    }

    /// <summary>The same of what lives on the loop, where the network itself says it.</summary>
    private Dictionary<string, double> LoopRails(double volts)
    {
        NetworkRun run = _loopRails ??= new NetworkRun(_context.Model.BindFault(Weak(new State([], [], [], ProcessorState.Runs), isOpen: false)));
        UnitState state = NewState(_measurands[0], volts);
        state.DriveVolts = Sound(_measurands[0]).Volts;
        bool isSolved = run.Solve(state, limited: true).Status == SolveStatus.Solved;
        return _tree.ToDictionary(s => s.Name.Value, s => isSolved ? Math.Max(0, Evaluator.Volts(run, s.Name.Value, s.Return.Value)) : 0);
    }

    private Fault Weak(State state, bool isOpen) => new("brown-out", "supplies", default)
    {
        MissingSupplies = state.Gone,
        SupplyVolts = IsLoop ? new Dictionary<string, double>() : state.Volts,
        OpenDrive = isOpen,
    };

    /// <summary>The voltage that a supply has while all is well, V; of a part in series that of what feeds it less what it loses.</summary>
    private static double Stated(Supply supply) =>
        Math.Abs(supply.Voltage.Quantity.Value) - (supply.Kind == SupplyKind.ProtectionDiode ? supply.Drop?.Value ?? 0 : 0);

    /// <summary>Whether a supply has a voltage of its own to fall from: a part in series and a pump that is not regulated follow their input all the way.</summary>
    private static bool Regulates(Supply supply) =>
        supply is { From: not null, IsInSeries: false } && !(supply.Kind == SupplyKind.ChargePump && supply.OutputResistance is not null);

    private static bool IsConverter(Supply supply) => supply.Kind is SupplyKind.SwitchingConverter or SupplyKind.IsolatedConverter or SupplyKind.ChargePump;

    private static string Words(ProcessorState state) => state switch
    {
        ProcessorState.Runs => "runs",
        ProcessorState.MayReset => "may be in reset",
        ProcessorState.Reset => "in reset",
        _ => "without supply",
    };

    private enum ProcessorState
    {
        Runs,
        MayReset,
        Reset,
        Unpowered,
    }

    /// <summary>What is there at one voltage of the source.</summary>
    /// <param name="Volts">Of the supplies that give any.</param>
    private sealed record State(Dictionary<string, double> Volts, ImmutableArray<string> Gone, ImmutableArray<string> Sagging, ProcessorState Processor)
    {
        /// <summary>The same for states between which nothing happens.</summary>
        public string Key { get; } = string.Join('|', string.Join(',', Gone), string.Join(',', Sagging), Processor);
    }

    private readonly record struct Sample(OutputHold Hold, double Value, double Falseness, double Volts);
}
