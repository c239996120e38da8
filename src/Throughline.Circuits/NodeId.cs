namespace Throughline.Circuits;

/// <summary>A node of one network. The default value is the builder's first node.</summary>
public readonly record struct NodeId(int Index);

/// <summary>An element of one network.</summary>
public readonly record struct ElementId(int Index);
