namespace Throughline.Circuits;

/// <summary>The numbers of one factorization after a plan, and its solves. Every buffer is its own; nothing is allocated while a plan is kept.</summary>
internal sealed class SparseFactors
{
    /// <summary>A multiplier beyond this loses more digits than refinement should have to bring back: the order is found afresh.</summary>
    private const double GreatestMultiplier = 1e6;

    private EliminationPlan? _plan;
    private double[] _lower = [];
    private double[] _upper = [];
    private double[] _inverse = [];
    private double[] _work = [];

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
    public bool TryFactor(double[] matrix)
    {
        if (_plan is not { } plan)
            return false;
        foreach (int entry in plan.Omitted)
        {
            if (matrix[entry] != 0)
                return false;
        }

        double[] work = _work;
        double[] upper = _upper;
        double[] inverse = _inverse;
        int[] upperStart = plan.UpperStart;
        int[] upperSteps = plan.UpperSteps;
        for (int step = 0; step < plan.Size; step++)
        {
            int lowerFrom = plan.LowerStart[step];
            int lowerTo = plan.LowerStart[step + 1];
            for (int k = lowerFrom; k < lowerTo; k++)
                work[plan.LowerSteps[k]] = 0;
            int upperFrom = upperStart[step];
            int upperTo = upperStart[step + 1];
            for (int k = upperFrom; k < upperTo; k++)
                work[upperSteps[k]] = 0;
            work[step] = 0;
            for (int k = plan.EntryStart[step]; k < plan.EntryStart[step + 1]; k++)
                work[plan.EntrySteps[k]] = matrix[plan.Entries[k]];
            for (int k = lowerFrom; k < lowerTo; k++)
            {
                int pivot = plan.LowerSteps[k];
                double multiplier = work[pivot] * inverse[pivot];
                if (!(Math.Abs(multiplier) <= GreatestMultiplier))
                    return false;
                _lower[k] = multiplier;
                if (multiplier == 0)
                    continue;
                int to = upperStart[pivot + 1];
                for (int q = upperStart[pivot]; q < to; q++)
                    work[upperSteps[q]] -= multiplier * upper[q];
            }

            double diagonal = work[step];
            double reciprocal = 1 / diagonal;
            if (diagonal == 0 || !double.IsFinite(reciprocal))
                return false;
            inverse[step] = reciprocal;
            for (int k = upperFrom; k < upperTo; k++)
                upper[k] = work[upperSteps[k]];
        }

        return true;
    }

    /// <summary>Solves A x = b; the two may be one array.</summary>
    public void Solve(double[] b, double[] x)
    {
        EliminationPlan plan = _plan!;
        double[] work = _work;
        for (int step = 0; step < plan.Size; step++)
        {
            double sum = b[plan.RowOfStep[step]];
            for (int k = plan.LowerStart[step]; k < plan.LowerStart[step + 1]; k++)
                sum -= _lower[k] * work[plan.LowerSteps[k]];
            work[step] = sum;
        }

        for (int step = plan.Size - 1; step >= 0; step--)
        {
            double sum = work[step];
            for (int k = plan.UpperStart[step]; k < plan.UpperStart[step + 1]; k++)
                sum -= _upper[k] * work[plan.UpperSteps[k]];
            work[step] = sum * _inverse[step];
        }

        for (int step = 0; step < plan.Size; step++)
            x[plan.ColumnOfStep[step]] = work[step];
    }

    /// <summary>Solves Aᵀ y = c; the two may be one array.</summary>
    public void SolveTransposed(double[] c, double[] y)
    {
        EliminationPlan plan = _plan!;
        double[] work = _work;
        for (int step = 0; step < plan.Size; step++)
            work[step] = c[plan.ColumnOfStep[step]];
        for (int step = 0; step < plan.Size; step++)
        {
            double value = work[step] *= _inverse[step];
            if (value == 0)
                continue;
            for (int k = plan.UpperStart[step]; k < plan.UpperStart[step + 1]; k++)
                work[plan.UpperSteps[k]] -= _upper[k] * value;
        }

        for (int step = plan.Size - 1; step >= 0; step--)
        {
            double value = work[step];
            if (value == 0)
                continue;
            for (int k = plan.LowerStart[step]; k < plan.LowerStart[step + 1]; k++)
                work[plan.LowerSteps[k]] -= _lower[k] * value;
        }

        for (int step = 0; step < plan.Size; step++)
            y[plan.RowOfStep[step]] = work[step];
    }

    private static void Grow(ref double[] array, int length)
    {
        if (array.Length < length)
            array = new double[length];
    }
}
