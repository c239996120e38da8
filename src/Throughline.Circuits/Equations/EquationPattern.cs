namespace Throughline.Circuits;

/// <summary>
/// Places of the entries of a sparse matrix, by rows. Entries are asked for twice: the first pass collects them, the second gives the
/// place of each in the value array. Anything in the row or column of a pinned node goes to one place behind the last that nobody reads.
/// </summary>
internal sealed class EquationPattern
{
    private readonly SortedSet<int>[] _columnsOfRow;
    private readonly int[] _unknownOfNode;
    private bool _isFrozen;

    public EquationPattern(int unknowns, int[] unknownOfNode)
    {
        Unknowns = unknowns;
        _unknownOfNode = unknownOfNode;
        _columnsOfRow = new SortedSet<int>[unknowns];
        for (int row = 0; row < unknowns; row++)
            _columnsOfRow[row] = [];
        RowStart = new int[unknowns + 1];
        Columns = [];
    }

    public int Unknowns { get; }

    /// <summary>Where a row's entries begin.</summary>
    public int[] RowStart { get; }

    /// <summary>Column of each entry, ascending within a row.</summary>
    public int[] Columns { get; private set; }

    public int EntryCount => Columns.Length;

    /// <summary>The unknown of a node's voltage, which is also the row of its current balance; a pin left out counts as pinned.</summary>
    public int Node(int node) => node < 0 ? Unknowns : _unknownOfNode[node];

    public int Entry(int row, int column)
    {
        if (row == Unknowns || column == Unknowns)
            return EntryCount;
        if (!_isFrozen)
        {
            _columnsOfRow[row].Add(column);
            return -1;
        }

        return Array.BinarySearch(Columns, RowStart[row], RowStart[row + 1] - RowStart[row], column);
    }

    /// <summary>Ends the first pass.</summary>
    public void Freeze()
    {
        var columns = new List<int>();
        for (int row = 0; row < Unknowns; row++)
        {
            RowStart[row] = columns.Count;
            columns.AddRange(_columnsOfRow[row]);
        }

        RowStart[Unknowns] = columns.Count;
        Columns = [.. columns];
        _isFrozen = true;
    }
}
