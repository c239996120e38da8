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

/// <summary>A voltage between two nodes or a current through an element: what a sensitivity is of.</summary>
public readonly record struct Probe
{
    private Probe(NodeId plus, NodeId minus, ElementId element, bool isCurrent)
    {
        Plus = plus;
        Minus = minus;
        Element = element;
        IsCurrent = isCurrent;
    }

    public NodeId Plus { get; }

    public NodeId Minus { get; }

    public ElementId Element { get; }

    public bool IsCurrent { get; }

    public static Probe Voltage(NodeId plus, NodeId minus) => new(plus, minus, default, false);

    /// <summary>The current as <see cref="OperatingPoint.Current"/> defines it.</summary>
    public static Probe Current(ElementId element) => new(default, default, element, true);
}
