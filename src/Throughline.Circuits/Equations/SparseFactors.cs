using System.Numerics;

namespace Throughline.Circuits;

/// <summary>The numbers of one factorization after a plan, and its solves. Every buffer is its own; nothing is allocated while a plan is kept.</summary>
internal sealed class SparseFactors<T>
    where T : struct, INumberBase<T>
{
    /// <summary>A multiplier beyond this loses more digits than refinement should have to bring back: the order is found afresh.</summary>
    private const double GreatestMultiplier = 1e6;

    private EliminationPlan? _plan;
    private T[] _lower = [];
    private T[] _upper = [];
    private T[] _inverse = [];
    private T[] _work = [];

    public EliminationPlan? Plan
    {
        get => _plan;
        set
        {
            if (ReferenceEquals(_plan, value))
                return;
            _plan = value;
            if (value is null)
                return;
            Grow(ref _lower, value.LowerSteps.Length);
            Grow(ref _upper, value.UpperSteps.Length);
            Grow(ref _inverse, value.Size);
            Grow(ref _work, value.Size);
        }
    }

    /// <summary>Factors the values by the plan; false when the plan does not suit them.</summary>
    public bool TryFactor(T[] matrix)
    {
        if (_plan is not { } plan)
            return false;
        foreach (int entry in plan.Omitted)
        {
            if (!T.IsZero(matrix[entry]))
                return false;
        }

        T[] work = _work;
        T[] upper = _upper;
        T[] inverse = _inverse;
        int[] upperStart = plan.UpperStart;
        int[] upperSteps = plan.UpperSteps;
        for (int step = 0; step < plan.Size; step++)
        {
            int lowerFrom = plan.LowerStart[step];
            int lowerTo = plan.LowerStart[step + 1];
            for (int k = lowerFrom; k < lowerTo; k++)
                work[plan.LowerSteps[k]] = T.Zero;
            int upperFrom = upperStart[step];
            int upperTo = upperStart[step + 1];
            for (int k = upperFrom; k < upperTo; k++)
                work[upperSteps[k]] = T.Zero;
            work[step] = T.Zero;
            for (int k = plan.EntryStart[step]; k < plan.EntryStart[step + 1]; k++)
                work[plan.EntrySteps[k]] = matrix[plan.Entries[k]];
            for (int k = lowerFrom; k < lowerTo; k++)
            {
                int pivot = plan.LowerSteps[k];
                T multiplier = work[pivot] * inverse[pivot];
                if (!(Scalar.Size(multiplier) <= GreatestMultiplier))
                    return false;
                _lower[k] = multiplier;
                if (T.IsZero(multiplier))
                    continue;
                int to = upperStart[pivot + 1];
                for (int q = upperStart[pivot]; q < to; q++)
                    work[upperSteps[q]] -= multiplier * upper[q];
            }

            T diagonal = work[step];
            T reciprocal = T.One / diagonal;
            if (T.IsZero(diagonal) || !T.IsFinite(reciprocal))
                return false;
            inverse[step] = reciprocal;
            for (int k = upperFrom; k < upperTo; k++)
                upper[k] = work[upperSteps[k]];
        }

        return true;
    }

    /// <summary>Solves A x = b; the two may be one array.</summary>
    public void Solve(T[] b, T[] x)
    {
        EliminationPlan plan = _plan!;
        T[] work = _work;
        for (int step = 0; step < plan.Size; step++)
        {
            T sum = b[plan.RowOfStep[step]];
            for (int k = plan.LowerStart[step]; k < plan.LowerStart[step + 1]; k++)
                sum -= _lower[k] * work[plan.LowerSteps[k]];
            work[step] = sum;
        }

        for (int step = plan.Size - 1; step >= 0; step--)
        {
            T sum = work[step];
            for (int k = plan.UpperStart[step]; k < plan.UpperStart[step + 1]; k++)
                sum -= _upper[k] * work[plan.UpperSteps[k]];
            work[step] = sum * _inverse[step];
        }

        for (int step = 0; step < plan.Size; step++)
            x[plan.ColumnOfStep[step]] = work[step];
    }

    /// <summary>Solves Aᵀ y = c; the two may be one array.</summary>
    public void SolveTransposed(T[] c, T[] y)
    {
        EliminationPlan plan = _plan!;
        T[] work = _work;
        for (int step = 0; step < plan.Size; step++)
            work[step] = c[plan.ColumnOfStep[step]];
        for (int step = 0; step < plan.Size; step++)
        {
            T value = work[step] *= _inverse[step];
            if (T.IsZero(value))
                continue;
            for (int k = plan.UpperStart[step]; k < plan.UpperStart[step + 1]; k++)
                work[plan.UpperSteps[k]] -= _upper[k] * value;
        }

        for (int step = plan.Size - 1; step >= 0; step--)
        {
            T value = work[step];
            if (T.IsZero(value))
                continue;
            for (int k = plan.LowerStart[step]; k < plan.LowerStart[step + 1]; k++)
                work[plan.LowerSteps[k]] -= _lower[k] * value;
        }

        for (int step = 0; step < plan.Size; step++)
            y[plan.RowOfStep[step]] = work[step];
    }

    private static void Grow(ref T[] array, int length)
    {
        if (array.Length < length)
            array = new T[length];
    }
}
