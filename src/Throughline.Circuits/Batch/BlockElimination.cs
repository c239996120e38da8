namespace Throughline.Circuits;

/// <summary>
/// Eliminates one block on a tape. Pivots are chosen by the numbers of the nominal point, large enough in their column, and among those so that the work is
/// done as seldom as possible: what depends on fixed slots only goes first, what changes at every iteration is left for last.
/// </summary>
internal sealed class BlockElimination
{
    private const double Threshold = 0.1;

    /// <summary>Least size of a pivot beside the other voltages, or the other currents, of its equation: an amplifier's equation is not to be solved for its
    /// output, which has the reciprocal of the open-loop gain there.</summary>
    private const double RowThreshold = 0.01;
    private const double Cancelled = 2e-15;

    /// <summary>A pivot that is this much less than the nominal one has lost too many digits.</summary>
    private const double LeastPivot = 0.02;

    private readonly Tape _tape;
    private readonly List<Expr> _pivotChecks;
    private readonly Dictionary<int, Sum>[] _rows;
    private readonly Sum[] _right;
    private readonly bool[] _isRowDone;
    private readonly HashSet<int> _columns;
    private readonly int _nodes;
    private readonly List<(int Column, Expr Value)>[] _original;
    private readonly List<(Expr A, Expr? B)>[] _originalRight;
    private readonly List<Step> _steps = [];

    private BlockElimination(Tape tape, List<Expr> pivotChecks, int size, int nodes, IEnumerable<int> columns)
    {
        _nodes = nodes;
        _tape = tape;
        _pivotChecks = pivotChecks;
        _rows = new Dictionary<int, Sum>[size];
        _right = new Sum[size];
        _isRowDone = new bool[size];
        _columns = [.. columns];
        _original = new List<(int, Expr)>[size];
        _originalRight = new List<(Expr, Expr?)>[size];
        for (int row = 0; row < size; row++)
        {
            _rows[row] = [];
            _right[row] = new Sum();
            _original[row] = [];
            _originalRight[row] = [];
        }
    }

    /// <summary>One pivot: the rest of its row over it, and what was subtracted from other rows.</summary>
    private sealed record Step(int Row, int Column, Expr Inverse, List<(int Column, Expr Value)> Scaled, List<(int Row, Expr Factor)> Multipliers);

    /// <summary>Solves the equations for their unknowns.</summary>
    /// <param name="e">Holds the equations and the unknowns solved before; takes the new ones.</param>
    /// <param name="block">The equations.</param>
    /// <param name="unknowns">As many unknowns.</param>
    /// <param name="pivotChecks">Takes what a lane's pivots have to fulfil.</param>
    public static BlockElimination Solve(BatchEquations e, int[] block, IReadOnlyCollection<int> unknowns, List<Expr> pivotChecks)
    {
        var elimination = new BlockElimination(e.Tape, pivotChecks, block.Length, e.NodeUnknowns, unknowns);
        for (int k = 0; k < block.Length; k++)
            elimination.Read(e, block[k], k);
        elimination.Factor();
        elimination.Substitute(e.Tape, elimination._right, (unknown, value) => e.Solve(unknown, value), e.X);
        return elimination;
    }

    /// <summary>
    /// Corrects the solution by what it leaves of the equations: the order that is best for speed computes some currents as differences of voltages, and this brings
    /// back their digits.
    /// </summary>
    public void Refine(BatchEquations e)
    {
        var right = new Sum[_rows.Length];
        for (int k = 0; k < right.Length; k++)
        {
            right[k] = new Sum();
            foreach ((Expr a, Expr? b) in _originalRight[k])
            {
                if (b is { } factor)
                    right[k].Subtract(a, factor);
                else
                    right[k].Add(a);
            }

            foreach ((int column, Expr value) in _original[k])
                right[k].Subtract(value, e.X(column));
        }

        var corrections = new Dictionary<int, Expr>();
        Substitute(e.Tape, right, corrections.Add, column => corrections[column]);
        foreach ((int unknown, Expr correction) in corrections)
            e.Solve(unknown, e.X(unknown) + correction);
    }

    private void Read(BatchEquations e, int equation, int row)
    {
        foreach ((int column, List<Expr> terms) in e.Rows[equation])
        {
            var sum = new Sum();
            foreach (Expr term in terms)
                sum.Add(term);
            Expr value = sum.Write(e.Tape);
            if (_columns.Contains(column))
            {
                _rows[row].Add(column, sum);
                _original[row].Add((column, value));
            }
            else
            {
                _right[row].Subtract(value, e.X(column));
                _originalRight[row].Add((value, e.X(column)));
            }
        }

        foreach (Expr constant in e.Constants[equation])
        {
            _right[row].Add(-constant);
            _originalRight[row].Add((-constant, null));
        }
    }

    private static double Weight(int phase) => phase switch
    {
        0 => 0,
        BatchEquations.Fixed => 1,
        BatchEquations.Changing => 5,
        BatchEquations.Driving => 12,
        _ => (phase & 1) == 0 ? 40 : 12,
    };

    private void Factor()
    {
        for (int step = 0; step < _rows.Length; step++)
        {
            (int row, int column) = Choose(RowThreshold) ?? Choose(0) ?? throw new InvalidOperationException("The equations of a solved point have no pivot left.");
            Eliminate(row, column);
        }
    }

    private void Substitute(Tape tape, Sum[] right, Action<int, Expr> put, Func<int, Expr> get)
    {
        var reduced = new Expr[_steps.Count];
        for (int k = 0; k < _steps.Count; k++)
        {
            Step step = _steps[k];
            reduced[k] = right[step.Row].Write(tape) * step.Inverse;
            foreach ((int row, Expr factor) in step.Multipliers)
                right[row].Subtract(factor, reduced[k]);
        }

        for (int k = _steps.Count - 1; k >= 0; k--)
        {
            var sum = new Sum();
            sum.Add(reduced[k]);
            foreach ((int column, Expr value) in _steps[k].Scaled)
                sum.Subtract(value, get(column));
            put(_steps[k].Column, sum.Write(tape));
        }
    }

    private (List<int> Rows, double Greatest) Look(int column)
    {
        var rows = new List<int>();
        double greatest = 0;
        for (int row = 0; row < _rows.Length; row++)
        {
            if (_isRowDone[row] || !_rows[row].TryGetValue(column, out Sum? sum))
                continue;
            rows.Add(row);
            greatest = Math.Max(greatest, sum.Size);
        }

        return (rows, greatest);
    }

    private (int Row, int Column)? Choose(double rowThreshold)
    {
        double best = double.PositiveInfinity;
        double bestSize = 0;
        (int Row, int Column)? choice = null;
        foreach (int column in _columns.Order())
        {
            (List<int> rows, double greatest) = Look(column);
            foreach (int row in rows)
            {
                Sum pivot = _rows[row][column];
                if (pivot.Size == 0 || pivot.Size < Threshold * greatest)
                    continue;
                if (rowThreshold > 0 && pivot.Size < rowThreshold * GreatestAlong(row, column < _nodes))
                    continue;
                double cost = Cost(row, column, rows);
                if (cost > best || (cost == best && pivot.Size / greatest <= bestSize))
                    continue;
                best = cost;
                bestSize = pivot.Size / greatest;
                choice = (row, column);
            }
        }

        return choice;
    }

    private double GreatestAlong(int row, bool isVoltage)
    {
        double greatest = 0;
        foreach ((int column, Sum sum) in _rows[row])
        {
            if (column < _nodes == isVoltage)
                greatest = Math.Max(greatest, sum.Size);
        }

        return greatest;
    }

    private double Cost(int row, int column, List<int> rows)
    {
        Sum pivot = _rows[row][column];
        double cost = pivot.IsUnit ? 0 : 6 * Weight(pivot.Phase);
        foreach ((int j, Sum entry) in _rows[row])
        {
            if (j == column)
                continue;
            int scaled = Math.Max(entry.Phase, pivot.Phase);
            cost += pivot.IsUnit ? 0 : Weight(scaled);
            foreach (int i in rows)
            {
                if (i == row)
                    continue;
                int phase = Math.Max(scaled, _rows[i][column].Phase);
                int before = _rows[i].TryGetValue(j, out Sum? other) ? other.Phase : -1;
                // What it contaminates costs again whenever that is used.
                cost += Weight(phase) * (phase > before ? 2 : 1);
                cost += before < 0 ? 0.25 : 0;
            }
        }

        return cost;
    }

    private void Eliminate(int row, int column)
    {
        Expr pivot = _rows[row][column].Write(_tape);
        Expr inverse = 1 / pivot;
        if (!pivot.IsConstant)
        {
            double least = LeastPivot * pivot.Nominal;
            _pivotChecks.Add(least > 0 ? pivot > least : pivot < least);
        }

        var scaled = new List<(int Column, Expr Value)>();
        foreach ((int j, Sum entry) in _rows[row].OrderBy(static pair => pair.Key))
        {
            if (j != column)
                scaled.Add((j, entry.Write(_tape) * inverse));
        }

        var multipliers = new List<(int Row, Expr Factor)>();
        _isRowDone[row] = true;
        _columns.Remove(column);
        for (int i = 0; i < _rows.Length; i++)
        {
            if (_isRowDone[i] || !_rows[i].Remove(column, out Sum? entry))
                continue;
            Expr multiplier = entry.Write(_tape);
            if (multiplier.IsZero)
                continue;
            foreach ((int j, Expr value) in scaled)
            {
                if (!_rows[i].TryGetValue(j, out Sum? target))
                    _rows[i].Add(j, target = new Sum());
                target.Subtract(multiplier, value);
                if (target.IsNothing)
                    _rows[i].Remove(j);
            }

            multipliers.Add((i, multiplier));
        }

        _steps.Add(new Step(row, column, inverse, scaled, multipliers));
    }

    /// <summary>A sum that is written when all its terms are known, those that change seldom first.</summary>
    private sealed class Sum
    {
        private readonly List<(Expr A, Expr? B, int Phase)> _terms = [];
        private double _nominal;
        private double _magnitude;

        public int Phase { get; private set; }

        /// <summary>Nominal magnitude; 0 when it is nothing but rounding left over from a cancellation.</summary>
        public double Size => Math.Abs(_nominal) > Cancelled * _magnitude ? Math.Abs(_nominal) : 0;

        public bool IsUnit => Phase == 0 && Math.Abs(_nominal) == 1;

        public bool IsNothing => Phase == 0 && Size == 0;

        public void Add(Expr a) => Add(a, null, a.Phase, a.Nominal);

        /// <summary>Subtracts a b.</summary>
        public void Subtract(Expr a, Expr b)
        {
            if (!a.IsZero && !b.IsZero)
                Add(a, b, Math.Max(a.Phase, b.Phase), -a.Nominal * b.Nominal);
        }

        public Expr Write(Tape tape)
        {
            Expr sum = tape.Constant(0);
            foreach ((Expr a, Expr? b, _) in _terms.OrderBy(static term => term.Phase))
                sum = b is { } factor ? tape.MultiplySubtract(a, factor, sum) : sum + a;
            return sum;
        }

        private void Add(Expr a, Expr? b, int phase, double nominal)
        {
            if (phase == 0 && nominal == 0)
                return;
            _terms.Add((a, b, phase));
            Phase = Math.Max(Phase, phase);
            _nominal += nominal;
            _magnitude += Math.Abs(nominal);
        }
    }
}
