using System.Collections.Immutable;

namespace Throughline.Circuits;

/// <summary>
/// The structure of a network: nodes, elements, slots, islands, equations. Immutable and shared between threads; numbers flow through a solver.
/// </summary>
/// <remarks>
/// Modified nodal analysis (Ho, Ruehli, Brennan: The modified nodal approach to network analysis, IEEE Trans. Circuits and Systems 22 (1975) 504–509),
/// the whole network in one system. In every island the return declared first is at 0 V; further returns of the same island are ordinary nodes.
/// In an island without a return the node declared first is held at 0 V instead, through 1 Ω where capacitors join it to another island, and takes
/// whatever current has no other way; its nodes are in <see cref="FloatingNodes"/>.
/// </remarks>
public sealed partial class Network
{
    private readonly ImmutableArray<string> _nodeNames;
    private readonly Dictionary<string, int> _nodesByName;
    private readonly ImmutableArray<Element> _elements;

    internal Network(ImmutableArray<string> nodeNames, ImmutableArray<Func<IReadOnlyList<Element>, Element>> recipes, ImmutableArray<NodeId> returns)
    {
        _nodeNames = nodeNames;
        _recipes = recipes;
        _returns = returns;
        ImmutableArray<Element> elements = _elements = Cook(recipes);
        _nodesByName = new Dictionary<string, int>(nodeNames.Length, StringComparer.Ordinal);
        for (int node = 0; node < nodeNames.Length; node++)
            _nodesByName.Add(nodeNames[node], node);

        var slots = ImmutableArray.CreateBuilder<Slot>();
        for (int k = 0; k < elements.Length; k++)
        {
            Element element = elements[k];
            element.FirstSlot = slots.Count;
            foreach (SlotDefinition slot in element.Slots)
                slots.Add(new Slot(new ElementId(k), element.Name, slot.Quantity, slot.Default));
            element.State = StateCount;
            StateCount += element.StateCount;
            element.Mode = ModeCount;
            ModeCount += element.ModeCount;
            element.Storage = StorageCount;
            StorageCount += element.StorageCount;
        }

        Slots = slots.ToImmutable();
        FindIslands(returns);
        Pattern = CreatePattern();
        FindPossibleLatches();
        FindBlocks();
    }

    /// <summary>Every number of the network, in the order in which elements were added.</summary>
    public ImmutableArray<Slot> Slots { get; }

    public int SlotCount => Slots.Length;

    public int NodeCount => _nodeNames.Length;

    public int ElementCount => _elements.Length;

    /// <summary>Number of equations that a solve factors.</summary>
    public int UnknownCount => Pattern.Unknowns;

    internal ImmutableArray<Element> Elements => _elements;

    internal EquationPattern Pattern { get; }

    /// <summary>Unknown of each node; <see cref="UnknownCount"/> for a pinned one.</summary>
    internal int[] UnknownOfNode { get; private set; } = [];

    /// <summary>Entry of each unpinned node's own voltage in its own balance, for continuation.</summary>
    internal int[] DiagonalOfUnknown { get; private set; } = [];

    /// <summary>Unknowns of nodes that only capacitors join to a return: held at 0 V through 1 Ω at direct current.</summary>
    internal int[] TiedUnknowns { get; private set; } = [];

    internal int FreeNodeCount { get; private set; }

    internal int StateCount { get; }

    internal int ModeCount { get; }

    internal int StorageCount { get; }

    /// <summary>First slot of an element.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The element is not of this network.</exception>
    public int FirstSlot(ElementId element) => this[element].FirstSlot;

    public string NodeName(NodeId node) => _nodeNames[node.Index];

    /// <summary>The node of that name, or null.</summary>
    public NodeId? FindNode(string name) => _nodesByName.TryGetValue(name, out int node) ? new NodeId(node) : null;

    public string ElementName(ElementId element) => this[element].Name;

    /// <summary>The element of that name, or null.</summary>
    public ElementId? FindElement(string name)
    {
        foreach (Element element in _elements)
        {
            if (string.Equals(element.Name, name, StringComparison.Ordinal))
                return new ElementId(element.Index);
        }

        return null;
    }

    /// <summary>Nodes of an element's pins in the order of the builder's arguments; null for a pin left out.</summary>
    public ImmutableArray<NodeId?> Pins(ElementId element) =>
        [.. this[element].Pins.Select(static pin => pin < 0 ? (NodeId?)null : new NodeId(pin))];

    /// <summary>A new array with every slot's default, in slot order, SI units.</summary>
    public double[] CreateValues()
    {
        var values = new double[Slots.Length];
        for (int k = 0; k < values.Length; k++)
            values[k] = Slots[k].Default;
        return values;
    }

    /// <summary>A solver with buffers of its own: one per thread.</summary>
    public NetworkSolver CreateSolver() => new(this);

    internal Element this[ElementId element] => (uint)element.Index < (uint)_elements.Length
        ? _elements[element.Index]
        : throw new ArgumentOutOfRangeException(nameof(element), element.Index, "The element is not of this network.");

    /// <summary>What an unknown or its equation belongs to, for a message.</summary>
    internal string DescribeUnknown(int unknown)
    {
        if (unknown < FreeNodeCount)
            return $"node {_nodeNames[Array.IndexOf(UnknownOfNode, unknown)]}";
        foreach (Element element in _elements)
        {
            if (unknown >= element.Branch && unknown < element.Branch + element.BranchCount)
                return element.DescribeUnknown(unknown - element.Branch);
        }

        return "an unknown";
    }

    /// <summary>The element whose own equation a row is, or null for a node's balance.</summary>
    internal Element? ElementOfUnknown(int unknown)
    {
        foreach (Element element in _elements)
        {
            if (unknown >= element.Branch && unknown < element.Branch + element.BranchCount)
                return element;
        }

        return null;
    }

    private EquationPattern CreatePattern()
    {
        var isPinned = new bool[NodeCount];
        foreach (int node in _pinnedNodes)
            isPinned[node] = true;
        UnknownOfNode = new int[NodeCount];
        int unknowns = 0;
        for (int node = 0; node < NodeCount; node++)
            UnknownOfNode[node] = isPinned[node] ? -1 : unknowns++;
        FreeNodeCount = unknowns;
        foreach (Element element in _elements)
        {
            element.Branch = unknowns;
            unknowns += element.BranchCount;
        }

        for (int node = 0; node < NodeCount; node++)
        {
            if (isPinned[node])
                UnknownOfNode[node] = unknowns;
        }

        TiedUnknowns = [.. _tiedNodes.Select(node => UnknownOfNode[node])];
        var pattern = new EquationPattern(unknowns, UnknownOfNode);
        DeclareAll(pattern);
        pattern.Freeze();
        DeclareAll(pattern);
        return pattern;
    }

    private void DeclareAll(EquationPattern pattern)
    {
        foreach (Element element in _elements)
            element.Declare(pattern);
        DiagonalOfUnknown = new int[FreeNodeCount];
        for (int unknown = 0; unknown < FreeNodeCount; unknown++)
            DiagonalOfUnknown[unknown] = pattern.Entry(unknown, unknown);
    }
}
