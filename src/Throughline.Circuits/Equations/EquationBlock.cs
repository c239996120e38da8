namespace Throughline.Circuits;

/// <summary>
/// Equations of a network that can be solved for as many of its unknowns once the blocks before them are: a block of the triangular form of the equations
/// (Duff, Erisman, Reid: Direct Methods for Sparse Matrices, 2nd ed. (Oxford, 2017), ch. 6). Immutable but for the plan, which the first solve finds.
/// </summary>
internal sealed class EquationBlock
{
    private EliminationPlan? _plan;

    /// <param name="network">Whose equations they are, its pattern frozen.</param>
    /// <param name="rows">The equations, ascending.</param>
    /// <param name="columns">The unknowns, ascending.</param>
    /// <param name="elements">Those that write any of the equations.</param>
    /// <param name="nonlinear">Those with a law of several pieces or a bend that this block iterates on.</param>
    /// <param name="earlier">Unknowns of earlier blocks that its equations read.</param>
    public EquationBlock(Network network, int[] rows, int[] columns, Element[] elements, Element[] nonlinear, int[] earlier)
    {
        EquationPattern pattern = network.Pattern;
        Rows = rows;
        Columns = columns;
        Elements = elements;
        Nonlinear = nonlinear;
        Earlier = earlier;
        RowRuns = RunsOf(rows);
        EntryRuns = [.. RowRuns.Select(run => (pattern.RowStart[run.Start], pattern.RowStart[run.Start + run.Length] - pattern.RowStart[run.Start]))];
        Slots = SlotsOf(elements);
        Nodes = columns.Count(column => column < network.FreeNodeCount);
        Tied = [.. network.TiedUnknowns.Where(rows.Contains)];
    }

    /// <summary>Its equations, ascending.</summary>
    public int[] Rows { get; }

    /// <summary>Its unknowns, ascending: voltages of nodes, then the elements' own.</summary>
    public int[] Columns { get; }

    /// <summary>How many of the unknowns are voltages of nodes.</summary>
    public int Nodes { get; }

    /// <summary>Elements that write any of its equations; of some of them a part of what they write belongs to other blocks.</summary>
    public Element[] Elements { get; }

    /// <summary>Those with a law of several pieces or a bend, which no other block iterates on.</summary>
    public Element[] Nonlinear { get; }

    /// <summary>Slots of its elements.</summary>
    public int[] Slots { get; }

    /// <summary>Unknowns of earlier blocks that its equations read.</summary>
    public int[] Earlier { get; }

    /// <summary>Its equations that are held at 0 V whatever the values are.</summary>
    public int[] Tied { get; }

    /// <summary>Its equations as runs of neighbours.</summary>
    public (int Start, int Length)[] RowRuns { get; }

    /// <summary>The entries of the matrix in its equations as runs of neighbours.</summary>
    public (int Start, int Length)[] EntryRuns { get; }

    /// <summary>Elimination order that every solver of the network starts from; the first solve finds it.</summary>
    public EliminationPlan? Plan => Volatile.Read(ref _plan);

    /// <summary>Keeps the plan that came first.</summary>
    public void Publish(EliminationPlan plan) => Interlocked.CompareExchange(ref _plan, plan, null);

    private static int[] SlotsOf(Element[] elements)
    {
        var slots = new List<int>();
        foreach (Element element in elements)
        {
            for (int slot = 0; slot < element.Slots.Count; slot++)
                slots.Add(element.FirstSlot + slot);
        }

        return [.. slots];
    }

    private static (int Start, int Length)[] RunsOf(int[] ascending)
    {
        var runs = new List<(int Start, int Length)>();
        foreach (int line in ascending)
        {
            if (runs.Count > 0 && runs[^1].Start + runs[^1].Length == line)
                runs[^1] = (runs[^1].Start, runs[^1].Length + 1);
            else
                runs.Add((line, 1));
        }

        return [.. runs];
    }
}
