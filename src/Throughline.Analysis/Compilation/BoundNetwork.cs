using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A network with the laws that fill its slots from a unit's state. Shared; numbers live in a <see cref="NetworkRun"/>.</summary>
internal sealed class BoundNetwork
{
    private readonly Lazy<(int[] Parameters, int[] Trimmers)[]> _reads;
    private readonly Lazy<ImmutableArray<Binding>> _turned;

    /// <param name="sample">Of its own: what the laws read is found in it when it is first asked for. A network that is only solved is never asked.</param>
    public BoundNetwork(Network network, NetworkSink sink, UnitState sample, ParameterSet parameters)
    {
        Network = network;
        Elements = sink.Elements;
        Amplifiers = [.. sink.Amplifiers];
        Parameters = parameters;
        Sources = [.. sink.Sources];
        Bindings = [.. sink.Laws.Select((l, i) => new Binding(this, i, network.FirstSlot(l.Element) + l.Offset, l.Law, l.Offset == 0 && sink.Sources.Contains(l.Element)))];
        _reads = new Lazy<(int[] Parameters, int[] Trimmers)[]>(() => [.. Bindings.Select(b => sample.Reads(b.Law))]);
        _turned = new Lazy<ImmutableArray<Binding>>(() => [.. Bindings.Where(b => b.Trimmers.Length > 0)]);
    }

    public Network Network { get; }

    public IReadOnlyDictionary<string, ElementId> Elements { get; }

    public ImmutableArray<AmplifierPins> Amplifiers { get; }

    public ParameterSet Parameters { get; }

    /// <summary>Independent sources of voltage and current.</summary>
    public ImmutableHashSet<ElementId> Sources { get; }

    public ImmutableArray<Binding> Bindings { get; }

    /// <summary>Those that follow a trimmer.</summary>
    public ImmutableArray<Binding> Turned => _turned.Value;

    /// <summary>What each law reads, in the order of <see cref="Bindings"/>.</summary>
    internal (int[] Parameters, int[] Trimmers)[] Reads => _reads.Value;

    /// <summary>What the receiver gets: the current through it or the voltage across it; null without an output.</summary>
    public Probe? Output { get; init; }

    public NodeId? Find(string node) => Network.FindNode(node);

    /// <summary>Whether a slot holds a limit of an amplifier's output.</summary>
    public bool IsLimit(int slot) => Amplifiers.Any(a => a.LimitSlots.Any(offset => Network.FirstSlot(a.Element) + offset == slot));

    /// <summary>The return of the island that a node is in; null for a floating one.</summary>
    /// <param name="nearest">Where a bridged barrier puts several returns into one island: that nearest to the node, or the first of them.</param>
    public NodeId? ReturnOf(NodeId node, bool nearest = true)
    {
        foreach (Island island in Network.Islands)
        {
            if (island.Nodes.Contains(node))
            {
                // Two returns in one island are a bridged barrier: a meter on the node is then read against the return nearest to it.
                return island.Returns.Length switch
                {
                    0 => null,
                    _ when island.Returns.Length == 1 || !nearest => island.Returns[0],
                    _ => island.Returns.MinBy(r => r == node ? 0 : Network.Bridge(node, r).Count),
                };
            }
        }

        return null;
    }
}

/// <summary>A slot, the law that fills it, and what the law reads.</summary>
/// <param name="network">Whose it is.</param>
/// <param name="number">Its place there.</param>
/// <param name="isSource">Whether it only moves a source, and none of the network's equations.</param>
internal sealed class Binding(BoundNetwork network, int number, int slot, Law law, bool isSource)
{
    public int Slot => slot;

    public Law Law => law;

    public bool IsSource => isSource;

    public int[] Parameters => network.Reads[number].Parameters;

    public int[] Trimmers => network.Reads[number].Trimmers;
}

/// <summary>A voltage or current, less a law's value: headroom is a voltage less a distance that the part asks for.</summary>
/// <param name="Sides">Which of its extremes are of interest: with headroom only the least.</param>
/// <param name="Group">Readings of one group, not 0, are rivals: only the least of them is confirmed by a full solve, the others keep their first-order value.</param>
internal readonly record struct Reading(Probe Probe, Law? Less = null, Sides Sides = Sides.Both, int Group = 0);

/// <summary>Which extremes of a reading are sought.</summary>
[Flags]
internal enum Sides
{
    None = 0,
    Low = 1,
    High = 2,
    Both = Low | High,
}

/// <summary>How a reading moves with everything that may move.</summary>
internal sealed class Gradient(int parameters, int trimmers)
{
    /// <summary>Per unit of each parameter's value.</summary>
    public double[] Values { get; } = new double[parameters];

    /// <summary>Per unit of each parameter's change per kelvin.</summary>
    public double[] Drifts { get; } = new double[parameters];

    /// <summary>Per whole travel of each trimmer.</summary>
    public double[] Positions { get; } = new double[trimmers];

    public void Clear()
    {
        Array.Clear(Values);
        Array.Clear(Drifts);
        Array.Clear(Positions);
    }
}

/// <summary>Solves one bound network for one state after another. One per thread.</summary>
internal sealed class NetworkRun
{
    private readonly BoundNetwork _bound;
    private readonly NetworkSolver _solver;
    private readonly double[] _values;
    private readonly double[] _perSlot;
    private double[] _several = [];
    private OperatingPoint? _startLimited;
    private OperatingPoint? _startUnlimited;

    public NetworkRun(BoundNetwork bound)
    {
        _bound = bound;
        _solver = bound.Network.CreateSolver();
        _values = bound.Network.CreateValues();
        _perSlot = new double[bound.Network.SlotCount];
    }

    public BoundNetwork Bound => _bound;

    /// <summary>Another run of the same network, that begins where this one does.</summary>
    public NetworkRun Again() => new(_bound) { _startLimited = _startLimited, _startUnlimited = _startUnlimited };

    public OperatingPoint? Point { get; private set; }

    /// <summary>Solves with amplifiers as they are, or, to see what the circuit asks of them, without limits.</summary>
    /// <param name="fromLast">Begin at the point last solved: for a search whose states follow each other closely, and which is itself the same every time.</param>
    public OperatingPoint Solve(UnitState state, bool limited, bool fromLast = false) =>
        Solve(state, limited, fromLast && Point is { Status: SolveStatus.Solved } last ? last : limited ? _startLimited : _startUnlimited);

    /// <summary>The same from a point of this network; null begins from nothing.</summary>
    public OperatingPoint Solve(UnitState state, bool limited, OperatingPoint? start)
    {
        foreach (Binding binding in _bound.Bindings)
        {
            _values[binding.Slot] = binding.Law(state);
        }

        if (!limited)
        {
            LiftLimits();
        }

        Point = _solver.Solve(_values, state.AmbientCelsius + 273.15, start);
        return Point;
    }

    /// <summary>Makes a state the point from which every later solve begins: solves are short near it, and the same whatever was solved before.</summary>
    public void BeginAt(UnitState state)
    {
        (_startLimited, _startUnlimited) = (null, null);
        OperatingPoint limited = Solve(state, limited: true);
        _startLimited = limited.Status == SolveStatus.Solved ? limited.Snapshot() : null;
        OperatingPoint unlimited = Solve(state, limited: false);
        _startUnlimited = unlimited.Status == SolveStatus.Solved ? unlimited.Snapshot() : null;
    }

    /// <summary>Makes the point last solved the one from which later solves with limits begin, as what moves slowly does.</summary>
    public void BeginAtLast() => _startLimited = Point is { Status: SolveStatus.Solved } last ? last.Snapshot() : _startLimited;

    public double Read(in Reading reading, UnitState state)
    {
        OperatingPoint point = Point ?? throw new InvalidOperationException("Solve first.");
        double value = reading.Probe.IsCurrent
            ? point.Current(reading.Probe.Element)
            : point.Voltage(reading.Probe.Plus, reading.Probe.Minus);
        return reading.Less is { } less ? value - less(state) : value;
    }

    /// <summary>The network about the point last solved, for small changes; null when its equations are singular there.</summary>
    public SmallSignal? TryLinearise() => _solver.TryLinearise();

    /// <summary>How every slot moves with the measurand at a state, per unit of the measurand: where a sensor's signal enters.</summary>
    public (int Slot, double PerUnit)[] SlotsPerMeasurand(UnitState state, double step)
    {
        double kept = state.Measurand;
        List<(int, double)> result = [];
        foreach (Binding binding in _bound.Bindings)
        {
            state.Measurand = kept + step;
            double up = binding.Law(state);
            state.Measurand = kept - step;
            double slope = (up - binding.Law(state)) / (2 * step);
            if (slope != 0)
            {
                result.Add((binding.Slot, slope));
            }
        }

        state.Measurand = kept;
        return [.. result];
    }

    /// <summary>The gradient of a reading at the point last solved, which must have been solved for <paramref name="state"/>.</summary>
    public void Differentiate(in Reading reading, UnitState state, Gradient gradient)
    {
        gradient.Clear();
        _solver.Sensitivities(reading.Probe, _perSlot);
        double fromReference = state.AmbientCelsius - UnitState.ReferenceCelsius;
        foreach (Binding binding in _bound.Bindings)
        {
            double weight = _perSlot[binding.Slot];
            if (weight != 0 && double.IsFinite(weight))
            {
                Add(binding.Law, binding.Parameters, binding.Trimmers, weight, state, fromReference, gradient);
            }
        }

        if (reading.Less is { } less)
        {
            (int[] parameters, int[] trimmers) = state.Reads(less);
            Add(less, parameters, trimmers, -1, state, fromReference, gradient);
        }
    }

    /// <summary>How a reading moves with every trimmer at the point last solved, per whole travel.</summary>
    /// <param name="perTrimmer">Overwritten; in the order of the trimmers.</param>
    public void DifferentiateByPosition(in Reading reading, UnitState state, Span<double> perTrimmer)
    {
        perTrimmer.Clear();
        _solver.Sensitivities(reading.Probe, _perSlot);
        foreach (Binding binding in _bound.Turned)
        {
            double weight = _perSlot[binding.Slot];
            foreach (int t in weight != 0 ? binding.Trimmers : [])
            {
                perTrimmer[t] += weight * PositionSlope(binding.Law, t, state);
            }
        }
    }

    /// <summary>The gradients of several readings at the point last solved: the laws are differentiated once for all of them. A reading must not be less a law.</summary>
    public void Differentiate(ReadOnlySpan<Reading> readings, UnitState state, ReadOnlySpan<Gradient> gradients)
    {
        if (_several.Length < readings.Length * _perSlot.Length)
        {
            _several = new double[readings.Length * _perSlot.Length];
        }

        int slots = _perSlot.Length;
        for (int r = 0; r < readings.Length; r++)
        {
            gradients[r].Clear();
            _solver.Sensitivities(readings[r].Probe, _several.AsSpan(r * slots, slots));
        }

        double fromReference = state.AmbientCelsius - UnitState.ReferenceCelsius;
        foreach (Binding binding in _bound.Bindings)
        {
            bool acts = false;
            for (int r = 0; r < readings.Length; r++)
            {
                ref double weight = ref _several[(r * slots) + binding.Slot];
                weight = double.IsFinite(weight) ? weight : 0;
                acts |= weight != 0;
            }

            if (!acts)
            {
                continue;
            }

            foreach (int p in binding.Parameters)
            {
                double slope = ValueSlope(binding.Law, p, state);
                for (int r = 0; r < readings.Length; r++)
                {
                    double product = slope * _several[(r * slots) + binding.Slot];
                    gradients[r].Values[p] += product;
                    gradients[r].Drifts[p] += product * fromReference;
                }
            }

            foreach (int t in binding.Trimmers)
            {
                double slope = PositionSlope(binding.Law, t, state);
                for (int r = 0; r < readings.Length; r++)
                {
                    gradients[r].Positions[t] += slope * _several[(r * slots) + binding.Slot];
                }
            }
        }
    }

    /// <summary>The bindings whose laws read a condition, as far as a small step at a state shows.</summary>
    public Binding[] ReadersOf(UnitState state, UnitState.Of condition, double step)
    {
        ref double value = ref state.Condition(condition)[state.Lane];
        double kept = value;
        List<Binding> readers = [];
        foreach (Binding binding in _bound.Bindings)
        {
            value = kept + step;
            double up = binding.Law(state);
            value = kept;
            if (up != binding.Law(state))
            {
                readers.Add(binding);
            }
        }

        return [.. readers];
    }

    /// <summary>How one of the readings last differentiated together moves with a condition through the laws that read it.</summary>
    /// <param name="reading">Its number among them.</param>
    public double Slope(int reading, UnitState state, UnitState.Of condition, double step, ReadOnlySpan<Binding> readers)
    {
        ref double value = ref state.Condition(condition)[state.Lane];
        double kept = value;
        double sum = 0;
        foreach (Binding binding in readers)
        {
            value = kept + step;
            double up = binding.Law(state);
            value = kept - step;
            sum += _several[(reading * _perSlot.Length) + binding.Slot] * (up - binding.Law(state)) / (2 * step);
        }

        value = kept;
        return sum;
    }

    /// <summary>How a reading moves with the first slot of an element, at the point last solved.</summary>
    public double ElementSensitivity(in Reading reading, ElementId element)
    {
        _solver.Sensitivities(reading.Probe, _perSlot);
        return _perSlot[_bound.Network.FirstSlot(element)];
    }

    private void Add(
        Law law, int[] parameters, int[] trimmers, double weight, UnitState state, double fromReference, Gradient gradient)
    {
        foreach (int p in parameters)
        {
            double slope = weight * ValueSlope(law, p, state);
            gradient.Values[p] += slope;
            gradient.Drifts[p] += slope * fromReference;
        }

        foreach (int t in trimmers)
        {
            gradient.Positions[t] += weight * PositionSlope(law, t, state);
        }
    }

    private double ValueSlope(Law law, int parameter, UnitState state)
    {
        ref double value = ref state.Values[parameter];
        double kept = value;
        double range = _bound.Parameters.High(parameter) - _bound.Parameters.Low(parameter);
        double step = range > 0 ? range * 1e-3 : Math.Max(Math.Abs(kept) * 1e-6, 1e-15);
        value = kept + step;
        double up = law(state);
        value = kept - step;
        double down = law(state);
        value = kept;
        return (up - down) / (2 * step);
    }

    private static double PositionSlope(Law law, int trimmer, UnitState state)
    {
        const double Step = 1e-3;
        double kept = state.Positions[trimmer];
        state.Positions[trimmer] = kept + Step;
        double up = law(state);
        state.Positions[trimmer] = kept - Step;
        double down = law(state);
        state.Positions[trimmer] = kept;
        return (up - down) / (2 * Step);
    }

    private void LiftLimits()
    {
        foreach (AmplifierPins amplifier in _bound.Amplifiers)
        {
            int first = _bound.Network.FirstSlot(amplifier.Element);
            if (amplifier.IsIsolation)
            {
                _values[first + amplifier.LimitSlots[0]] = double.NegativeInfinity;
                _values[first + amplifier.LimitSlots[1]] = double.PositiveInfinity;
            }
            else
            {
                _values[first + amplifier.LimitSlots[0]] = double.NegativeInfinity;
                _values[first + amplifier.LimitSlots[1]] = double.NegativeInfinity;
                _values[first + amplifier.LimitSlots[2]] = double.PositiveInfinity;
                _values[first + amplifier.LimitSlots[3]] = double.PositiveInfinity;
            }
        }
    }
}
