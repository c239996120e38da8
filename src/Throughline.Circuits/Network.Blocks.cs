using System.Collections.Immutable;

namespace Throughline.Circuits;

public sealed partial class Network
{
    /// <summary>Splitting off less than the rest of this part of the unknowns is not worth the passes over what the blocks share.</summary>
    private const double GreatestShare = 0.75;

    /// <summary>All equations at once.</summary>
    internal EquationBlock Whole { get; private set; } = null!;

    /// <summary>
    /// The equations in triangular form, whatever the values are: voltages that ideal sources hold, then everything between them, which falls apart where it has
    /// nothing in common but such voltages, then the currents of those sources. Empty where most of it would be one block.
    /// </summary>
    internal ImmutableArray<EquationBlock> Blocks { get; private set; } = [];

    /// <summary>Block of each unknown; empty without blocks.</summary>
    internal int[] BlockOfUnknown { get; private set; } = [];

    private void FindBlocks()
    {
        int[] all = new int[UnknownCount];
        for (int unknown = 0; unknown < all.Length; unknown++)
            all[unknown] = unknown;
        Whole = new EquationBlock(this, all, all, [.. _elements], [.. _elements.Where(static element => element.IsNonlinear)], []);
        int[][] written = [.. _elements.Select(Written)];
        (List<Element> holding, bool[] isHeld) = FindHolding(written);
        if (holding.Count == 0)
            return;
        var voltages = new List<int>();
        for (int node = 0; node < NodeCount; node++)
        {
            if (isHeld[node] && UnknownOfNode[node] < UnknownCount)
                voltages.Add(UnknownOfNode[node]);
        }

        int[] held = [.. voltages.Order()];
        int[] currents = [.. holding.Select(static element => element.Branch).Order()];
        int[][] between = Between([.. held, .. currents], written);
        if (between.Length < 2 || between.Max(static block => block.Length) > GreatestShare * UnknownCount)
            return;

        int[][] columns = [held, .. between, currents];
        int[][] rows = [currents, .. between, held];
        var blockOfRow = new int[UnknownCount];
        BlockOfUnknown = new int[UnknownCount];
        for (int block = 0; block < columns.Length; block++)
        {
            foreach (int column in columns[block])
                BlockOfUnknown[column] = block;
            foreach (int row in rows[block])
                blockOfRow[row] = block;
        }

        // An element between held nodes alone has no block but the last to iterate on it.
        var elements = new List<Element>[columns.Length];
        var nonlinear = new List<Element>[columns.Length];
        for (int block = 0; block < columns.Length; block++)
            (elements[block], nonlinear[block]) = ([], []);
        foreach (Element element in _elements)
        {
            int home = columns.Length - 1;
            foreach (int unknown in written[element.Index])
            {
                int block = blockOfRow[unknown];
                if (elements[block].Count == 0 || elements[block][^1] != element)
                    elements[block].Add(element);
                home = block == BlockOfUnknown[unknown] ? block : home;
            }

            if (element.IsNonlinear)
                nonlinear[home].Add(element);
        }

        Blocks = [.. rows.Select((_, block) => new EquationBlock(this, rows[block], columns[block], [.. elements[block]], [.. nonlinear[block]], Earlier(block)))];

        int[] Earlier(int block)
        {
            var earlier = new SortedSet<int>();
            foreach (int row in rows[block])
            {
                for (int entry = Pattern.RowStart[row]; entry < Pattern.RowStart[row + 1]; entry++)
                {
                    if (BlockOfUnknown[Pattern.Columns[entry]] < block)
                        earlier.Add(Pattern.Columns[entry]);
                }
            }

            return [.. earlier];
        }
    }

    /// <summary>Equations that an element writes, each once: the balances of its pins and its own. Those of pinned nodes belong to nobody.</summary>
    private int[] Written(Element element)
    {
        var written = new SortedSet<int>();
        foreach (int pin in element.Pins)
        {
            if (pin >= 0 && UnknownOfNode[pin] < UnknownCount)
                written.Add(UnknownOfNode[pin]);
        }

        for (int own = 0; own < element.BranchCount; own++)
            written.Add(element.Branch + own);
        return [.. written];
    }

    /// <summary>
    /// Ideal sources and links that hold a node each, beginning at the returns, and the nodes held. One whose current another equation than the balances of its pins
    /// reads holds nothing here.
    /// </summary>
    private (List<Element> Holding, bool[] IsHeld) FindHolding(int[][] written)
    {
        var candidates = new Element?[UnknownCount];
        foreach (Element element in _elements)
        {
            if (element is VoltageSource or Link)
                candidates[element.Branch] = element;
        }

        for (int row = 0; row < UnknownCount; row++)
        {
            for (int entry = Pattern.RowStart[row]; entry < Pattern.RowStart[row + 1]; entry++)
            {
                int column = Pattern.Columns[entry];
                if (candidates[column] is { } source && Array.IndexOf(written[source.Index], row) < 0)
                    candidates[column] = null;
            }
        }

        var isHeld = new bool[NodeCount];
        foreach (int node in _pinnedNodes)
            isHeld[node] = true;
        var holding = new List<Element>();
        for (bool again = true; again;)
        {
            again = false;
            foreach (Element? element in candidates)
            {
                if (element is null || isHeld[element.Pins[0]] == isHeld[element.Pins[1]])
                    continue;
                isHeld[element.Pins[0]] = isHeld[element.Pins[1]] = true;
                holding.Add(element);
                again = true;
            }
        }

        return (holding, isHeld);
    }

    /// <summary>The unknowns but those left out, by what the equations and the elements have in common; ascending in each group.</summary>
    private int[][] Between(ReadOnlySpan<int> without, int[][] written)
    {
        var group = new int[UnknownCount];
        for (int unknown = 0; unknown < group.Length; unknown++)
            group[unknown] = unknown;
        var isOut = new bool[UnknownCount];
        foreach (int unknown in without)
            isOut[unknown] = true;
        foreach (int[] unknowns in written)
            Join(unknowns, -1);
        for (int row = 0; row < UnknownCount; row++)
        {
            if (!isOut[row])
                Join(Pattern.Columns.AsSpan(Pattern.RowStart[row]..Pattern.RowStart[row + 1]), row);
        }

        var groups = new Dictionary<int, List<int>>();
        for (int unknown = 0; unknown < UnknownCount; unknown++)
        {
            if (isOut[unknown])
                continue;
            int head = Head(unknown);
            if (!groups.TryGetValue(head, out List<int>? members))
                groups.Add(head, members = []);
            members.Add(unknown);
        }

        return [.. groups.Values.Select(static members => members.ToArray())];

        int Head(int unknown)
        {
            while (group[unknown] != unknown)
                unknown = group[unknown] = group[group[unknown]];
            return unknown;
        }

        void Join(ReadOnlySpan<int> unknowns, int with)
        {
            foreach (int unknown in unknowns)
            {
                if (isOut[unknown])
                    continue;
                if (with >= 0)
                    group[Head(unknown)] = Head(with);
                with = unknown;
            }
        }
    }
}
