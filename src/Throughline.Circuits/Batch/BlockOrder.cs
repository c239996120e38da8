namespace Throughline.Circuits;

/// <summary>
/// Blocks of equations that have to be solved together, in an order in which each needs only unknowns of earlier ones: a matching of equations and unknowns,
/// then the strongly connected parts of what they need of each other.
/// </summary>
/// <remarks>Duff, Erisman, Reid: Direct Methods for Sparse Matrices, 2nd ed. (Oxford, 2017), ch. 6. From memory of the method.</remarks>
internal sealed class BlockOrder
{
    private readonly int[][] _columns;
    private readonly int[] _columnOfRow;
    private readonly int[] _rowOfColumn;
    private readonly int[] _partner;
    private readonly List<int[]> _blocks = [];
    private readonly int[] _low;
    private readonly int[] _number;
    private readonly Stack<int> _path = new();
    private readonly bool[] _isOnPath;
    private int _count;

    /// <param name="columns">Unknowns in each equation.</param>
    /// <param name="partner">For each equation another one that must come in the same block; itself when there is none.</param>
    public BlockOrder(int[][] columns, int[] partner)
    {
        _columns = columns;
        _partner = partner;
        int n = columns.Length;
        _columnOfRow = new int[n];
        _rowOfColumn = new int[n];
        Array.Fill(_columnOfRow, -1);
        Array.Fill(_rowOfColumn, -1);
        _low = new int[n];
        _number = new int[n];
        _isOnPath = new bool[n];
        var seen = new int[n];
        for (int row = 0; row < n; row++)
        {
            if (!Match(row, seen, row + 1))
                throw new InvalidOperationException("The equations of a solved point are not independent.");
        }
    }

    /// <summary>Unknown that each equation is matched with.</summary>
    public IReadOnlyList<int> ColumnOfRow => _columnOfRow;

    /// <summary>Equations that unknowns depend on, themselves and through others.</summary>
    public bool[] RowsFor(IEnumerable<int> unknowns)
    {
        var held = new bool[_columns.Length];
        var queue = new Stack<int>();
        void Hold(int row)
        {
            if (held[row])
                return;
            held[row] = true;
            queue.Push(row);
        }

        foreach (int unknown in unknowns)
            Hold(_rowOfColumn[unknown]);
        while (queue.TryPop(out int row))
        {
            Hold(_partner[row]);
            foreach (int column in _columns[row])
                Hold(_rowOfColumn[column]);
        }

        return held;
    }

    /// <summary>Equations of each block, of those that are held.</summary>
    public IReadOnlyList<int[]> Blocks(bool[] held)
    {
        for (int row = 0; row < held.Length; row++)
        {
            if (held[row] && _number[row] == 0)
                Visit(row);
        }

        return _blocks;
    }

    private bool Match(int row, int[] seen, int mark)
    {
        foreach (int column in _columns[row])
        {
            if (seen[column] == mark)
                continue;
            seen[column] = mark;
            if (_rowOfColumn[column] >= 0 && !Match(_rowOfColumn[column], seen, mark))
                continue;
            _rowOfColumn[column] = row;
            _columnOfRow[row] = column;
            return true;
        }

        return false;
    }

    private void Visit(int row)
    {
        _number[row] = _low[row] = ++_count;
        _path.Push(row);
        _isOnPath[row] = true;
        Look(row, _partner[row]);
        foreach (int column in _columns[row])
            Look(row, _rowOfColumn[column]);
        if (_low[row] != _number[row])
            return;
        var block = new List<int>();
        int member;
        do
        {
            member = _path.Pop();
            _isOnPath[member] = false;
            block.Add(member);
        }
        while (member != row);
        block.Sort();
        _blocks.Add([.. block]);
    }

    private void Look(int row, int next)
    {
        if (_number[next] == 0)
        {
            Visit(next);
            _low[row] = Math.Min(_low[row], _low[next]);
        }
        else if (_isOnPath[next])
        {
            _low[row] = Math.Min(_low[row], _number[next]);
        }
    }
}
