namespace Throughline.Circuits;

/// <summary>Turns a network, its nominal point and what is asked of it into a tape.</summary>
internal sealed class BatchCompiler
{
    private readonly Network _network;
    private readonly Workspace _nominal;
    private readonly bool[] _isTied;
    private readonly int[] _slotPhases;
    private readonly Probe[] _probes;
    private readonly bool _checksLimits;
    private readonly bool _refines;

    public BatchCompiler(Network network, OperatingPoint nominal, Probe[] probes, int[] slotPhases, bool checksLimits, bool refines)
    {
        _network = network;
        _nominal = nominal.Workspace;
        _isTied = [.. Enumerable.Range(0, network.FreeNodeCount).Select(unknown => nominal.IsTied(unknown))];
        _probes = probes;
        _slotPhases = slotPhases;
        _checksLimits = checksLimits;
        _refines = refines;
    }

    public CompiledTape Compile()
    {
        (BlockOrder order, bool[] held) = FindOrder();
        BatchEquations e = Write(held);
        IReadOnlyList<int[]> blocks = order.Blocks(held);
        var states = StatesOfRow();
        var isNonlinear = new bool[blocks.Count];
        int phase = BatchEquations.FirstIteration;
        var iterations = new List<TapeIteration>();
        for (int k = 0; k < blocks.Count; k++)
        {
            foreach (int row in blocks[k])
            {
                foreach (int state in states[row])
                {
                    e.PointPhases[state] = phase;
                    isNonlinear[k] = true;
                }
            }

            phase += isNonlinear[k] ? 2 : 0;
        }

        foreach (Element element in _network.Elements)
            element.Load(e);
        Tie(e);
        phase = BatchEquations.FirstIteration;
        for (int k = 0; k < blocks.Count; k++)
        {
            var checks = new List<Expr>();
            int[] unknowns = [.. blocks[k].Select(row => order.ColumnOfRow[row])];
            BlockElimination elimination = BlockElimination.Solve(e, blocks[k], unknowns, checks);
            if (_refines)
                elimination.Refine(e);
            if (isNonlinear[k])
            {
                iterations.Add(Close(e, blocks[k], phase));
                foreach (int unknown in unknowns)
                    e.Solve(unknown, e.Tape.Final(e.X(unknown), AfterIteration(e.X(unknown), phase)));
                foreach (Expr check in checks)
                    e.Require(e.Tape.Final(check, AfterIteration(check, phase)));
                phase += 2;
            }
            else
            {
                foreach (Expr check in checks)
                    e.Require(check);
            }
        }

        foreach (Element element in _network.Elements)
            element.Confine(e);
        RequireReturns(e);
        Expr[] readings = [.. _probes.Select(probe => Read(e, probe))];
        foreach (Expr reading in readings)
        {
            // What is not a number was divided by a pivot that is none.
            if (!reading.IsConstant)
                e.Require((reading - reading) >= 0);
        }

        Expr settled = e.Tape.True;
        foreach (Expr condition in e.Conditions.OrderBy(static condition => condition.Phase))
            settled &= condition;
        return new CompiledTape(e.Tape, e.InputCount, e.KelvinInput, iterations, readings, settled);
    }

    private static int AfterIteration(Expr value, int phase) => value.Phase == phase ? phase + 1 : value.Phase;

    /// <summary>Which equations hang together, and which of them anybody asks for.</summary>
    private (BlockOrder Order, bool[] Held) FindOrder()
    {
        BatchEquations sketch = Write(null);
        int n = _network.UnknownCount;
        int[][] columns = [.. sketch.Rows.Select(static row => row.Keys.ToArray())];
        int[] partner = [.. Enumerable.Range(0, n)];
        foreach (Element element in _network.Elements)
        {
            if (element.StateCount == 0)
                continue;
            // A ring of its own equations keeps them in one block, so that a point to linearise at moves in one place.
            for (int k = 0; k < element.BranchCount; k++)
                partner[element.Branch + k] = element.Branch + ((k + 1) % element.BranchCount);
        }

        var order = new BlockOrder(columns, partner);
        foreach (Probe probe in _probes)
            Read(sketch, probe);
        RequireReturns(sketch);
        while (true)
        {
            int asked = sketch.Asked.Count;
            bool[] held = order.RowsFor(sketch.Asked.Where(unknown => unknown < n));
            held.CopyTo(sketch.IsHeld, 0);
            foreach (Element element in _network.Elements)
            {
                if (IsHeld(element, held))
                    element.Follow(sketch);
                element.Confine(sketch);
            }

            if (sketch.Asked.Count == asked)
                return (order, held);
        }
    }

    private static bool IsHeld(Element element, bool[] held) => element.StateCount > 0 && held[element.Branch];

    private BatchEquations Write(bool[]? held)
    {
        var e = new BatchEquations(_network, _nominal, _slotPhases, _checksLimits, isSketch: held is null);
        if (held is not null)
        {
            held.CopyTo(e.IsHeld, 0);
            return e;
        }

        foreach (Element element in _network.Elements)
            element.Load(e);
        Tie(e);
        return e;
    }

    private void Tie(BatchEquations e)
    {
        foreach (int unknown in _network.TiedUnknowns)
            e.Add(unknown, unknown, 1);
        for (int unknown = 0; unknown < _isTied.Length; unknown++)
        {
            if (_isTied[unknown])
                e.Add(unknown, unknown, 1);
        }
    }

    private List<int>[] StatesOfRow()
    {
        var states = new List<int>[_network.UnknownCount];
        for (int row = 0; row < states.Length; row++)
            states[row] = [];
        foreach (Element element in _network.Elements)
        {
            for (int k = 0; k < element.StateCount; k++)
                states[element.Branch].Add(element.State + k);
        }

        return states;
    }

    private TapeIteration Close(BatchEquations e, int[] block, int phase)
    {
        foreach (Element element in _network.Elements)
        {
            if (element.StateCount > 0 && Array.BinarySearch(block, element.Branch) >= 0)
                element.Follow(e);
        }

        Expr settled = e.Tape.True;
        var points = new List<TapePoint>();
        foreach ((int state, (Expr next, Expr isSettled)) in e.Steps)
        {
            if (e.PointPhases[state] != phase)
                continue;
            settled &= isSettled;
            points.Add(new TapePoint(e.PointInput(state), e.StartOf(state), next.Index));
        }

        e.Require(e.Tape.Final(settled, AfterIteration(settled, phase)));
        return new TapeIteration(phase, [.. points], settled.Index);
    }

    /// <summary>A current driven into a part of the network without a return has to have a way back.</summary>
    private void RequireReturns(BatchEquations e)
    {
        foreach ((_, var drivers) in _network.FloatingDrivers)
        {
            Expr sum = e.Constant(0);
            Expr magnitude = sum;
            foreach ((Element element, int pin) in drivers)
            {
                Expr current = element.Current(e);
                sum = pin == 0 ? sum + current : sum - current;
                magnitude += current.Abs();
            }

            e.Require(sum.Abs() <= magnitude * 1e-12);
        }
    }

    private Expr Read(BatchEquations e, Probe probe) => probe.IsCurrent
        ? _network[probe.Element].Current(e)
        : e.X(_network.UnknownOfNode[probe.Plus.Index]) - e.X(_network.UnknownOfNode[probe.Minus.Index]);
}
