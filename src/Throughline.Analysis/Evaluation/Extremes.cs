using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The least and the greatest value of a reading over every adjusted unit and every rated condition.</summary>
/// <param name="Low">Confirmed by a full solve at the corner found; NaN when it was not asked for.</param>
/// <param name="High">Confirmed by a full solve at the corner found; NaN when it was not asked for.</param>
/// <param name="AtLow">The unit and conditions of the low value.</param>
/// <param name="AtHigh">The unit and conditions of the high value.</param>
internal sealed record Extreme(double Low, double High, UnitState AtLow, UnitState AtHigh);

/// <summary>A value of the measurand, or of what else drives the circuit, at which extremes are sought.</summary>
internal sealed record Scenario(string Name, Action<UnitState> Apply, bool IsBench = false);

/// <summary>
/// Finds worst cases: the signs of the exact sensitivities, after adjustment, choose the corner; a full solve of that very unit, adjusted by its
/// procedure, confirms it; where a sign differs there, the corner is moved and solved again. In a linear network every reading is a ratio of
/// expressions linear in each single part value, so that it is monotone in each and its extremes lie at corners.
/// </summary>
internal sealed class Extremes
{
    private const int CornerMoves = 3;

    private readonly Evaluator _evaluator;
    private readonly ParameterSet _parameters;
    private readonly double[][] _positionPerValue;
    private readonly double[][] _positionPerTarget;
    private readonly Gradient?[] _steps;
    private readonly bool[] _turned;
    private readonly HashSet<int> _outside;
    private readonly int[] _followed;
    private readonly Dictionary<string, double[]> _adjusted = [];
    private readonly double[] _ambients;
    private readonly double[] _processes;

    public Extremes(Evaluator evaluator)
    {
        _evaluator = evaluator;
        _parameters = evaluator.Model.Parameters;
        _outside = [.. evaluator.Model.OutsideSupplies().Select(_parameters.IndexOf)];
        _steps = new Gradient?[evaluator.Adjustment.Length];
        (_positionPerValue, _positionPerTarget, _turned) = AdjustmentGradient();
        _followed = [.. Enumerable.Range(0, _parameters.Count).Where(p => _positionPerValue.Any(follow => follow[p] != 0))];
        Specification s = evaluator.Instrument.Specification;
        _ambients = s.Ambient.Width > 0 ? [s.Ambient.Low, s.Ambient.High] : [s.Ambient.Low];
        _processes = s.Process.Width > 0 ? [s.Process.Low, s.Process.High] : [s.Process.Low];
    }

    /// <summary>Extremes of several readings over several scenarios. Solving is shared between the readings.</summary>
    /// <param name="limited">Whether amplifiers keep their limits; without them the result is what the circuit asks of them.</param>
    public Extreme[] Find(IReadOnlyList<Reading> readings, IReadOnlyList<Scenario> scenarios, bool limited)
    {
        Candidate[] lows = new Candidate[readings.Count];
        Candidate[] highs = new Candidate[readings.Count];
        Gradient gradient = new(_parameters.Count, _evaluator.Model.Trimmers.Length);
        foreach (Scenario scenario in scenarios)
        {
            foreach (double ambient in _ambients)
            {
                foreach (double process in _processes)
                {
                    UnitState state = _evaluator.NewState();
                    state.AmbientCelsius = ambient;
                    state.ProcessCelsius = process;
                    scenario.Apply(state);
                    NetworkRun run = scenario.IsBench ? _evaluator.Bench : _evaluator.Field;
                    if (run.Solve(state, limited).Status != SolveStatus.Solved)
                    {
                        continue;
                    }

                    for (int r = 0; r < readings.Count; r++)
                    {
                        double value = run.Read(readings[r], state);
                        run.Differentiate(readings[r], state, gradient);
                        Follow(gradient);
                        double up = Predict(gradient, +1);
                        double down = Predict(gradient, -1);
                        if (highs[r].Scenario is null || value + up > highs[r].Predicted)
                        {
                            highs[r] = new Candidate(scenario, ambient, process, value + up, Corner(gradient, +1));
                        }

                        if (lows[r].Scenario is null || value + down < lows[r].Predicted)
                        {
                            lows[r] = new Candidate(scenario, ambient, process, value + down, Corner(gradient, -1));
                        }
                    }
                }
            }
        }

        Dictionary<int, double> leastOfGroup = [];
        for (int r = 0; r < readings.Count; r++)
        {
            int group = readings[r].Group;
            if (group != 0 && lows[r].Scenario is not null)
            {
                leastOfGroup[group] = Math.Min(leastOfGroup.GetValueOrDefault(group, double.PositiveInfinity), lows[r].Predicted);
            }
        }

        Extreme[] result = new Extreme[readings.Count];
        for (int r = 0; r < readings.Count; r++)
        {
            bool isRival = readings[r].Group != 0 && lows[r].Predicted > leastOfGroup.GetValueOrDefault(readings[r].Group, double.PositiveInfinity);
            (double low, UnitState atLow) = isRival ? (lows[r].Predicted, _evaluator.Nominal) : Side(readings[r], Sides.Low, lows[r], -1);
            (double high, UnitState atHigh) = Side(readings[r], Sides.High, highs[r], +1);
            result[r] = new Extreme(low, high, atLow, atHigh);
        }

        return result;

        (double, UnitState) Side(in Reading reading, Sides side, Candidate candidate, int direction) =>
            reading.Sides.HasFlag(side) ? Confirm(reading, candidate, direction, limited) : (double.NaN, _evaluator.Nominal);
    }

    public Extreme Find(in Reading reading, IReadOnlyList<Scenario> scenarios, bool limited) => Find([reading], scenarios, limited)[0];

    /// <summary>The gradient of a reading at a solved state with the trimmers following the adjustment; entries are per unit of each parameter.</summary>
    public Gradient Gradient(in Reading reading, NetworkRun run, UnitState state)
    {
        Gradient gradient = new(_parameters.Count, _evaluator.Model.Trimmers.Length);
        run.Differentiate(reading, state, gradient);
        Follow(gradient);
        return gradient;
    }

    /// <summary>How far a trimmer goes when a step's meter is set to another value, per V or A; 0 for a trimmer or a step that the adjustment can't place.</summary>
    public double PositionPerTarget(int trimmer, int step) => _positionPerTarget[trimmer][step];

    /// <summary>How a step's meter moves with everything at the nominal adjustment; null for a step that the adjustment can't place.</summary>
    public Gradient? OfMeter(int step) => _steps[step];

    /// <summary>The most that one parameter, value and drift together, moves a reading at a state, by a gradient.</summary>
    public double Reach(Gradient gradient, int parameter)
    {
        Parameter p = _parameters[parameter];
        double value = Math.Max(
            Math.Abs(gradient.Values[parameter] * (_parameters.High(parameter) - p.Quantity.Value)),
            Math.Abs(gradient.Values[parameter] * (_parameters.Low(parameter) - p.Quantity.Value)));
        return value + Math.Abs(gradient.Drifts[parameter] * p.Quantity.Drift);
    }

    /// <summary>
    /// Where a step's trimmer has to stand, least and greatest over every unit, if it had no ends. Found as every worst case is: the corner by the
    /// signs of the sensitivities, then the adjustment performed on that very unit. NaN for a trimmer that the nominal unit's adjustment can't place.
    /// </summary>
    /// <param name="step">Number of the step in the procedure.</param>
    /// <param name="trimmer">Number of its trimmer.</param>
    public (double Low, double High) NeededPositions(int step, int trimmer)
    {
        return _turned[trimmer] ? (At(-1), At(+1)) : (double.NaN, double.NaN);

        double At(int direction)
        {
            UnitState state = UnitAtEnd(trimmer, direction);
            return _evaluator.Adjust(state)[step].Needed;
        }
    }

    /// <summary>The unit whose adjustment puts a trimmer lowest or highest, not yet adjusted.</summary>
    /// <param name="trimmer">Its number; one that the nominal unit's adjustment can't place gives the nominal unit.</param>
    /// <param name="direction">−1 for the lowest, +1 for the highest position.</param>
    public UnitState UnitAtEnd(int trimmer, int direction)
    {
        UnitState state = _evaluator.NewState();
        if (_turned[trimmer])
        {
            sbyte[] values = [.. _positionPerValue[trimmer].Select(slope => SignOf(slope * direction))];
            Place(state, values, new sbyte[_parameters.Count]);
        }

        return state;
    }

    /// <summary>Puts a unit at a corner: +1 for the high limit, −1 for the low one, 0 for the stated value; drifts alike.</summary>
    public void Place(UnitState state, ReadOnlySpan<sbyte> values, ReadOnlySpan<sbyte> drifts)
    {
        for (int i = 0; i < _parameters.Count; i++)
        {
            Quantity q = _parameters[i].Quantity;
            state.Values[i] = values[i] > 0 ? _parameters.High(i) : values[i] < 0 ? _parameters.Low(i) : q.Value;
            state.Drifts[i] = q.SignedDrift + (drifts[i] * q.Drift);
        }
    }

    private (double Value, UnitState State) Confirm(in Reading reading, Candidate candidate, int direction, bool limited)
    {
        UnitState best = _evaluator.NewState();
        if (candidate.Scenario is null)
        {
            return (double.NaN, best);
        }

        double bestValue = double.NaN;
        Signs corner = candidate.Corner;
        Gradient gradient = new(_parameters.Count, _evaluator.Model.Trimmers.Length);
        for (int move = 0; move < CornerMoves; move++)
        {
            UnitState state = _evaluator.NewState();
            Place(state, corner.Values, corner.Drifts);
            AdjustAt(state, corner);
            state.AmbientCelsius = candidate.Ambient;
            state.ProcessCelsius = candidate.Process;
            candidate.Scenario.Apply(state);
            NetworkRun run = candidate.Scenario.IsBench ? _evaluator.Bench : _evaluator.Field;
            if (run.Solve(state, limited).Status != SolveStatus.Solved)
            {
                break;
            }

            double value = run.Read(reading, state);
            if (!double.IsNaN(bestValue) && !((value - bestValue) * direction > 1e-12 * Math.Abs(bestValue)))
            {
                break;
            }

            (best, bestValue) = (state, value);
            run.Differentiate(reading, state, gradient);
            Follow(gradient);
            Signs next = Corner(gradient, direction);
            if (!Differs(next, corner, gradient, value))
            {
                break;
            }

            corner = next;
        }

        return (bestValue, best);
    }

    /// <summary>Adjusts a unit at a corner. Units that differ only in what no trimmer follows are adjusted alike: once for all of them.</summary>
    private void AdjustAt(UnitState state, Signs corner)
    {
        string key = string.Create(_followed.Length, (_followed, corner.Values), static (text, from) =>
        {
            for (int i = 0; i < text.Length; i++)
            {
                text[i] = (char)('0' + from.Values[from._followed[i]]);
            }
        });
        if (_adjusted.TryGetValue(key, out double[]? positions))
        {
            positions.CopyTo(state.Positions, 0);
            return;
        }

        PredictPositions(state);
        _evaluator.Adjust(state);
        _adjusted.Add(key, [.. state.Positions]);
    }

    /// <summary>Whether a corner differs from another in a parameter that matters.</summary>
    private bool Differs(Signs a, Signs b, Gradient gradient, double value)
    {
        // What moves the value by less than a millionth is not worth another unit.
        double floor = 1e-6 * Math.Abs(value);
        for (int i = 0; i < _parameters.Count; i++)
        {
            if (a.Values[i] != b.Values[i]
                && Math.Abs(gradient.Values[i] * (_parameters.High(i) - _parameters.Low(i))) > floor)
            {
                return true;
            }

            if (a.Drifts[i] != b.Drifts[i] && Math.Abs(gradient.Drifts[i] * _parameters[i].Quantity.Drift) > floor)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Adds to a gradient what the adjustment does when a part's value is another: the trimmer that follows.</summary>
    public void Follow(Gradient gradient)
    {
        for (int t = 0; t < _turned.Length; t++)
        {
            if (_turned[t] && gradient.Positions[t] != 0)
            {
                double[] follow = _positionPerValue[t];
                for (int p = 0; p < follow.Length; p++)
                {
                    gradient.Values[p] += gradient.Positions[t] * follow[p];
                }
            }
        }
    }

    /// <summary>Turns the trimmers to where the gradient expects them, so that the adjustment has only the rest to do.</summary>
    private void PredictPositions(UnitState state)
    {
        for (int t = 0; t < _turned.Length; t++)
        {
            if (!_turned[t])
            {
                continue;
            }

            double position = _evaluator.Nominal.Positions[t];
            double[] follow = _positionPerValue[t];
            for (int p = 0; p < follow.Length; p++)
            {
                position += follow[p] * (state.Values[p] - _evaluator.Nominal.Values[p]);
            }

            state.Positions[t] = Math.Clamp(position, 0, 1);
        }
    }

    private double Predict(Gradient gradient, int direction)
    {
        double sum = 0;
        for (int i = 0; i < _parameters.Count; i++)
        {
            double slope = gradient.Values[i] * direction;
            double center = _parameters[i].Quantity.Value;
            sum += slope > 0 ? slope * (_parameters.High(i) - center) : slope * (_parameters.Low(i) - center);
            sum += Math.Abs(gradient.Drifts[i] * _parameters[i].Quantity.Drift);
        }

        return sum * direction;
    }

    /// <summary>A slope that could not be had moves nothing.</summary>
    private static sbyte SignOf(double slope) => slope > 0 ? (sbyte)1 : slope < 0 ? (sbyte)-1 : (sbyte)0;

    private Signs Corner(Gradient gradient, int direction)
    {
        sbyte[] values = new sbyte[_parameters.Count];
        sbyte[] drifts = new sbyte[_parameters.Count];
        for (int i = 0; i < values.Length; i++)
        {
            values[i] = SignOf(gradient.Values[i] * direction);
            drifts[i] = SignOf(gradient.Drifts[i] * direction);
        }

        return new Signs(values, drifts);
    }

    /// <summary>How far each trimmer has to follow each parameter so that every step still reads its target: −J⁻¹ ∂g/∂p, J = ∂g/∂t.</summary>
    private (double[][] PositionPerValue, double[][] PositionPerTarget, bool[] Turned) AdjustmentGradient()
    {
        int trimmers = _evaluator.Model.Trimmers.Length;
        double[][] result = [.. Enumerable.Range(0, trimmers).Select(_ => new double[_parameters.Count])];
        double[][] perTarget = [.. Enumerable.Range(0, trimmers).Select(_ => new double[_evaluator.Adjustment.Length])];
        bool[] turned = new bool[trimmers];
        List<(int Trimmer, int Step, Gradient Gradient)> steps = [];
        for (int number = 0; number < _evaluator.Adjustment.Length; number++)
        {
            AdjustmentOutcome outcome = _evaluator.Adjustment[number];
            int trimmer = _evaluator.Plan.Steps[number].Trimmer;
            if (trimmer < 0 || !outcome.Reached || steps.Any(s => s.Trimmer == trimmer) || _evaluator.MeterGradients[number] is not { } gradient)
            {
                continue;
            }

            _steps[number] = gradient;
            steps.Add((trimmer, number, gradient));
        }

        int k = steps.Count;
        if (k == 0)
        {
            return (result, perTarget, turned);
        }

        double[,] jacobian = new double[k, k];
        for (int i = 0; i < k; i++)
        {
            for (int j = 0; j < k; j++)
            {
                jacobian[i, j] = steps[i].Gradient.Positions[steps[j].Trimmer];
            }
        }

        if (SmallMatrix.Invert(jacobian) is not { } inverse)
        {
            return (result, perTarget, turned);
        }

        for (int j = 0; j < k; j++)
        {
            turned[steps[j].Trimmer] = true;
            for (int i = 0; i < k; i++)
            {
                perTarget[steps[j].Trimmer][steps[i].Step] = inverse[j, i];
            }

            for (int p = 0; p < _parameters.Count; p++)
            {
                double sum = 0;
                for (int i = 0; i < k; i++)
                {
                    sum -= inverse[j, i] * steps[i].Gradient.Values[p];
                }

                result[steps[j].Trimmer][p] = _outside.Contains(p) ? 0 : sum;
            }
        }

        return (result, perTarget, turned);
    }

    private sealed record Signs(sbyte[] Values, sbyte[] Drifts);

    private readonly record struct Candidate(Scenario? Scenario, double Ambient, double Process, double Predicted, Signs Corner);
}
