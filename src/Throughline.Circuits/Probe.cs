namespace Throughline.Circuits;

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
