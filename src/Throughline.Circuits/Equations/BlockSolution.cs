namespace Throughline.Circuits;

/// <summary>What one solver knows of one block: its factors, and whether its unknowns are solved for the values at hand.</summary>
internal sealed class BlockSolution(EquationBlock block)
{
    private readonly double[] _earlier = new double[block.Earlier.Length];

    public EquationBlock Block => block;

    public SparseFactors<double> Factors { get; } = new();

    /// <summary>Orders found before: a saturated amplifier wants another than a linear one.</summary>
    public EliminationPlan?[] Plans { get; } = new EliminationPlan?[6];

    public int NextPlan { get; set; }

    /// <summary>Elements of the block that had not settled in the last pass.</summary>
    public bool[] IsUnsettled { get; } = new bool[block.Nonlinear.Length];

    /// <summary>Whether the factors are those of the derivatives at the solved point.</summary>
    public bool FactorsAreAtPoint { get; set; }

    /// <summary>Whether the unknowns are solved for the values of the block's slots.</summary>
    public bool IsSolved { get; set; }

    /// <summary>Where the iteration that solved them began; null for nothing.</summary>
    public OperatingPoint? From { get; set; }

    /// <summary>Keeps the unknowns of earlier blocks that the solution is for.</summary>
    public void Remember(double[] x)
    {
        int[] earlier = block.Earlier;
        for (int k = 0; k < earlier.Length; k++)
            _earlier[k] = x[earlier[k]];
    }

    /// <summary>Whether they are still the same, to the last bit.</summary>
    public bool IsFor(double[] x)
    {
        int[] earlier = block.Earlier;
        for (int k = 0; k < earlier.Length; k++)
        {
            if (BitConverter.DoubleToInt64Bits(_earlier[k]) != BitConverter.DoubleToInt64Bits(x[earlier[k]]))
                return false;
        }

        return true;
    }

    /// <summary>Whether values of every slot are those of the block's slots, to the last bit.</summary>
    public bool HasSame(ReadOnlySpan<double> values, double[] kept)
    {
        foreach (int slot in block.Slots)
        {
            if (BitConverter.DoubleToInt64Bits(values[slot]) != BitConverter.DoubleToInt64Bits(kept[slot]))
                return false;
        }

        return true;
    }
}
