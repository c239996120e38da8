namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    private readonly List<MovingStorage> _moving = [];

    /// <summary>A motion in time that begins at the last solved point, with the storages charged as they are there.</summary>
    /// <param name="settings">Tolerances; null for the defaults.</param>
    /// <returns>A run with buffers of its own: the solver may go on.</returns>
    /// <exception cref="InvalidOperationException">The last solve did not succeed.</exception>
    public Transient CreateTransient(TransientSettings? settings = null)
    {
        if (_point.Status != SolveStatus.Solved)
            throw new InvalidOperationException("There is no solved point to begin at.");
        var solver = new NetworkSolver(_network);
        _w.Values.CopyTo(solver._w.Values, 0);
        solver._w.ThermalVoltage = _w.ThermalVoltage;
        _w.Rises.CopyTo(solver._w.Rises, 0);
        solver.Begin(_point);
        _isTied.CopyTo(solver._isTied, 0);
        solver._hasTies = _hasTies;
        return new Transient(solver, settings ?? new TransientSettings());
    }

    /// <summary>A motion in time that begins with every storage empty, as when all sources rise from nothing at time 0.</summary>
    /// <param name="values">Every slot's value in slot order, SI units.</param>
    /// <param name="temperatureKelvin">Temperature of the junctions, K.</param>
    /// <param name="settings">Tolerances; null for the defaults.</param>
    /// <exception cref="ArgumentException">The number of values is not that of the slots, or one is not a number.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not above 0 K.</exception>
    public Transient CreateStartUp(ReadOnlySpan<double> values, double temperatureKelvin = 298.15, TransientSettings? settings = null)
    {
        if (values.Length != _w.Values.Length)
            throw new ArgumentException($"The network has {_w.Values.Length} slots, not {values.Length}.", nameof(values));
        if (!(temperatureKelvin > 0) || !double.IsFinite(temperatureKelvin))
            throw new ArgumentOutOfRangeException(nameof(temperatureKelvin), temperatureKelvin, "A temperature is above 0 K.");
        var solver = new NetworkSolver(_network);
        values.CopyTo(solver._w.Values);
        foreach (double value in values)
        {
            if (double.IsNaN(value))
                throw new ArgumentException("Every value is a number.", nameof(values));
        }

        solver._w.ThermalVoltage = temperatureKelvin * BoltzmannOverCharge;
        _w.Rises.CopyTo(solver._w.Rises, 0);
        solver.Begin();
        return new Transient(solver, settings ?? new TransientSettings());
    }

    internal Workspace Workspace => _w;

    internal OperatingPoint Point => _point;

    internal IReadOnlyList<MovingStorage> Moving => _moving;

    /// <summary>Readies the solver for stages in time: finds what stores and where it writes.</summary>
    internal void BeginMotion()
    {
        // Nodes that only capacitors hold must be free to move; the leak that is left is nothing at any time of interest.
        _tie = 1e-13;
        foreach (Element element in _elements)
        {
            if (element.CreateStorage(_w) is not { } storage)
                continue;
            var entries = new int[storage.Equations.Length * storage.State.Length];
            int at = 0;
            foreach ((int row, _) in storage.Equations)
            {
                foreach ((int column, _) in storage.State)
                    entries[at++] = _network.Pattern.Entry(row, column);
            }

            bool isCurrent = Array.TrueForAll(storage.State, part => part.Unknown >= _network.FreeNodeCount && part.Unknown < _w.Unknowns);
            _moving.Add(new MovingStorage(element, storage, entries, isCurrent));
        }
    }

    /// <summary>Solves the equations of one stage from the iterate at hand.</summary>
    /// <param name="isThorough">Whether to try continuation too when the iterate at hand leads nowhere.</param>
    internal bool SolveStage(bool isThorough)
    {
        _point.Iterations = 0;
        Outcome outcome = Iterate(DirectSteps);
        if (outcome != Outcome.Solved && isThorough)
            outcome = FindPoint(null);
        if (outcome == Outcome.Solved)
        {
            FollowStorages();
            _point.Status = SolveStatus.Solved;
            _point.Trouble = null;
            return true;
        }

        Refuse(outcome == Outcome.Singular ? SolveStatus.Singular : SolveStatus.NotSettled, Explain(outcome));
        return false;
    }

    /// <summary>
    /// Deviations of the unknowns that deviations of the states bring with the stage's equations: the estimate of the error, freed of what the stage damps
    /// (Hairer, Wanner: Solving Ordinary Differential Equations II, 2nd ed., IV.8).
    /// </summary>
    internal void SolveDeviation(double[] ofStates, double[] deviation)
    {
        Array.Clear(_gradient);
        for (int k = 0; k < _moving.Count; k++)
        {
            MovingStorage moving = _moving[k];
            StorageMotion motion = moving.Element.MotionOf(_w);
            if (motion == StorageMotion.Idle)
                continue;
            double factor = motion == StorageMotion.Free ? moving.Storage.Coefficient * _w.StageGain : 1;
            foreach ((int row, double weight) in moving.Storage.Equations)
                _gradient[row] += factor * weight * ofStates[k];
        }

        _gradient[_w.Unknowns] = 0;
        _whole.Factors.Solve(_gradient, deviation);
        deviation[_w.Unknowns] = 0;
    }

    private void LoadStorages()
    {
        if (!(_w.StageGain > 0))
            return;
        foreach (MovingStorage moving in _moving)
        {
            Element element = moving.Element;
            StorageMotion motion = element.MotionOf(_w);
            if (motion == StorageMotion.Idle)
                continue;
            double factor = motion == StorageMotion.Free ? moving.Storage.Coefficient * _w.StageGain : 1;
            double target = _w.Histories[element.Storage];
            if (motion != StorageMotion.Free)
            {
                double reach = ((Amplifier)element).SlewRate(_w) / _w.StageGain;
                target += motion == StorageMotion.FullRateUp ? reach : -reach;
            }

            double state = moving.StateOf(_w.X, out double magnitude);
            magnitude += Math.Abs(target);
            int at = 0;
            foreach ((int row, double rowWeight) in moving.Storage.Equations)
            {
                double weight = factor * rowWeight;
                _w.Residual[row] += weight * (state - target);
                _w.Magnitude[row] += Math.Abs(weight) * magnitude;
                foreach ((_, double columnWeight) in moving.Storage.State)
                    _w.Matrix[moving.Entries[at++]] += weight * columnWeight;
            }
        }
    }

    private void FollowStorages()
    {
        if (!(_w.StageGain > 0))
            return;
        foreach (MovingStorage moving in _moving)
        {
            int storage = moving.Element.Storage;
            _w.Rates[storage] = (moving.StateOf(_w.X, out _) - _w.Histories[storage]) * _w.StageGain;
        }
    }
}

/// <summary>A storage in motion and the entries of the matrix it writes.</summary>
internal sealed record MovingStorage(Element Element, Storage Storage, int[] Entries, bool IsCurrent)
{
    public double StateOf(double[] x, out double magnitude)
    {
        double sum = 0;
        magnitude = 0;
        foreach ((int unknown, double weight) in Storage.State)
        {
            double term = weight * x[unknown];
            sum += term;
            magnitude += Math.Abs(term);
        }

        return sum;
    }
}
