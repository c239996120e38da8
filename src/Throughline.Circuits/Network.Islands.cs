using System.Collections.Immutable;

namespace Throughline.Circuits;

/// <summary>Nodes that direct current joins.</summary>
/// <param name="Nodes">Every node of it, in order of declaration.</param>
/// <param name="Returns">The declared returns among them: none when it floats, several when a part bridges what should be apart.</param>
public sealed record Island(ImmutableArray<NodeId> Nodes, ImmutableArray<NodeId> Returns);

public sealed partial class Network
{
    private readonly List<int> _pinnedNodes = [];
    private readonly List<int> _tiedNodes = [];
    private ImmutableArray<string?> _floatingReasons = [];

    /// <summary>
    /// Sets of nodes that direct current joins. Capacitors, current sources, an isolation amplifier and amplifier inputs join nothing;
    /// an amplifier's output is joined to its supplies, and without supplies to a return.
    /// </summary>
    public ImmutableArray<Island> Islands { get; private set; } = [];

    /// <summary>Nodes that no direct-current path joins to a return; their voltages are relative to the first node of their island.</summary>
    public ImmutableArray<NodeId> FloatingNodes { get; private set; } = [];

    /// <summary>Islands without a return: the elements that drive a current across their border, which has no way back.</summary>
    internal ImmutableArray<(NodeId Node, ImmutableArray<(Element Element, int Pin)> Drivers)> FloatingDrivers { get; private set; } = [];

    /// <summary>Why a node floats, as a sentence that names it; null when it doesn't.</summary>
    public string? FloatingReason(NodeId node) => _floatingReasons[node.Index];

    /// <summary>The elements along a shortest direct-current path between two nodes; empty when none joins them or they are the same.</summary>
    public IReadOnlyList<ElementId> Bridge(NodeId a, NodeId b)
    {
        var cameBy = new (int Node, int Element)[NodeCount];
        Array.Fill(cameBy, (-1, -1));
        var neighbours = new List<(int Node, int Element)>[NodeCount];
        foreach (Element element in _elements)
        {
            foreach ((int first, int second) in element.Paths)
            {
                int from = element.Pins[first];
                int to = element.Pins[second];
                (neighbours[from] ??= []).Add((to, element.Index));
                (neighbours[to] ??= []).Add((from, element.Index));
            }
        }

        var queue = new Queue<int>([a.Index]);
        cameBy[a.Index] = (a.Index, -1);
        while (queue.TryDequeue(out int node) && node != b.Index)
        {
            foreach ((int next, int element) in neighbours[node] ?? [])
            {
                if (cameBy[next].Node >= 0)
                    continue;
                cameBy[next] = (node, element);
                queue.Enqueue(next);
            }
        }

        var path = new List<ElementId>();
        if (cameBy[b.Index].Node < 0)
            return path;
        for (int node = b.Index; node != a.Index; node = cameBy[node].Node)
            path.Add(new ElementId(cameBy[node].Element));
        path.Reverse();
        return path;
    }

    private void FindIslands(ImmutableArray<NodeId> returns)
    {
        var sets = new int[NodeCount];
        for (int node = 0; node < NodeCount; node++)
            sets[node] = node;
        foreach (Element element in _elements)
        {
            foreach ((int first, int second) in element.Paths)
                Join(sets, element.Pins[first], element.Pins[second]);
        }

        GiveReturns(sets, returns);
        int[] dynamicSets = [.. sets];
        foreach (Element element in _elements)
        {
            if (element is Capacitor)
                Join(dynamicSets, element.Pins[0], element.Pins[1]);
        }

        var held = new HashSet<int>();
        foreach (NodeId node in returns)
            held.Add(Root(dynamicSets, node.Index));
        var members = new SortedDictionary<int, List<NodeId>>();
        for (int node = 0; node < NodeCount; node++)
        {
            int root = Root(sets, node);
            if (!members.TryGetValue(root, out List<NodeId>? list))
                members.Add(root, list = []);
            list.Add(new NodeId(node));
        }

        var islands = ImmutableArray.CreateBuilder<Island>();
        var floating = ImmutableArray.CreateBuilder<NodeId>();
        var drivers = ImmutableArray.CreateBuilder<(NodeId, ImmutableArray<(Element, int)>)>();
        var reasons = new string?[NodeCount];
        foreach (List<NodeId> nodes in members.Values)
        {
            int root = Root(sets, nodes[0].Index);
            var island = new Island([.. nodes], [.. returns.Where(node => Root(sets, node.Index) == root)]);
            islands.Add(island);
            if (!island.Returns.IsEmpty)
            {
                _pinnedNodes.Add(island.Returns[0].Index);
                continue;
            }

            // An island that capacitors join to a held one keeps its own voltage for alternating current.
            if (held.Add(Root(dynamicSets, nodes[0].Index)))
                _pinnedNodes.Add(nodes[0].Index);
            else
                _tiedNodes.Add(nodes[0].Index);
            floating.AddRange(nodes);
            foreach (NodeId node in nodes)
                reasons[node.Index] = ReasonToFloat(node, nodes.Count);
            drivers.Add((nodes[0], DriversOf(sets, root)));
        }

        Islands = islands.ToImmutable();
        FloatingNodes = [.. floating.OrderBy(static node => node.Index)];
        FloatingDrivers = drivers.ToImmutable();
        _floatingReasons = [.. reasons];
    }

    /// <summary>Joins the output of an amplifier without supplies to the return of its surroundings, of its inputs, or to the network's first.</summary>
    private void GiveReturns(int[] sets, ImmutableArray<NodeId> returns)
    {
        foreach (Element element in _elements)
        {
            if (element is not Amplifier { HasNoSupply: true })
                continue;
            int? found = null;
            foreach (int pin in (int[])[2, 0, 1])
            {
                int root = Root(sets, element.Pins[pin]);
                found ??= returns.Where(node => Root(sets, node.Index) == root).Select(static node => (int?)node.Index).FirstOrDefault();
            }

            if (found is null && !returns.IsEmpty)
                found = returns[0].Index;
            if (found is { } home)
                Join(sets, element.Pins[2], home);
        }
    }

    private ImmutableArray<(Element Element, int Pin)> DriversOf(int[] sets, int root)
    {
        var drivers = ImmutableArray.CreateBuilder<(Element, int)>();
        foreach (Element element in _elements)
        {
            if (element is not (CurrentSource or ControlledCurrentSource))
                continue;
            bool first = Root(sets, element.Pins[0]) == root;
            bool second = Root(sets, element.Pins[1]) == root;
            if (first != second)
                drivers.Add((element, first ? 0 : 1));
        }

        return drivers.ToImmutable();
    }

    private string ReasonToFloat(NodeId node, int size)
    {
        string name = NodeName(node);
        var touching = new List<string>();
        foreach (Element element in _elements)
        {
            if (element.Pins.Contains(node.Index))
                touching.Add(element.Name);
        }

        if (touching.Count == 0)
            return $"Nothing is connected to node {name}.";
        return size == 1
            ? $"Node {name} has no direct-current path: only {string.Join(", ", touching.Distinct())} touches it, and none of that carries a direct current from it to a return."
            : $"Node {name} belongs to a part of the network that no direct-current path joins to a return.";
    }

    private static int Root(int[] sets, int node)
    {
        while (sets[node] != node)
            node = sets[node] = sets[sets[node]];
        return node;
    }

    private static void Join(int[] sets, int first, int second)
    {
        int a = Root(sets, first);
        int b = Root(sets, second);
        if (a != b)
            sets[Math.Max(a, b)] = Math.Min(a, b);
    }
}
