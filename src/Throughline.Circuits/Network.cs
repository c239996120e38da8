namespace Throughline.Circuits;

/// <summary>The structure of a network: nodes, elements and slots. Immutable and shared between threads; numbers flow through a solver.</summary>
public sealed partial class Network
{
    /// <summary>A new array with every slot's default, in slot order, SI units.</summary>
    public double[] CreateValues() => throw new NotImplementedException();
}

public sealed partial class OperatingPoint
{
    /// <summary>Current of an element, A.</summary>
    public double Current(ElementId element) => throw new NotImplementedException();
}
