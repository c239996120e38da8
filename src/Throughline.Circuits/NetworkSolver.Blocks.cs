namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    private readonly BlockSolution _whole;
    private readonly BlockSolution[] _blocks;
    private bool _isByBlocks;
    private bool _isLoadedAtPoint;

    /// <summary>
    /// Solves block after block, each with no more iterations than it needs itself. A block whose values, temperature and beginning are those of the solve before keeps its
    /// solution, which would come out the same to the last bit. False where a block has no solution nearby, or where its equations are singular: then all are solved at once.
    /// </summary>
    private bool TryBlocks(OperatingPoint? from)
    {
        if (_blocks.Length == 0)
            return false;
        bool goesOn = ReferenceEquals(from, _point);
        if (goesOn)
            Keep();
        foreach (BlockSolution block in _blocks)
        {
            if (block.IsSolved && (goesOn || ReferenceEquals(block.From, from)) && block.IsFor(_w.X))
                continue;
            block.IsSolved = false;
            bool isLast = ReferenceEquals(block, _blocks[^1]) && block.Block.Nonlinear.Length == 0;
            if ((isLast ? FindCurrents(block) : FindUnknowns(block, from)) != Outcome.Solved)
            {
                if (goesOn)
                    Restore();
                return false;
            }

            block.IsSolved = true;
            block.From = from;
            block.Remember(_w.X);
        }

        return true;
    }

    private Outcome FindUnknowns(BlockSolution block, OperatingPoint? from)
    {
        block.Factors.Plan = block.Block.Plan ?? block.Factors.Plan;
        Begin(block.Block, from);
        return Iterate(block, DirectSteps);
    }

    /// <summary>Currents of ideal sources are what the balances leave over, exactly: each stands there with a factor of one.</summary>
    private Outcome FindCurrents(BlockSolution block)
    {
        Begin(block.Block, null);
        Load(block.Block);
        if (!block.FactorsAreAtPoint && LoadAndFactor(block) != Outcome.Solved)
            return Outcome.Singular;
        block.FactorsAreAtPoint = true;
        _point.Iterations++;
        return Step(block) ? Outcome.Solved : Outcome.NotSettled;
    }

    /// <summary>Blocks whose slots have other values are no longer solved.</summary>
    private void ForgetBlocks(ReadOnlySpan<double> values)
    {
        foreach (BlockSolution block in _blocks)
            block.IsSolved = block.IsSolved && block.HasSame(values, _w.Values);
    }

    private void ForgetBlocks()
    {
        foreach (BlockSolution block in _blocks)
            block.IsSolved = false;
    }

    private void Begin(EquationBlock block, OperatingPoint? from)
    {
        double[]? x = from?.Workspace.X;
        foreach (int column in block.Columns)
            _w.X[column] = x is null ? 0 : x[column];
        foreach (Element element in block.Nonlinear)
        {
            if (from is null)
            {
                element.Start(_w);
                continue;
            }

            Array.Copy(from.Workspace.States, element.State, _w.States, element.State, element.StateCount);
            Array.Copy(from.Workspace.Modes, element.Mode, _w.Modes, element.Mode, element.ModeCount);
        }
    }

    /// <summary>Factors a block's derivatives at the solved point, all equations being written there.</summary>
    private bool TryFactorAtPoint(BlockSolution block)
    {
        block.FactorsAreAtPoint = block.FactorsAreAtPoint || block.Factors.TryFactor(_w.Matrix) || TryOtherPlans(block) || FactorAfresh(block) == Outcome.Solved;
        return block.FactorsAreAtPoint;
    }

    /// <summary>Transposed solve with the gradient at hand, block by block from the last to the first: what a block's equations read of earlier ones is handed on.</summary>
    private bool TrySolveAdjointByBlocks()
    {
        if (!_isLoadedAtPoint)
        {
            Load(_whole.Block);
            _isLoadedAtPoint = true;
        }

        EquationPattern pattern = _network.Pattern;
        int[] blockOf = _network.BlockOfUnknown;
        Array.Clear(_adjoint);
        for (int number = _blocks.Length - 1; number >= 0; number--)
        {
            BlockSolution block = _blocks[number];
            bool isMoved = false;
            foreach (int column in block.Block.Columns)
                isMoved |= _gradient[column] != 0;
            if (!isMoved)
                continue;
            if (!TryFactorAtPoint(block))
                return false;
            block.Factors.SolveTransposed(_gradient, _adjoint);

            // One refinement, as in the forward solve, and what is left for the blocks before.
            foreach (int row in block.Block.Rows)
            {
                double value = _adjoint[row];
                for (int entry = pattern.RowStart[row]; entry < pattern.RowStart[row + 1]; entry++)
                {
                    int column = pattern.Columns[entry];
                    if (blockOf[column] == number)
                        _gradient[column] -= _w.Matrix[entry] * value;
                }
            }

            block.Factors.SolveTransposed(_gradient, _step);
            foreach (int row in block.Block.Rows)
            {
                double value = _adjoint[row] += _step[row];
                for (int entry = pattern.RowStart[row]; entry < pattern.RowStart[row + 1]; entry++)
                {
                    int column = pattern.Columns[entry];
                    if (blockOf[column] != number)
                        _gradient[column] -= _w.Matrix[entry] * value;
                }
            }
        }

        return true;
    }
}
