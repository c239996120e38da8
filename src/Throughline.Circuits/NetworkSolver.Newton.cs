namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    private const int DirectSteps = 60;

    // A tie at a floating node is 1 S: one ampere that has no other way makes one volt.
    private const double TieConductance = 1;

    private double _tie = TieConductance;

    private readonly ulong[] _seenModes = new ulong[256];
    private int[] _remainingRows = [];
    private int[] _remainingColumns = [];

    private enum Outcome
    {
        Solved,
        Singular,
        NotSettled,
    }

    /// <summary>
    /// Newton's method on the piecewise equations from the present iterate, pieces chosen as it goes. When the choice of pieces comes
    /// round to one it had before, only the first element that wants to may switch, which ends cycles among amplifiers.
    /// </summary>
    private Outcome Iterate(int steps)
    {
        // What the blocks had is gone with it.
        ForgetBlocks();
        _isByBlocks = false;
        return Iterate(_whole, steps);
    }

    private Outcome Iterate(BlockSolution block, int steps)
    {
        block.FactorsAreAtPoint = false;
        int seen = 0;
        bool oneAtATime = false;
        for (int step = 0; step < steps; step++)
        {
            Outcome factored = LoadAndFactor(block);
            if (factored != Outcome.Solved)
                return factored;
            _point.Iterations++;
            if (!Step(block))
                return Outcome.NotSettled;
            if (block.Block.Nonlinear.Length == 0 || Follow(block, oneAtATime, out bool isSwitched))
                return Refine(block);
            if (!isSwitched)
                continue;
            // Another piece of a law may hold the node that this one left open.
            Array.Clear(_isTied);
            _hasTies = false;
            ulong modes = HashOfModes(block.Block);
            oneAtATime |= Array.IndexOf(_seenModes, modes, 0, seen) >= 0;
            if (seen < _seenModes.Length)
                _seenModes[seen++] = modes;
        }

        return Outcome.NotSettled;
    }

    private void Load(EquationBlock block)
    {
        _w.Clear(block);
        foreach (Element element in block.Elements)
            element.Load(_w);
        if (_hasTies)
        {
            for (int unknown = 0; unknown < _isTied.Length; unknown++)
            {
                if (!_isTied[unknown])
                    continue;
                _w.Matrix[_network.DiagonalOfUnknown[unknown]] += _tie;
                _w.AddCurrent(unknown, _tie * _w.X[unknown]);
            }
        }

        foreach (int unknown in block.Tied)
        {
            _w.Matrix[_network.DiagonalOfUnknown[unknown]] += _tie;
            _w.AddCurrent(unknown, _tie * _w.X[unknown]);
        }

        LoadStorages();

        // What was written for pinned nodes belongs to nobody.
        _w.Residual[_w.Unknowns] = 0;
        _w.Magnitude[_w.Unknowns] = 0;
        _w.Matrix[^1] = 0;
    }

    private Outcome LoadAndFactor(BlockSolution block)
    {
        Load(block.Block);
        block.Factors.Plan ??= block.Block.Plan;
        return block.Factors.TryFactor(_w.Matrix) || TryOtherPlans(block) ? Outcome.Solved : FactorAfresh(block);
    }

    /// <summary>A saturated amplifier wants another order than a linear one: the orders found before are tried before a new one is sought.</summary>
    private bool TryOtherPlans(BlockSolution block)
    {
        EliminationPlan? failed = block.Factors.Plan;
        foreach (EliminationPlan? plan in block.Plans)
        {
            if (plan is null || ReferenceEquals(plan, failed))
                continue;
            block.Factors.Plan = plan;
            if (block.Factors.TryFactor(_w.Matrix))
                return true;
        }

        return false;
    }

    private Outcome FactorAfresh(BlockSolution block)
    {
        for (int attempt = 0; ; attempt++)
        {
            Array.Clear(_include);
            foreach (EliminationPlan? old in block.Plans)
            {
                foreach (int entry in old?.Entries ?? [])
                    _include[entry] = true;
            }

            EliminationPlan? plan = PivotSearch<double>.Find(
                _network.Pattern, _w.Matrix, _include, out _remainingRows, out _remainingColumns, block.Block.Rows, block.Block.Columns);
            if (plan is not null)
            {
                block.Factors.Plan = plan;
                block.Plans[block.NextPlan] = plan;
                block.NextPlan = (block.NextPlan + 1) % block.Plans.Length;
                block.Block.Publish(plan);
                return block.Factors.TryFactor(_w.Matrix) ? Outcome.Solved : Outcome.Singular;
            }

            // A node that nothing holds is held where all equations are solved at once.
            if (!ReferenceEquals(block, _whole) || attempt > 0 || !TieFloatingNodes())
                return Outcome.Singular;
            Load(block.Block);
        }
    }

    /// <summary>Holds the nodes that the equations leave open, such as behind an infinite resistance.</summary>
    private bool TieFloatingNodes()
    {
        bool any = false;
        foreach (int column in _remainingColumns)
        {
            if (column >= _network.FreeNodeCount || _isTied[column])
                continue;
            _isTied[column] = true;
            _hasTies = true;
            any = true;
        }

        return any;
    }

    private bool Step(BlockSolution block)
    {
        block.Factors.Solve(_w.Residual, _step);
        double[] x = _w.X;
        foreach (int k in block.Block.Columns)
        {
            x[k] -= _step[k];
            if (!double.IsFinite(x[k]))
                return false;
        }

        return true;
    }

    private bool Follow(BlockSolution block, bool oneAtATime, out bool isSwitched)
    {
        bool settled = true;
        isSwitched = false;
        FollowStorages();
        Element[] nonlinear = block.Block.Nonlinear;
        for (int k = 0; k < nonlinear.Length; k++)
        {
            Advance advance = nonlinear[k].Follow(_w, !(oneAtATime && isSwitched));
            block.IsUnsettled[k] = advance != Advance.Settled;
            settled &= advance == Advance.Settled;
            isSwitched |= advance == Advance.Switched;
        }

        return settled;
    }

    /// <summary>
    /// Corrects the solution with the factors at hand until corrections no longer shrink. None is made where every equation already holds to the rounding of
    /// its own terms: the elements' equations hold terms from 1e-13 to 1, and a pass brings every current to full digits, not only the voltages.
    /// </summary>
    private Outcome Refine(BlockSolution block)
    {
        double previous = double.PositiveInfinity;
        for (int pass = 0; pass < 8; pass++)
        {
            Load(block.Block);
            if (pass == 0 && HoldsToRounding(block.Block))
                break;
            if (!Step(block))
                return Outcome.NotSettled;
            double change = RelativeStep(block.Block);
            if (change < 1e-12 || change > 0.5 * previous)
                break;
            previous = change;
        }

        block.FactorsAreAtPoint = block.Block.Nonlinear.Length == 0;
        return Outcome.Solved;
    }

    /// <summary>Whether no residual is more than a rounding of the sum of the magnitudes of its terms.</summary>
    private bool HoldsToRounding(EquationBlock block)
    {
        foreach ((int start, int length) in block.RowRuns)
        {
            ReadOnlySpan<double> residual = _w.Residual.AsSpan(start, length);
            ReadOnlySpan<double> magnitude = _w.Magnitude.AsSpan(start, length);
            for (int k = 0; k < residual.Length; k++)
            {
                if (!(Math.Abs(residual[k]) <= 2.3e-16 * magnitude[k]))
                    return false;
            }
        }

        return true;
    }

    private double RelativeStep(EquationBlock block)
    {
        double[] x = _w.X;
        ReadOnlySpan<int> nodes = block.Columns.AsSpan(0, block.Nodes);
        ReadOnlySpan<int> currents = block.Columns.AsSpan(block.Nodes);
        double greatestVoltage = 0;
        double greatestCurrent = 0;
        foreach (int k in nodes)
            greatestVoltage = Math.Max(greatestVoltage, Math.Abs(x[k]));
        foreach (int k in currents)
            greatestCurrent = Math.Max(greatestCurrent, Math.Abs(x[k]));
        return Math.Max(Greatest(nodes, 1e-15 * greatestVoltage), Greatest(currents, 1e-15 * greatestCurrent));

        double Greatest(ReadOnlySpan<int> unknowns, double floor)
        {
            double change = 0;
            foreach (int k in unknowns)
            {
                double size = Math.Abs(x[k]) + floor;
                if (size > 0)
                    change = Math.Max(change, Math.Abs(_step[k]) / size);
            }

            return change;
        }
    }

    private ulong HashOfModes(EquationBlock block)
    {
        // FNV-1a.
        ulong hash = 14695981039346656037;
        foreach (Element element in block.Nonlinear)
        {
            for (int k = 0; k < element.ModeCount; k++)
                hash = (hash ^ (uint)_w.Modes[element.Mode + k]) * 1099511628211;
        }

        return hash;
    }
}
