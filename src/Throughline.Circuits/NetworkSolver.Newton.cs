namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    private const int DirectSteps = 60;

    // A tie at a floating node is 1 S: one ampere that has no other way makes one volt.
    private const double TieConductance = 1;

    private double _tie = TieConductance;

    private readonly bool[] _isUnsettled;
    private readonly ulong[] _seenModes = new ulong[256];
    private readonly EliminationPlan?[] _plans = new EliminationPlan?[6];
    private int _nextPlan;
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
        int seen = 0;
        bool oneAtATime = false;
        for (int step = 0; step < steps; step++)
        {
            Outcome factored = LoadAndFactor();
            if (factored != Outcome.Solved)
                return factored;
            _point.Iterations++;
            if (!Step())
                return Outcome.NotSettled;
            if (_nonlinear.Length == 0 || Follow(oneAtATime, out bool isSwitched))
                return Refine();
            if (!isSwitched)
                continue;
            // Another piece of a law may hold the node that this one left open.
            Array.Clear(_isTied);
            _hasTies = false;
            ulong modes = HashOfModes();
            oneAtATime |= Array.IndexOf(_seenModes, modes, 0, seen) >= 0;
            if (seen < _seenModes.Length)
                _seenModes[seen++] = modes;
        }

        return Outcome.NotSettled;
    }

    private void Load()
    {
        _w.Clear();
        foreach (Element element in _elements)
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

        foreach (int unknown in _network.TiedUnknowns)
        {
            _w.Matrix[_network.DiagonalOfUnknown[unknown]] += _tie;
            _w.AddCurrent(unknown, _tie * _w.X[unknown]);
        }

        LoadStorages();

        // What was written for pinned nodes belongs to nobody.
        _w.Residual[_w.Unknowns] = 0;
        _w.Magnitude[_w.Unknowns] = 0;
    }

    private Outcome LoadAndFactor()
    {
        Load();
        _factors.Plan ??= _network.Plan;
        if (_factors.TryFactor(_w.Matrix) || TryOtherPlans())
            return Outcome.Solved;
        return FactorAfresh();
    }

    /// <summary>A saturated amplifier wants another order than a linear one: the orders found before are tried before a new one is sought.</summary>
    private bool TryOtherPlans()
    {
        EliminationPlan? failed = _factors.Plan;
        foreach (EliminationPlan? plan in _plans)
        {
            if (plan is null || ReferenceEquals(plan, failed))
                continue;
            _factors.Plan = plan;
            if (_factors.TryFactor(_w.Matrix))
                return true;
        }

        return false;
    }

    private Outcome FactorAfresh()
    {
        for (int attempt = 0; ; attempt++)
        {
            foreach (EliminationPlan? old in _plans)
            {
                foreach (int entry in old?.Entries ?? [])
                    _include[entry] = true;
            }

            EliminationPlan? plan = PivotSearch<double>.Find(_network.Pattern, _w.Matrix, _include, out _remainingRows, out _remainingColumns);
            if (plan is not null)
            {
                _factors.Plan = plan;
                _plans[_nextPlan] = plan;
                _nextPlan = (_nextPlan + 1) % _plans.Length;
                _network.Publish(plan);
                return _factors.TryFactor(_w.Matrix) ? Outcome.Solved : Outcome.Singular;
            }

            if (attempt > 0 || !TieFloatingNodes())
                return Outcome.Singular;
            Load();
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

    private bool Step()
    {
        _factors.Solve(_w.Residual, _step);
        double[] x = _w.X;
        for (int k = 0; k < _w.Unknowns; k++)
        {
            x[k] -= _step[k];
            if (!double.IsFinite(x[k]))
                return false;
        }

        return true;
    }

    private bool Follow(bool oneAtATime, out bool isSwitched)
    {
        bool settled = true;
        isSwitched = false;
        FollowStorages();
        for (int k = 0; k < _nonlinear.Length; k++)
        {
            Advance advance = _nonlinear[k].Follow(_w, !(oneAtATime && isSwitched));
            _isUnsettled[k] = advance != Advance.Settled;
            settled &= advance == Advance.Settled;
            isSwitched |= advance == Advance.Switched;
        }

        return settled;
    }

    /// <summary>
    /// Corrects the solution with the factors at hand until corrections no longer shrink. None is made where every equation already holds to the rounding of
    /// its own terms: the elements' equations hold terms from 1e-13 to 1, and a pass brings every current to full digits, not only the voltages.
    /// </summary>
    private Outcome Refine()
    {
        double previous = double.PositiveInfinity;
        for (int pass = 0; pass < 8; pass++)
        {
            Load();
            if (pass == 0 && HoldsToRounding())
                break;
            if (!Step())
                return Outcome.NotSettled;
            double change = RelativeStep();
            if (change < 1e-12 || change > 0.5 * previous)
                break;
            previous = change;
        }

        _factorsAreAtPoint = _network.IsLinear;
        return Outcome.Solved;
    }

    /// <summary>Whether no residual is more than a rounding of the sum of the magnitudes of its terms.</summary>
    private bool HoldsToRounding()
    {
        ReadOnlySpan<double> residual = _w.Residual.AsSpan(0, _w.Unknowns);
        ReadOnlySpan<double> magnitude = _w.Magnitude.AsSpan(0, _w.Unknowns);
        for (int k = 0; k < residual.Length; k++)
        {
            if (!(Math.Abs(residual[k]) <= 2.3e-16 * magnitude[k]))
                return false;
        }

        return true;
    }

    private double RelativeStep()
    {
        double[] x = _w.X;
        int nodes = _network.FreeNodeCount;
        double greatestVoltage = 0;
        double greatestCurrent = 0;
        for (int k = 0; k < nodes; k++)
            greatestVoltage = Math.Max(greatestVoltage, Math.Abs(x[k]));
        for (int k = nodes; k < _w.Unknowns; k++)
            greatestCurrent = Math.Max(greatestCurrent, Math.Abs(x[k]));
        double change = 0;
        for (int k = 0; k < _w.Unknowns; k++)
        {
            double floor = 1e-15 * (k < nodes ? greatestVoltage : greatestCurrent);
            double size = Math.Abs(x[k]) + floor;
            if (size > 0)
                change = Math.Max(change, Math.Abs(_step[k]) / size);
        }

        return change;
    }

    private ulong HashOfModes()
    {
        // FNV-1a.
        ulong hash = 14695981039346656037;
        foreach (int mode in _w.Modes)
            hash = (hash ^ (uint)mode) * 1099511628211;
        return hash;
    }
}
