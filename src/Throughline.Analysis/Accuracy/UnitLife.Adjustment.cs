using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <content>The adjustment of a block of units as <see cref="BenchAdjuster"/> performs it on one, all units of the block together.</content>
internal sealed partial class UnitLife
{
    private const int MostTurns = 30;

    private readonly ImmutableArray<BenchStep> _steps;
    private readonly bool[] _isBusy;

    /// <summary>Passes in which something was turned; 0 without a procedure.</summary>
    public int[] Rounds { get; }

    /// <summary>Whether each step's meter showed its target within the tolerance in the end.</summary>
    public ReadOnlySpan<bool> Reached(int step) => _steps[step].IsReached;

    /// <summary>What each step's meter showed in the end, V or A.</summary>
    public ReadOnlySpan<double> MeterReadings(int step) => _steps[step].Shown;

    private void Adjust(TestConditions conditions, int count)
    {
        Array.Clear(Rounds);
        if (_steps.IsEmpty)
        {
            return;
        }

        SetConditions(conditions, count);
        _block.Condition(UnitState.Of.Process).Fill(UnitState.ReferenceCelsius);
        _isBusy.AsSpan(0, count).Fill(true);
        for (int round = 0; round < AdjustmentPlan.MostRounds && _isBusy.AsSpan(0, count).Contains(true); round++)
        {
            foreach (BenchStep step in _steps)
            {
                step.Perform(isFirst: round == 0, count);
            }

            for (int lane = 0; lane < count; lane++)
            {
                // A unit in whose pass nothing was turned is done.
                _isBusy[lane] = _isBusy[lane] && IsAnyTurned(lane);
                Rounds[lane] += _isBusy[lane] ? 1 : 0;
            }
        }

        foreach (BenchStep step in _steps)
        {
            step.ReadMeter(count);
        }
    }

    private bool IsAnyTurned(int lane)
    {
        foreach (BenchStep step in _steps)
        {
            if (step.IsTurned[lane])
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>One step of the procedure in every unit of the block.</summary>
    private sealed class BenchStep
    {
        private readonly UnitLife _life;
        private readonly PlannedStep _step;
        private readonly Station? _free;
        private readonly Station? _limited;
        private readonly double _slope;
        private readonly double[] _wanted;
        private readonly double[] _at;
        private readonly double[] _error;
        private readonly double[] _before;
        private readonly double[] _ideal;
        private readonly bool[] _needsTurning;
        private readonly bool[] _isSearching;

        public BenchStep(UnitLife life, int number)
        {
            _life = life;
            IsReached = new bool[life.Lanes];
            IsTurned = new bool[life.Lanes];
            Shown = new double[life.Lanes];
            _wanted = new double[life.Lanes];
            _at = new double[life.Lanes];
            _error = new double[life.Lanes];
            _before = new double[life.Lanes];
            _ideal = new double[life.Lanes];
            _needsTurning = new bool[life.Lanes];
            _isSearching = new bool[life.Lanes];
            Evaluator evaluator = life._evaluator;
            _step = evaluator.Plan.Steps[number];
            BenchPlan plan = life.Plan.Bench[number];
            _free = plan.Free?.CreateStation(evaluator, life.Lanes, life._isCompiled);
            _limited = plan.Limited?.CreateStation(evaluator, life.Lanes, life._isCompiled);
            _slope = evaluator.AdjustmentSlope(number);
        }

        public bool[] IsReached { get; }

        /// <summary>Whether the last pass turned the trimmer.</summary>
        public bool[] IsTurned { get; }

        public double[] Shown { get; }

        /// <summary>Turns the trimmer in every unit that is still busy; after the first pass, only where the meter shows that it is needed.</summary>
        public void Perform(bool isFirst, int count)
        {
            Array.Clear(IsTurned);
            if (_step.Trimmer < 0 || _free is null || !_life._isBusy.AsSpan(0, count).Contains(true))
            {
                return;
            }

            Span<double> positions = _life._block.PositionsOf(_step.Trimmer)[..count];
            positions.CopyTo(_before);
            Search(positions, isFirst, count);
            for (int lane = 0; lane < count; lane++)
            {
                // What could not be found leaves the trimmer where it was, as does what needs no turning.
                _life._block.Lane = lane;
                positions[lane] = !_needsTurning[lane] || double.IsNaN(_ideal[lane]) ? _before[lane] : _step.Rest(_life._block, _ideal[lane]);
                IsTurned[lane] = (_needsTurning[lane] && isFirst) || Math.Abs(positions[lane] - _before[lane]) > Evaluator.Moved;
            }
        }

        /// <summary>Reads the meter in every unit, amplifiers with their limits.</summary>
        public void ReadMeter(int count)
        {
            if (_limited is null)
            {
                Shown.AsSpan().Fill(double.NaN);
                Array.Clear(IsReached);
                return;
            }

            SetSources(count);
            _limited.Prepare(_life._block, count);
            _limited.Solve(_life._block, count);
            Span<double> truth = _limited.Reading(0);
            for (int lane = 0; lane < count; lane++)
            {
                _life._block.Lane = lane;
                Shown[lane] = _step.Shown(_life._block, truth[lane]);
                IsReached[lane] = _step.IsWithin(Shown[lane]);
            }
        }

        private void SetSources(int count)
        {
            UnitState block = _life._block;
            double drive = _life._evaluator.Nominal.DriveVolts;
            for (int lane = 0; lane < count; lane++)
            {
                block.Lane = lane;
                _life._evaluator.SetSources(block, _step, drive);
            }
        }

        /// <summary>
        /// The secant method, as for one unit, in all units together; a unit that has arrived stays where it is. Finds the ideal position, which may lie beyond an end,
        /// or NaN where there is none.
        /// </summary>
        private void Search(Span<double> positions, bool isFirst, int count)
        {
            const double Nudge = 0.01;
            UnitState block = _life._block;
            SetSources(count);
            _free!.Prepare(block, count);
            _free.Solve(block, count);
            Span<double> reading = _free.Reading(0);
            for (int lane = 0; lane < count; lane++)
            {
                block.Lane = lane;
                _needsTurning[lane] = _life._isBusy[lane] && (isFirst || !_step.IsWithin(_step.Shown(block, reading[lane])));
                _isSearching[lane] = _needsTurning[lane];
                _ideal[lane] = double.NaN;
                if (!_isSearching[lane])
                {
                    continue;
                }

                _wanted[lane] = _step.Wanted(block);
                double x = Math.Clamp(positions[lane], 0, 1);
                double error = reading[lane] - _wanted[lane];
                (_at[lane], _error[lane]) = (x, error);
                if (Math.Abs(error) <= Close(lane))
                {
                    Arrive(lane, x);
                    continue;
                }

                double next = _slope != 0 ? Math.Clamp(x - (error / _slope), 0, 1) : x;
                positions[lane] = next == x ? (x > 0.5 ? x - Nudge : x + Nudge) : next;
            }

            for (int turn = 0; turn < MostTurns && _isSearching.AsSpan(0, count).Contains(true); turn++)
            {
                _free.Solve(block, count);
                for (int lane = 0; lane < count; lane++)
                {
                    if (_isSearching[lane])
                    {
                        positions[lane] = Next(lane, positions[lane], reading[lane] - _wanted[lane]);
                    }
                }
            }
        }

        private void Arrive(int lane, double ideal)
        {
            _ideal[lane] = ideal;
            _isSearching[lane] = false;
        }

        private double Close(int lane) => Evaluator.Reached * Math.Max(Math.Abs(_wanted[lane]), _step.Step.Target.Tolerance);

        /// <summary>The position at which one unit is looked at next; where it has arrived, it stays.</summary>
        private double Next(int lane, double x, double error)
        {
            double slope = (error - _error[lane]) / (x - _at[lane]);
            if (!double.IsFinite(slope) || slope == 0)
            {
                Arrive(lane, double.NaN);
                return x;
            }

            double next = x - (error / slope);
            if (Math.Abs(error) <= Close(lane))
            {
                // One more step costs no solve and is right to the last digits.
                Arrive(lane, next);
                return x;
            }

            double inside = Math.Clamp(next, 0, 1);
            if (inside != next && (inside == x || inside == _at[lane]))
            {
                // The straight line through the end says how far beyond it the target lies.
                Arrive(lane, next);
                return x;
            }

            (_at[lane], _error[lane]) = (x, error);
            return inside;
        }
    }
}
