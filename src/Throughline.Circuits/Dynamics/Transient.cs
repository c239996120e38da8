namespace Throughline.Circuits;

/// <summary>
/// A network in motion: all its laws, limits and slew rates included, followed with steps as long as the tolerances allow. It owns its buffers;
/// after warm-up a step allocates nothing. One thread per instance.
/// </summary>
/// <remarks>
/// A diagonally implicit Runge–Kutta method of order 4 with five stages, L-stable and ending on its last stage, with an embedded method of order 3
/// (Hairer, Wanner: Solving Ordinary Differential Equations II, 2nd ed. (Springer, 1996), table IV.6.5 and (6.16)). Every stage fulfils
/// all equations of the network, so algebraic unknowns need no starting values of their own and a jump of a source is passed without memory of what was
/// before: stages start from the storages' states alone. Slots of capacitance, inductance and bandwidth keep the values of the start.
/// </remarks>
public sealed class Transient
{
    private const int Stages = 5;
    private const double Gamma = 0.25;
    private const double UnevenShare = 0.05;

    private static readonly double[] Nodes = [1.0 / 4, 3.0 / 4, 11.0 / 20, 1.0 / 2, 1];

    private static readonly double[][] Weights =
    [
        [],
        [1.0 / 2],
        [17.0 / 50, -1.0 / 25],
        [371.0 / 1360, -137.0 / 2720, 15.0 / 544],
        [25.0 / 24, -49.0 / 48, 125.0 / 16, -85.0 / 12],
    ];

    /// <summary>Weights of the solution less those of the embedded method, 59/48, −17/96, 225/32, −85/12, 0.</summary>
    private static readonly double[] ErrorWeights =
        [(25.0 / 24) - (59.0 / 48), (-49.0 / 48) + (17.0 / 96), (125.0 / 16) - (225.0 / 32), 0, 1.0 / 4];

    private readonly NetworkSolver _solver;
    private readonly Workspace _w;
    private readonly TransientSettings _settings;
    private readonly List<(int Slot, Waveform Waveform)> _driven = [];
    private readonly double[] _states;
    private readonly double[][] _rates;
    private readonly double[] _errors;
    private readonly double[] _lastRates;
    private readonly StorageMotion[] _motions;
    private readonly bool[] _hasTurned;
    private readonly double[] _deviation;
    private readonly double[] _keptX;
    private readonly double[] _keptBends;
    private readonly double[] _keptRates;
    private readonly int[] _keptModes;
    private double _step;
    private bool _isFresh = true;
    private bool _hasLastRates;

    internal Transient(NetworkSolver solver, TransientSettings settings)
    {
        if (!(settings.RelativeTolerance > 0 && settings.VoltageTolerance > 0 && settings.CurrentTolerance > 0 && settings.LongestStep > 0 && settings.MostSteps > 0))
            throw new ArgumentException("Tolerances and limits of steps are above 0.", nameof(settings));
        _solver = solver;
        _settings = settings;
        _w = solver.Workspace;
        solver.BeginMotion();
        int count = solver.Moving.Count;
        _states = new double[count];
        _errors = new double[count];
        _lastRates = new double[count];
        _motions = new StorageMotion[count];
        _hasTurned = new bool[count];
        _rates = new double[Stages][];
        for (int stage = 0; stage < Stages; stage++)
            _rates[stage] = new double[count];
        _deviation = new double[_w.Unknowns + 1];
        _keptX = new double[_w.X.Length];
        _keptBends = new double[_w.States.Length];
        _keptRates = new double[_w.Rates.Length];
        _keptModes = new int[_w.Modes.Length];
        TakeStates();
    }

    /// <summary>s, from 0.</summary>
    public double Time { get; private set; }

    /// <summary>Voltages and currents at <see cref="Time"/>, those of capacitors included; overwritten by every step. Solved only once time has moved.</summary>
    public OperatingPoint Point => _solver.Point;

    public int StepsTaken { get; private set; }

    /// <summary>Steps that were too long and made again shorter.</summary>
    public int StepsRefused { get; private set; }

    /// <summary>Why time does not move on, as a sentence; null while it does.</summary>
    public string? Trouble { get; private set; }

    /// <summary>Lets a slot follow a waveform from now on.</summary>
    /// <param name="slot">A source's value or any other number but a capacitance, an inductance or a bandwidth, which keep the values of the start.</param>
    /// <param name="waveform">By the time of this run.</param>
    public void Drive(int slot, Waveform waveform)
    {
        ArgumentNullException.ThrowIfNull(waveform);
        ArgumentOutOfRangeException.ThrowIfNegative(slot);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(slot, _w.Values.Length);
        _driven.RemoveAll(driven => driven.Slot == slot);
        _driven.Add((slot, waveform));
        _isFresh = true;
    }

    /// <summary>Moves to exactly that time.</summary>
    /// <param name="seconds">Not before <see cref="Time"/>.</param>
    /// <returns>False when the motion cannot be followed: <see cref="Trouble"/> says why, and <see cref="Time"/> how far it went.</returns>
    public bool AdvanceTo(double seconds)
    {
        if (!(seconds >= Time) || !double.IsFinite(seconds))
            throw new ArgumentOutOfRangeException(nameof(seconds), seconds, "Time moves forward only.");
        int refused = 0;
        double longest = _settings.LongestStep;
        foreach ((_, Waveform waveform) in _driven)
            longest = Math.Min(longest, waveform.LongestStep);
        for (int attempt = 0; Time < seconds; attempt++)
        {
            if (attempt >= _settings.MostSteps)
                return Fail($"The motion needs more than {_settings.MostSteps} steps.");
            double next = NextBreak();
            double end = Math.Min(seconds, next);
            double way = end - Time;
            if (_isFresh)
            {
                _step = Math.Min(_step > 0 ? _step : way, 1e-6 * way);
                _isFresh = false;
                _hasLastRates = false;
            }

            double step = Math.Min(_step, longest);
            bool isLast = step >= 0.999999 * way;
            // Two even steps rather than a long and a tiny one.
            step = isLast ? way : step > 0.5 * way ? 0.5 * way : step;
            double least = 8 * (Math.BitIncrement(Time) - Time);
            bool isLeast = step <= least;
            double error = TryStep(step, isLast ? end : Time + step, isLast && end == next, refused > 3);
            if (double.IsNaN(error) && isLeast)
                return Fail(_solver.Point.Trouble ?? "The equations have no answer.");
            if (error <= 1 || (isLeast && !double.IsNaN(error)))
            {
                refused = 0;
                StepsTaken++;
                Time = isLast ? end : Time + step;
                TakeStates();
                _rates[^1].CopyTo(_lastRates, 0);
                _hasLastRates = true;
                double grown = step * Math.Clamp(0.9 * Math.Pow(error, -0.25), 0.2, 5);
                // A step cut short by a stop says little about the ones after it.
                _step = isLast ? Math.Max(grown, _step) : grown;
                _isFresh = Time == next;
                continue;
            }

            StepsRefused++;
            refused++;
            Restore();
            _step = Math.Max(least, step * (double.IsNaN(error) ? 0.125 : Math.Clamp(0.9 * Math.Pow(error, -0.25), 0.1, 0.9)));
        }

        return true;
    }

    private bool Fail(string trouble)
    {
        Trouble = trouble;
        return false;
    }

    /// <summary>One step; the greatest error over its tolerance, or NaN when a stage has no solution.</summary>
    private double TryStep(double step, double end, bool endsAtBreak, bool isThorough)
    {
        Keep();
        IReadOnlyList<MovingStorage> moving = _solver.Moving;
        _w.StageGain = 1 / (Gamma * step);
        for (int k = 0; k < _states.Length; k++)
        {
            _motions[k] = moving[k].Element.MotionOf(_w);
            _hasTurned[k] = false;
        }

        for (int stage = 0; stage < Stages; stage++)
        {
            for (int k = 0; k < _states.Length; k++)
            {
                double sum = 0;
                for (int j = 0; j < stage; j++)
                    sum += Weights[stage][j] * _rates[j][k];
                _w.Histories[moving[k].Element.Storage] = _states[k] + (step * sum);
            }

            // A jump at the end belongs to the next step.
            double time = stage < Stages - 1 ? Time + (Nodes[stage] * step) : endsAtBreak ? Math.BitDecrement(end) : end;
            foreach ((int slot, Waveform waveform) in _driven)
                _w.Values[slot] = waveform.At(time);
            if (!_solver.SolveStage(isThorough))
                return double.NaN;
            for (int k = 0; k < _states.Length; k++)
            {
                _rates[stage][k] = _w.Rates[moving[k].Element.Storage];
                _hasTurned[k] |= moving[k].Element.MotionOf(_w) != _motions[k];
            }
        }

        return Error(step);
    }

    private double Error(double step)
    {
        IReadOnlyList<MovingStorage> moving = _solver.Moving;
        for (int k = 0; k < _states.Length; k++)
        {
            double sum = 0;
            for (int stage = 0; stage < Stages; stage++)
                sum += ErrorWeights[stage] * _rates[stage][k];
            _errors[k] = step * sum;
            // The first stage is a quarter into the step: a bend before it looks the same to all stages. The rate at the start then
            // is not where the cubic through the others leads, by more than the curvature of a step that is short enough.
            if (!_hasLastRates)
                continue;
            double first = _rates[0][k];
            double middle = _rates[3][k];
            double later = _rates[1][k];
            double last = _rates[4][k];
            double gap = (4 * first) - (6 * middle) + (4 * later) - last - _lastRates[k];
            double variation = Math.Max(Math.Max(first, middle), Math.Max(later, last)) - Math.Min(Math.Min(first, middle), Math.Min(later, last));
            if (Math.Abs(gap) > UnevenShare * variation)
                _errors[k] = Math.MaxMagnitude(_errors[k], 0.125 * step * gap);
        }

        _solver.SolveDeviation(_errors, _deviation);
        double greatest = 0;
        for (int k = 0; k < _states.Length; k++)
        {
            double size = Math.Max(Math.Abs(_states[k]), Math.Abs(moving[k].StateOf(_w.X, out _)));
            double tolerance = (moving[k].IsCurrent ? _settings.CurrentTolerance : _settings.VoltageTolerance) + (_settings.RelativeTolerance * size);
            double error = Math.Abs(moving[k].StateOf(_deviation, out _));
            // An amplifier without lag that stops slewing within the step lands on its law whatever came before: the deviation says nothing.
            if (_hasTurned[k] && moving[k].Storage.Coefficient == 0)
                error = Math.Max(error, Math.Abs(_errors[k]));
            greatest = Math.Max(greatest, error / tolerance);
        }

        return greatest;
    }

    private double NextBreak()
    {
        double next = double.PositiveInfinity;
        foreach ((_, Waveform waveform) in _driven)
            next = Math.Min(next, waveform.NextBreak(Time));
        return next;
    }

    private void TakeStates()
    {
        for (int k = 0; k < _states.Length; k++)
            _states[k] = _solver.Moving[k].StateOf(_w.X, out _);
    }

    private void Keep()
    {
        _w.X.CopyTo(_keptX, 0);
        _w.States.CopyTo(_keptBends, 0);
        _w.Modes.CopyTo(_keptModes, 0);
        _w.Rates.CopyTo(_keptRates, 0);
    }

    private void Restore()
    {
        _keptX.CopyTo(_w.X, 0);
        _keptBends.CopyTo(_w.States, 0);
        _keptModes.CopyTo(_w.Modes, 0);
        _keptRates.CopyTo(_w.Rates, 0);
    }
}
