namespace Throughline.Circuits;

/// <summary>How a solve ended.</summary>
public enum SolveStatus
{
    Solved,

    /// <summary>The equations have no single answer: a contradiction of sources, an open loop, a node that nothing holds.</summary>
    Singular,

    /// <summary>The iteration did not settle.</summary>
    NotSettled,
}

/// <summary>Where an amplifier works.</summary>
public enum AmplifierState
{
    Linear,

    /// <summary>The output has reached its distance from the positive supply.</summary>
    AtPositiveLimit,

    /// <summary>The output has reached its distance from the negative supply.</summary>
    AtNegativeLimit,

    /// <summary>The output gives all the current it can.</summary>
    Sourcing,

    /// <summary>The output takes all the current it can.</summary>
    Sinking,
}

/// <summary>
/// Voltages and currents of a solved network. The one that a solver returns is overwritten by its next solve; <see cref="Snapshot"/> keeps one.
/// While <see cref="Status"/> is not <see cref="SolveStatus.Solved"/> every number is NaN.
/// </summary>
public sealed class OperatingPoint
{
    private readonly Network _network;
    private readonly Workspace _workspace;
    private readonly bool[] _isTied;

    internal OperatingPoint(Network network, Workspace workspace, bool[] isTied)
    {
        _network = network;
        _workspace = workspace;
        _isTied = isTied;
    }

    public SolveStatus Status { get; internal set; } = SolveStatus.NotSettled;

    /// <summary>A sentence that names the node or part to blame; null when solved.</summary>
    public string? Trouble { get; internal set; } = "Nothing was solved yet.";

    /// <summary>A sentence about a solved point that is not the only one, such as a latch; null when there is nothing to say.</summary>
    public string? Caution { get; internal set; }

    /// <summary>Linear systems solved on the way.</summary>
    public int Iterations { get; internal set; }

    /// <summary>True when direct steps did not settle and sources, gains or conductances were led to their values.</summary>
    public bool NeededContinuation { get; internal set; }

    internal Workspace Workspace => _workspace;

    internal Network Network => _network;

    internal bool IsTied(int unknown) => _isTied[unknown];

    /// <summary>Voltage of a node above 0 V of its island, V.</summary>
    public double Voltage(NodeId node) => Status == SolveStatus.Solved ? _workspace.X[_network.UnknownOfNode[node.Index]] : double.NaN;

    /// <summary>Voltage between two nodes, V. Between islands it says nothing but the difference of their own zeros.</summary>
    public double Voltage(NodeId plus, NodeId minus) => Voltage(plus) - Voltage(minus);

    /// <summary>Current of an element, A, in the direction that the builder's method states.</summary>
    public double Current(ElementId element) => Status == SolveStatus.Solved ? _network[element].Current(_workspace) : double.NaN;

    /// <summary>Current into one of an element's pins, A, by the pin's place in the builder's arguments.</summary>
    public double CurrentInto(ElementId element, int pin)
    {
        Element found = _network[element];
        Span<double> amperes = stackalloc double[8];
        amperes = amperes[..found.Pins.Count];
        found.PinCurrents(_workspace, amperes);
        return Status == SolveStatus.Solved ? amperes[pin] : double.NaN;
    }

    /// <summary>Power that an element takes from the network, W; negative when it gives.</summary>
    public double Power(ElementId element)
    {
        Element found = _network[element];
        Span<double> amperes = stackalloc double[8];
        amperes = amperes[..found.Pins.Count];
        found.PinCurrents(_workspace, amperes);
        double watts = 0;
        for (int pin = 0; pin < amperes.Length; pin++)
        {
            if (found.Pins[pin] >= 0)
                watts += amperes[pin] * _workspace.X[_network.UnknownOfNode[found.Pins[pin]]];
        }

        return Status == SolveStatus.Solved ? watts : double.NaN;
    }

    /// <summary>Where an amplifier works; linear for one that has come off.</summary>
    /// <exception cref="ArgumentException">The element is no amplifier.</exception>
    public AmplifierState State(ElementId element) => _network[element] switch
    {
        Amplifier amplifier => amplifier.StateOf(_workspace),
        IsolationAmplifier amplifier => amplifier.StateOf(_workspace),
        Absent { WasAmplifier: true } => AmplifierState.Linear,
        Element other => throw new ArgumentException($"{other.Name} is a {other.Kind}, no amplifier.", nameof(element)),
    };

    /// <summary>True when a transistor with a stated saturation voltage holds it, or is below it.</summary>
    /// <exception cref="ArgumentException">The element is no bipolar transistor.</exception>
    public bool IsSaturated(ElementId element) => _network[element] is Bipolar transistor
        ? transistor.IsSaturated(_workspace)
        : throw new ArgumentException($"{_network[element].Name} is no bipolar transistor.", nameof(element));

    /// <summary>
    /// True when nothing sets the node's voltage at these values: it was held at 0 V through 1 Ω, which carries whatever current had no other way.
    /// Nodes that float whatever the values are in <see cref="Network.FloatingNodes"/>.
    /// </summary>
    public bool IsFloating(NodeId node)
    {
        int unknown = _network.UnknownOfNode[node.Index];
        return _network.FloatingReason(node) is not null || (unknown < _isTied.Length && _isTied[unknown]);
    }

    /// <summary>A copy that the solver does not touch.</summary>
    public OperatingPoint Snapshot() => new(_network, _workspace.Clone(), [.. _isTied])
    {
        Status = Status,
        Trouble = Trouble,
        Caution = Caution,
        Iterations = Iterations,
        NeededContinuation = NeededContinuation,
    };
}
