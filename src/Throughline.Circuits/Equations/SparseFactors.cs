using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

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
    private T[] _row = [];
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
            Grow(ref _row, value.Size);
            Grow(ref _work, value.Size);
        }
    }

    /// <summary>Factors the values by the plan; false when the plan does not suit them.</summary>
    public bool TryFactor(T[] matrix)
    {
        if (_plan is not { } plan)
            return false;
        foreach (int omitted in plan.Omitted)
        {
            if (!T.IsZero(matrix[omitted]))
                return false;
        }

        // Every index comes from the plan, which fits the arrays: the bounds are not asked again. The row is left at zero by each step.
        ref T row = ref Ref(_row);
        ref T lower = ref Ref(_lower);
        ref T upper = ref Ref(_upper);
        ref T inverse = ref Ref(_inverse);
        ref T values = ref Ref(matrix);
        ref int lowerStart = ref Ref(plan.LowerStart);
        ref int lowerSteps = ref Ref(plan.LowerSteps);
        ref int upperStart = ref Ref(plan.UpperStart);
        ref int upperSteps = ref Ref(plan.UpperSteps);
        ref int entryStart = ref Ref(plan.EntryStart);
        ref int entries = ref Ref(plan.Entries);
        ref int entrySteps = ref Ref(plan.EntrySteps);
        int entry = 0;
        int low = 0;
        int up = 0;
        for (int step = 0; step < plan.Size; step++)
        {
            for (int to = At(ref entryStart, step + 1); entry < to; entry++)
                At(ref row, At(ref entrySteps, entry)) = At(ref values, At(ref entries, entry));
            for (int to = At(ref lowerStart, step + 1); low < to; low++)
            {
                int pivot = At(ref lowerSteps, low);
                ref T place = ref At(ref row, pivot);
                T multiplier = place * At(ref inverse, pivot);
                place = T.Zero;
                if (!(Scalar.RoughSize(multiplier) <= GreatestMultiplier))
                    return Abandon();
                At(ref lower, low) = multiplier;
                if (T.IsZero(multiplier))
                    continue;
                for (int q = At(ref upperStart, pivot), end = At(ref upperStart, pivot + 1); q < end; q++)
                    At(ref row, At(ref upperSteps, q)) -= multiplier * At(ref upper, q);
            }

            ref T diagonal = ref At(ref row, step);
            T reciprocal = T.One / diagonal;
            if (T.IsZero(diagonal) || !T.IsFinite(reciprocal))
                return Abandon();
            diagonal = T.Zero;
            At(ref inverse, step) = reciprocal;
            for (int to = At(ref upperStart, step + 1); up < to; up++)
            {
                ref T place = ref At(ref row, At(ref upperSteps, up));
                At(ref upper, up) = place;
                place = T.Zero;
            }
        }

        return true;
    }

    /// <summary>Solves A x = b; the two may be one array.</summary>
    public void Solve(T[] b, T[] x)
    {
        EliminationPlan plan = _plan!;
        ref T work = ref Ref(_work);
        ref T lower = ref Ref(_lower);
        ref T upper = ref Ref(_upper);
        ref T inverse = ref Ref(_inverse);
        ref int lowerStart = ref Ref(plan.LowerStart);
        ref int lowerSteps = ref Ref(plan.LowerSteps);
        ref int upperStart = ref Ref(plan.UpperStart);
        ref int upperSteps = ref Ref(plan.UpperSteps);
        int[] rowOfStep = plan.RowOfStep;
        int[] columnOfStep = plan.ColumnOfStep;
        for (int step = 0, k = 0; step < rowOfStep.Length; step++)
        {
            T sum = b[rowOfStep[step]];
            for (int to = At(ref lowerStart, step + 1); k < to; k++)
                sum -= At(ref lower, k) * At(ref work, At(ref lowerSteps, k));
            At(ref work, step) = sum;
        }

        for (int step = plan.Size - 1; step >= 0; step--)
        {
            T sum = At(ref work, step);
            for (int k = At(ref upperStart, step), to = At(ref upperStart, step + 1); k < to; k++)
                sum -= At(ref upper, k) * At(ref work, At(ref upperSteps, k));
            At(ref work, step) = sum * At(ref inverse, step);
        }

        for (int step = 0; step < columnOfStep.Length; step++)
            x[columnOfStep[step]] = At(ref work, step);
    }

    /// <summary>Solves Aᵀ y = c; the two may be one array.</summary>
    public void SolveTransposed(T[] c, T[] y)
    {
        EliminationPlan plan = _plan!;
        ref T work = ref Ref(_work);
        ref T lower = ref Ref(_lower);
        ref T upper = ref Ref(_upper);
        ref T inverse = ref Ref(_inverse);
        ref int lowerStart = ref Ref(plan.LowerStart);
        ref int lowerSteps = ref Ref(plan.LowerSteps);
        ref int upperStart = ref Ref(plan.UpperStart);
        ref int upperSteps = ref Ref(plan.UpperSteps);
        int[] rowOfStep = plan.RowOfStep;
        int[] columnOfStep = plan.ColumnOfStep;
        for (int step = 0; step < columnOfStep.Length; step++)
            At(ref work, step) = c[columnOfStep[step]];
        for (int step = 0; step < plan.Size; step++)
        {
            T value = At(ref work, step) *= At(ref inverse, step);
            if (T.IsZero(value))
                continue;
            for (int k = At(ref upperStart, step), to = At(ref upperStart, step + 1); k < to; k++)
                At(ref work, At(ref upperSteps, k)) -= At(ref upper, k) * value;
        }

        for (int step = plan.Size - 1; step >= 0; step--)
        {
            T value = At(ref work, step);
            if (T.IsZero(value))
                continue;
            for (int k = At(ref lowerStart, step), to = At(ref lowerStart, step + 1); k < to; k++)
                At(ref work, At(ref lowerSteps, k)) -= At(ref lower, k) * value;
        }

        for (int step = 0; step < rowOfStep.Length; step++)
            y[rowOfStep[step]] = At(ref work, step);
    }

    private static ref TItem Ref<TItem>(TItem[] array) => ref MemoryMarshal.GetArrayDataReference(array);

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static ref TItem At<TItem>(ref TItem first, int index) => ref Unsafe.Add(ref first, index);

    private bool Abandon()
    {
        Array.Clear(_row);
        return false;
    }

    private static void Grow(ref T[] array, int length)
    {
        if (array.Length < length)
            array = new T[length];
    }
}
