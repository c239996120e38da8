namespace Throughline.Circuits;

/// <summary>
/// Order and places of a sparse elimination PAQ = LU: found once from one set of values, then followed for others. Immutable.
/// </summary>
/// <remarks>Duff, Erisman, Reid: Direct Methods for Sparse Matrices, 2nd ed. (Oxford, 2017), ch. 5 to 10. From memory of the method; no table is used.</remarks>
internal sealed class EliminationPlan
{
    public required int Size { get; init; }

    /// <summary>Row of the matrix that is eliminated at each step.</summary>
    public required int[] RowOfStep { get; init; }

    /// <summary>Column of the matrix that is eliminated at each step.</summary>
    public required int[] ColumnOfStep { get; init; }

    /// <summary>Steps whose rows are subtracted from each step's row, ascending.</summary>
    public required int[] LowerStart { get; init; }

    public required int[] LowerSteps { get; init; }

    /// <summary>Steps right of the diagonal in each step's row, ascending.</summary>
    public required int[] UpperStart { get; init; }

    public required int[] UpperSteps { get; init; }

    /// <summary>Entries of the matrix in each step's row, and the step of their columns.</summary>
    public required int[] EntryStart { get; init; }

    public required int[] Entries { get; init; }

    public required int[] EntrySteps { get; init; }

    /// <summary>Entries that were zero when the plan was made: it holds only while they are.</summary>
    public required int[] Omitted { get; init; }
}
