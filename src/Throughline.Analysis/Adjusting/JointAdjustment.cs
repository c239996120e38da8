using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>
/// Finds where the rounds of a procedure end without going through them: Newton's method on all steps together, the derivatives from where the trimmers stand, corrected by what
/// every move does (Broyden: A class of methods for solving nonlinear simultaneous equations, Math. Comp. 19, 1965). It stands for the rounds only where those of the nominal unit end
/// by themselves, so that those of a unit like it do. Steps whose meters see nothing of what the unit is different in stay as on the nominal unit; the others begin where straight lines
/// from there lead.
/// </summary>
/// <param name="evaluator">Whose procedure it is.</param>
/// <param name="points">Where each step's network stands on the nominal unit, without limits; null where it has no such point.</param>
internal sealed class JointAdjustment(Evaluator evaluator, OperatingPoint?[] points)
{
    /// <summary>What may be left of a position, as a share of the travel.</summary>
    private const double Settled = 1e-8;

    private const int MostMoves = 6;

    private readonly PlannedStep[] _steps = [.. evaluator.Plan.Steps];
    private readonly Reading?[] _meters = [.. evaluator.Plan.Steps.Select(s => evaluator.MeterProbe(s.Step))];
    private readonly double[] _ideal = new double[points.Length];
    private readonly double[] _missing = new double[points.Length];
    private readonly double[] _moved = new double[points.Length];
    private readonly double[] _missed = new double[points.Length];
    private readonly double[,] _jacobian = new double[points.Length, points.Length];
    private readonly double[] _slopes = new double[evaluator.Model.Trimmers.Length];

    private readonly bool[] _isTurned = new bool[points.Length];

    /// <summary>The steps that are turned now.</summary>
    private int[] _turned = [];

    /// <summary>Which steps each moves with; null until the first unit.</summary>
    private int[][]? _groups;

    /// <summary>The end at which a trimmer stands because it would have to stand beyond; NaN for one between the ends.</summary>
    private readonly double[] _end = new double[points.Length];

    /// <summary>The same for another evaluator of the same model.</summary>
    public JointAdjustment Of(Evaluator again) => new(again, points);

    /// <summary>Turns the trimmers to where the rounds would leave them. False, with the trimmers where they were, where that is not found.</summary>
    /// <param name="state">A unit under the conditions of the bench; its positions and sources are changed.</param>
    /// <param name="drive">What the output converter gives where a step does not set it, V.</param>
    /// <param name="outcomes">Overwritten, without readings.</param>
    public bool TryTurn(UnitState state, double drive, AdjustmentOutcome[] outcomes)
    {
        double[] start = [.. _steps.Select(s => state.Positions[s.Trimmer])];
        Begin(state, drive);
        if (TrySettle(state, drive) && TrySeeBeyondEnds(state, drive))
        {
            for (int i = 0; i < _steps.Length; i++)
            {
                double position = _isTurned[i] ? Rest(state, i) : evaluator.Nominal.Positions[_steps[i].Trimmer];
                state.Positions[_steps[i].Trimmer] = position;
                outcomes[i] = new AdjustmentOutcome(_steps[i].Step, position, _ideal[i], double.NaN, false);
            }

            return true;
        }

        for (int i = 0; i < _steps.Length; i++)
        {
            state.Positions[_steps[i].Trimmer] = start[i];
        }

        return false;
    }

    /// <summary>Finds which steps have to be turned, and where straight lines from the nominal unit put their trimmers.</summary>
    private void Begin(UnitState state, double drive)
    {
        Gradient?[] meters = evaluator.MeterGradients;
        UnitState nominal = evaluator.Nominal;
        _groups ??= Groups(meters);
        Array.Fill(_isTurned, state.FurtherLoads is not null || drive != nominal.DriveVolts);
        for (int i = 0; i < _steps.Length; i++)
        {
            _missing[i] = 0;
            _end[i] = double.NaN;
            ReadOnlySpan<double> slopes = meters[i]!.Values;
            ReadOnlySpan<double> values = state.Values;
            ReadOnlySpan<double> stated = nominal.Values;
            for (int p = 0; p < slopes.Length; p++)
            {
                if (slopes[p] != 0 && values[p] != stated[p])
                {
                    _missing[i] -= slopes[p] * (values[p] - stated[p]);
                    foreach (int step in _groups[i])
                    {
                        _isTurned[step] = true;
                    }
                }
            }

            for (int j = 0; j < _steps.Length; j++)
            {
                _jacobian[i, j] = meters[i]!.Positions[_steps[j].Trimmer];
            }
        }

        _turned = [.. Enumerable.Range(0, _steps.Length).Where(i => _isTurned[i])];
        for (int i = 0; i < _steps.Length; i++)
        {
            state.Positions[_steps[i].Trimmer] = nominal.Positions[_steps[i].Trimmer];
            _ideal[i] = evaluator.Adjustment[i].Needed;
            if (_isTurned[i])
            {
                _ideal[i] = Math.Clamp(_ideal[i], 0, 1);
            }
        }

        // An end that straight lines from the nominal unit pass need not be one of this unit's.
        _ = Move();
        for (int i = 0; i < _steps.Length; i++)
        {
            _end[i] = double.NaN;
            if (_isTurned[i])
            {
                _ideal[i] = Math.Clamp(_ideal[i], 0, 1);
            }
        }
    }

    private int[][] Groups(Gradient?[] meters)
    {
        int[] group = [.. Enumerable.Range(0, _steps.Length)];
        for (int i = 0; i < _steps.Length; i++)
        {
            for (int j = 0; j < _steps.Length; j++)
            {
                if (meters[i]!.Positions[_steps[j].Trimmer] != 0 && group[i] != group[j])
                {
                    int from = group[j];
                    group = [.. group.Select(g => g == from ? group[i] : g)];
                }
            }
        }

        return [.. group.Select(g => Enumerable.Range(0, _steps.Length).Where(i => group[i] == g).ToArray())];
    }

    private bool TrySettle(UnitState state, double drive)
    {
        double last = 0;
        for (int move = 0; move < MostMoves; move++)
        {
            foreach (int i in _turned)
            {
                if (!TryRead(state, drive, i, withSlopes: move == 0))
                {
                    return false;
                }
            }

            if (move > 0)
            {
                CorrectSlopes();
            }

            _ideal.CopyTo(_moved, 0);
            _missing.CopyTo(_missed, 0);
            double greatest = Move();
            if (!(greatest >= 0))
            {
                return false;
            }

            foreach (int i in _turned)
            {
                _moved[i] = _ideal[i] - _moved[i];
            }

            // What a move leaves shrinks from one to the next as the moves do.
            double left = last > 0 ? greatest * Math.Min(1, greatest / last) : greatest;
            last = greatest;
            if (left <= Settled)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Makes the derivatives say of the last move what it did.</summary>
    private void CorrectSlopes()
    {
        double square = _turned.Sum(i => _moved[i] * _moved[i]);
        if (square == 0)
        {
            return;
        }

        foreach (int i in _turned)
        {
            double expected = 0;
            foreach (int j in _turned)
            {
                expected += _jacobian[i, j] * _moved[j];
            }

            double beyond = (_missed[i] - _missing[i] - expected) / square;
            foreach (int j in _turned)
            {
                _jacobian[i, j] += beyond * _moved[j];
            }
        }
    }

    /// <summary>Finds how far beyond its end each trimmer at one should stand, as the last round does. False where one should not: the rounds end elsewhere.</summary>
    private bool TrySeeBeyondEnds(UnitState state, double drive)
    {
        foreach (int i in _turned)
        {
            if (double.IsNaN(_end[i]))
            {
                continue;
            }

            foreach (int j in _turned)
            {
                state.Positions[_steps[j].Trimmer] = Rest(state, j);
            }

            evaluator.SetSources(state, _steps[i], drive);
            _ideal[i] = evaluator.FindPosition(state, _steps[i]);
            if (_steps[i].Rest(state, _ideal[i]) != _end[i])
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>What a step's meter is short of while the other trimmers rest where they were left.</summary>
    private bool TryRead(UnitState state, double drive, int number, bool withSlopes)
    {
        PlannedStep step = _steps[number];
        foreach (int j in _turned)
        {
            state.Positions[_steps[j].Trimmer] = j == number ? _ideal[j] : Rest(state, j);
        }

        evaluator.SetSources(state, step, drive);
        NetworkRun bench = evaluator.BenchOf(step.Step);
        if (points[number] is not { } point || _meters[number] is not { } meter || bench.Solve(state, limited: false, point).Status != SolveStatus.Solved)
        {
            return false;
        }

        _missing[number] = step.Wanted(state) - bench.Read(meter, state);
        if (withSlopes)
        {
            bench.DifferentiateByPosition(meter, state, _slopes);
            for (int j = 0; j < _steps.Length; j++)
            {
                _jacobian[number, j] = _slopes[_steps[j].Trimmer];
            }
        }

        return true;
    }

    private double Rest(UnitState state, int number) => double.IsNaN(_end[number]) ? _steps[number].Rest(state, _ideal[number]) : _end[number];

    /// <summary>Moves every trimmer to where straight lines through the present readings meet their targets, and those that would pass an end to it. The greatest move; NaN when there is none.</summary>
    private double Move()
    {
        while (true)
        {
            int[] free = [.. _turned.Where(i => double.IsNaN(_end[i]))];
            double[,] among = new double[free.Length, free.Length];
            double[] next = [.. _ideal];
            foreach (int i in _turned)
            {
                next[i] = _end[i];
            }

            for (int i = 0; i < free.Length; i++)
            {
                for (int j = 0; j < free.Length; j++)
                {
                    among[i, j] = _jacobian[free[i], free[j]];
                }
            }

            double[,]? inverse = free.Length == 0 ? among : SmallMatrix.Invert(among);
            if (inverse is null)
            {
                return double.NaN;
            }

            for (int i = 0; i < free.Length; i++)
            {
                double to = _ideal[free[i]];
                for (int j = 0; j < free.Length; j++)
                {
                    to += inverse[i, j] * Wanted(free[j]);
                }

                next[free[i]] = to;
            }

            if (!free.All(i => double.IsFinite(next[i])))
            {
                return double.NaN;
            }

            // One at a time, as the rounds come to them: where the first stands at its end, the others may have to go the other way.
            int past = Array.FindIndex(free, i => next[i] is < 0 or > 1);
            if (past >= 0)
            {
                _end[free[past]] = next[free[past]] < 0 ? 0 : 1;
            }
            else
            {
                double greatest = _ideal.Zip(next, (from, to) => Math.Abs(to - from)).Max();
                next.CopyTo(_ideal, 0);
                return greatest;
            }
        }

        // What is left for the trimmers between the ends when the others have gone to theirs.
        double Wanted(int step)
        {
            double wanted = _missing[step];
            foreach (int j in _turned)
            {
                wanted -= double.IsNaN(_end[j]) ? 0 : _jacobian[step, j] * (_end[j] - _ideal[j]);
            }

            return wanted;
        }
    }
}
