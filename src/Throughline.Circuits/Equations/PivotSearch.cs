using System.Diagnostics;
using System.Numerics;

namespace Throughline.Circuits;

/// <summary>
/// Finds an elimination order for a sparse matrix: Markowitz's count for sparsity, a threshold on the column for stability. Entries that are nothing but
/// rounding left over from a cancellation are not taken as pivots, so a contradiction is not mistaken for a tiny conductance.
/// </summary>
internal sealed class PivotSearch<T>
    where T : struct, INumberBase<T>
{
    private const double Threshold = 0.1;
    private const int CandidateLines = 6;

    /// <summary>An entry this much smaller than the terms it is the difference of holds no digit.</summary>
    private const double Cancelled = 2e-15;

    private readonly int _n;
    private readonly int _size;
    private readonly bool[] _isColumn;
    private readonly int[][] _rowColumns;
    private readonly T[][] _rowValues;
    private readonly double[][] _rowTerms;
    private readonly int[] _rowCount;
    private readonly int[][] _columnRows;
    private readonly int[] _columnCount;
    private readonly double[] _columnGreatest;
    private readonly int[] _place;
    private readonly bool[] _rowDone;
    private readonly bool[] _columnDone;
    private readonly int[] _rowOfStep;
    private readonly int[] _columnOfStep;
    private readonly int[] _stepOfRow;
    private readonly int[] _stepOfColumn;
    private readonly List<int>[] _lower;
    private readonly List<int> _omitted = [];
    private readonly CountBuckets _rowBuckets;
    private readonly CountBuckets _columnBuckets;

    private PivotSearch(EquationPattern pattern, T[] matrix, bool[]? include, int[]? rows, int[]? columns)
    {
        int n = _n = pattern.Unknowns;
        rows ??= [.. Enumerable.Range(0, n)];
        columns ??= [.. Enumerable.Range(0, n)];
        _size = rows.Length;
        _isColumn = new bool[n];
        foreach (int column in columns)
            _isColumn[column] = true;
        _rowColumns = new int[n][];
        _rowValues = new T[n][];
        _rowTerms = new double[n][];
        _rowCount = new int[n];
        _columnRows = new int[n][];
        _columnCount = new int[n];
        _columnGreatest = new double[n];
        Array.Fill(_columnGreatest, -1);
        _place = new int[n];
        Array.Fill(_place, -1);
        _rowDone = new bool[n];
        Array.Fill(_rowDone, true);
        _columnDone = new bool[n];
        Array.Fill(_columnDone, true);
        _rowOfStep = new int[n];
        _columnOfStep = new int[n];
        _stepOfRow = new int[n];
        _stepOfColumn = new int[n];
        _lower = new List<int>[n];
        foreach (int column in columns)
        {
            _columnRows[column] = new int[4];
            _columnDone[column] = false;
        }

        foreach (int row in rows)
        {
            _rowDone[row] = false;
            _lower[row] = [];
            int start = pattern.RowStart[row];
            int end = pattern.RowStart[row + 1];
            int capacity = Math.Max(4, end - start + 2);
            _rowColumns[row] = new int[capacity];
            _rowValues[row] = new T[capacity];
            _rowTerms[row] = new double[capacity];
            for (int entry = start; entry < end; entry++)
            {
                if (!_isColumn[pattern.Columns[entry]])
                    continue;
                if (T.IsZero(matrix[entry]) && (include is null || !include[entry]))
                {
                    _omitted.Add(entry);
                    continue;
                }

                Append(row, pattern.Columns[entry], matrix[entry], Scalar.Size(matrix[entry]));
            }
        }

        _rowBuckets = new CountBuckets(n);
        _columnBuckets = new CountBuckets(n);
        foreach (int row in rows)
            _rowBuckets.Insert(row, _rowCount[row]);
        foreach (int column in columns)
            _columnBuckets.Insert(column, _columnCount[column]);
    }

    /// <summary>Makes a plan, or says which equations and unknowns are left when the matrix has no more pivots.</summary>
    /// <param name="pattern">Places of the entries.</param>
    /// <param name="matrix">Their values.</param>
    /// <param name="include">Entries to keep although they are zero now; null for none.</param>
    /// <param name="remainingRows">Equations without a pivot; empty when the plan is complete.</param>
    /// <param name="remainingColumns">Unknowns without a pivot.</param>
    /// <param name="rows">Equations of a block, for an order of that block alone; null for all.</param>
    /// <param name="columns">Unknowns of the block, as many; null for all.</param>
    public static EliminationPlan? Find(
        EquationPattern pattern, T[] matrix, bool[]? include, out int[] remainingRows, out int[] remainingColumns, int[]? rows = null, int[]? columns = null)
    {
        var search = new PivotSearch<T>(pattern, matrix, include, rows, columns);
        int step = 0;
        while (step < search._size && search.TakePivot(step))
            step++;
        if (step < search._size)
        {
            remainingRows = [.. Enumerable.Range(0, search._n).Where(row => !search._rowDone[row])];
            remainingColumns = [.. Enumerable.Range(0, search._n).Where(column => !search._columnDone[column])];
            return null;
        }

        remainingRows = [];
        remainingColumns = [];
        return search.Compile(pattern);
    }

    private void Append(int row, int column, T value, double term)
    {
        int count = _rowCount[row]++;
        if (count == _rowColumns[row].Length)
        {
            Array.Resize(ref _rowColumns[row], 2 * count);
            Array.Resize(ref _rowValues[row], 2 * count);
            Array.Resize(ref _rowTerms[row], 2 * count);
        }

        _rowColumns[row][count] = column;
        _rowValues[row][count] = value;
        _rowTerms[row][count] = term;
        int columnCount = _columnCount[column]++;
        if (columnCount == _columnRows[column].Length)
            Array.Resize(ref _columnRows[column], 2 * columnCount);
        _columnRows[column][columnCount] = row;
    }

    private bool TakePivot(int step)
    {
        long bestCost = long.MaxValue;
        double bestSize = 0;
        int bestRow = -1;
        int bestColumn = -1;
        int looked = 0;
        for (int count = 1; count <= _n && (looked < CandidateLines || bestRow < 0); count++)
        {
            if (bestCost <= (long)(count - 1) * (count - 1))
                break;
            for (int column = _columnBuckets.First(count); column >= 0 && (looked < CandidateLines || bestRow < 0); column = _columnBuckets.Next(column))
            {
                looked++;
                LookAtColumn(column, ref bestCost, ref bestSize, ref bestRow, ref bestColumn);
            }

            for (int row = _rowBuckets.First(count); row >= 0 && (looked < CandidateLines || bestRow < 0); row = _rowBuckets.Next(row))
            {
                looked++;
                LookAtRow(row, ref bestCost, ref bestSize, ref bestRow, ref bestColumn);
            }
        }

        if (bestRow < 0)
            return false;
        Eliminate(step, bestRow, bestColumn);
        return true;
    }

    private void LookAtColumn(int column, ref long bestCost, ref double bestSize, ref int bestRow, ref int bestColumn)
    {
        double greatest = Greatest(column);
        if (greatest == 0)
            return;
        int count = _columnCount[column];
        for (int k = 0; k < count; k++)
        {
            int row = _columnRows[column][k];
            Consider(row, column, Find(row, column), greatest, ref bestCost, ref bestSize, ref bestRow, ref bestColumn);
        }
    }

    private void LookAtRow(int row, ref long bestCost, ref double bestSize, ref int bestRow, ref int bestColumn)
    {
        for (int k = 0; k < _rowCount[row]; k++)
        {
            int column = _rowColumns[row][k];
            if ((long)(_rowCount[row] - 1) * (_columnCount[column] - 1) > bestCost)
                continue;
            Consider(row, column, k, Greatest(column), ref bestCost, ref bestSize, ref bestRow, ref bestColumn);
        }
    }

    private void Consider(
        int row, int column, int place, double greatest, ref long bestCost, ref double bestSize, ref int bestRow, ref int bestColumn)
    {
        double size = Size(row, place);
        if (size == 0 || size < Threshold * greatest)
            return;
        long cost = (long)(_rowCount[row] - 1) * (_columnCount[column] - 1);
        double relative = size / greatest;
        if (cost < bestCost || (cost == bestCost && relative > bestSize))
        {
            bestCost = cost;
            bestSize = relative;
            bestRow = row;
            bestColumn = column;
        }
    }

    private double Size(int row, int place)
    {
        double size = Scalar.Size(_rowValues[row][place]);
        return size <= Cancelled * _rowTerms[row][place] ? 0 : size;
    }

    /// <summary>Greatest entry of a column, kept until an elimination step changes the column: the last lines of a large mesh are as good as full, and
    /// looking at one row asks for every column.</summary>
    private double Greatest(int column)
    {
        double greatest = _columnGreatest[column];
        if (greatest >= 0)
            return greatest;
        greatest = 0;
        for (int k = 0; k < _columnCount[column]; k++)
        {
            int row = _columnRows[column][k];
            greatest = Math.Max(greatest, Size(row, Find(row, column)));
        }

        _columnGreatest[column] = greatest;
        return greatest;
    }

    private int Find(int row, int column)
    {
        int place = Array.IndexOf(_rowColumns[row], column, 0, _rowCount[row]);
        Debug.Assert(place >= 0, "row and column lists agree");
        return place;
    }

    private void Eliminate(int step, int pivotRow, int pivotColumn)
    {
        _rowOfStep[step] = pivotRow;
        _columnOfStep[step] = pivotColumn;
        _stepOfRow[pivotRow] = step;
        _stepOfColumn[pivotColumn] = step;
        _rowDone[pivotRow] = true;
        _columnDone[pivotColumn] = true;
        _rowBuckets.Remove(pivotRow, _rowCount[pivotRow]);
        _columnBuckets.Remove(pivotColumn, _columnCount[pivotColumn]);

        int pivotCount = _rowCount[pivotRow];
        int[] pivotColumns = _rowColumns[pivotRow];
        T[] pivotValues = _rowValues[pivotRow];
        double[] pivotTerms = _rowTerms[pivotRow];
        int pivotPlace = Find(pivotRow, pivotColumn);
        T pivot = pivotValues[pivotPlace];
        for (int k = 0; k < pivotCount; k++)
        {
            int column = pivotColumns[k];
            if (column == pivotColumn)
                continue;
            _columnBuckets.Remove(column, _columnCount[column]);
            _columnGreatest[column] = -1;
            RemoveFromColumn(column, pivotRow);
        }

        for (int k = 0; k < _columnCount[pivotColumn]; k++)
        {
            int row = _columnRows[pivotColumn][k];
            if (row == pivotRow)
                continue;
            _lower[row].Add(step);
            _rowBuckets.Remove(row, _rowCount[row]);
            int place = Find(row, pivotColumn);
            T value = _rowValues[row][place];
            T multiplier = value / pivot;
            double termMultiplier = _rowTerms[row][place] / Scalar.Size(pivot);
            RemovePlace(row, place);
            for (int q = 0; q < _rowCount[row]; q++)
                _place[_rowColumns[row][q]] = q;
            for (int q = 0; q < pivotCount; q++)
            {
                int column = pivotColumns[q];
                if (column == pivotColumn)
                    continue;
                T change = multiplier * pivotValues[q];
                double term = Math.Max(termMultiplier * Scalar.Size(pivotValues[q]), Scalar.Size(multiplier) * pivotTerms[q]);
                int at = _place[column];
                if (at < 0)
                {
                    Append(row, column, -change, term);
                    continue;
                }

                _rowValues[row][at] -= change;
                _rowTerms[row][at] = Math.Max(_rowTerms[row][at], term);
            }

            for (int q = 0; q < _rowCount[row]; q++)
                _place[_rowColumns[row][q]] = -1;
            _rowBuckets.Insert(row, _rowCount[row]);
        }

        for (int k = 0; k < pivotCount; k++)
        {
            if (pivotColumns[k] != pivotColumn)
                _columnBuckets.Insert(pivotColumns[k], _columnCount[pivotColumns[k]]);
        }
    }

    private void RemovePlace(int row, int place)
    {
        int last = --_rowCount[row];
        _rowColumns[row][place] = _rowColumns[row][last];
        _rowValues[row][place] = _rowValues[row][last];
        _rowTerms[row][place] = _rowTerms[row][last];
    }

    private void RemoveFromColumn(int column, int row)
    {
        int place = Array.IndexOf(_columnRows[column], row, 0, _columnCount[column]);
        _columnRows[column][place] = _columnRows[column][--_columnCount[column]];
    }

    private EliminationPlan Compile(EquationPattern pattern)
    {
        var omitted = new HashSet<int>(_omitted);
        var lowerStart = new int[_size + 1];
        var upperStart = new int[_size + 1];
        var entryStart = new int[_size + 1];
        var lower = new List<int>();
        var upper = new List<int>();
        var entries = new List<int>();
        var entrySteps = new List<int>();
        for (int step = 0; step < _size; step++)
        {
            int row = _rowOfStep[step];
            lower.AddRange(_lower[row]);
            lowerStart[step + 1] = lower.Count;
            int from = upper.Count;
            for (int k = 0; k < _rowCount[row]; k++)
            {
                int ofColumn = _stepOfColumn[_rowColumns[row][k]];
                if (ofColumn > step)
                    upper.Add(ofColumn);
            }

            upper.Sort(from, upper.Count - from, null);
            upperStart[step + 1] = upper.Count;
            for (int entry = pattern.RowStart[row]; entry < pattern.RowStart[row + 1]; entry++)
            {
                if (!_isColumn[pattern.Columns[entry]] || omitted.Contains(entry))
                    continue;
                entries.Add(entry);
                entrySteps.Add(_stepOfColumn[pattern.Columns[entry]]);
            }

            entryStart[step + 1] = entries.Count;
        }

        return new EliminationPlan
        {
            Size = _size,
            RowOfStep = _rowOfStep[.._size],
            ColumnOfStep = _columnOfStep[.._size],
            LowerStart = lowerStart,
            LowerSteps = [.. lower],
            UpperStart = upperStart,
            UpperSteps = [.. upper],
            EntryStart = entryStart,
            Entries = [.. entries],
            EntrySteps = [.. entrySteps],
            Omitted = [.. _omitted],
        };
    }

    /// <summary>Lines of the active matrix by their number of entries.</summary>
    private sealed class CountBuckets(int n)
    {
        private readonly int[] _first = Filled(n + 1);
        private readonly int[] _next = Filled(n);
        private readonly int[] _previous = Filled(n);

        public int First(int count) => _first[count];

        public int Next(int line) => _next[line];

        public void Insert(int line, int count)
        {
            int first = _first[count];
            _next[line] = first;
            _previous[line] = -1;
            if (first >= 0)
                _previous[first] = line;
            _first[count] = line;
        }

        public void Remove(int line, int count)
        {
            if (_previous[line] >= 0)
                _next[_previous[line]] = _next[line];
            else
                _first[count] = _next[line];
            if (_next[line] >= 0)
                _previous[_next[line]] = _previous[line];
        }

        private static int[] Filled(int length)
        {
            var array = new int[length];
            Array.Fill(array, -1);
            return array;
        }
    }
}
