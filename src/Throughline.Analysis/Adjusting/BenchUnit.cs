using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// One unit on the bench as it was built, whose trimmers somebody turns while looking at the meter: the procedure tried by hand. Its bench is wrong by what the
/// unit's parameters say, as in the virtual batch. Holds buffers; safe on any thread, one at a time.
/// </summary>
public sealed class BenchUnit
{
    private readonly Lock _lock = new();
    private readonly Evaluator _evaluator;
    private readonly UnitState _state;

    private BenchUnit(Evaluator evaluator, UnitState state)
    {
        _evaluator = evaluator;
        _state = state;
        Model model = evaluator.Model;
        for (int t = 0; t < model.Trimmers.Length; t++)
        {
            state.Positions[t] = ((ITrimmer)model.Trimmers[t]).InitialPosition;
        }

        Tasks =
        [
            .. evaluator.Plan.Steps.Select(s => new BenchTask(
                s.Step,
                s.Trimmer < 0 ? null : (ITrimmer)model.Trimmers[s.Trimmer],
                s.Step.MeterUnit,
                s.Target,
                s.Tolerance,
                s.Count)),
        ];
    }

    /// <summary>A unit of nominal parts.</summary>
    public static BenchUnit Of(Instrument instrument)
    {
        Evaluator evaluator = new(Model.Compile(instrument));
        return new BenchUnit(evaluator, evaluator.NewState());
    }

    /// <summary>A unit of a virtual batch.</summary>
    /// <param name="unit">Its number, from 0.</param>
    public static BenchUnit OfUnit(Instrument instrument, BatchOptions options, long unit)
    {
        LifePlan plan = LifePlan.Create(Model.Compile(instrument));
        UnitLife life = BatchRunner.RunOne(plan, options, unit);
        Evaluator evaluator = plan.CreateEvaluator();
        UnitState state = evaluator.NewState();
        state.CopyLane(life.Block, 0);
        return new BenchUnit(evaluator, state);
    }

    /// <summary>The steps, in the order of the procedure.</summary>
    public ImmutableArray<BenchTask> Tasks { get; }

    /// <summary>Where the trimmer of a step stands, 0 to 1; NaN without one.</summary>
    public double PositionAt(int step)
    {
        lock (_lock)
        {
            int trimmer = _evaluator.Plan.Steps[step].Trimmer;
            return trimmer < 0 ? double.NaN : _state.Positions[trimmer];
        }
    }

    /// <summary>Turns the trimmer of a step.</summary>
    /// <param name="position">0 to 1; what lies beyond is its end.</param>
    public void Turn(int step, double position)
    {
        lock (_lock)
        {
            int trimmer = _evaluator.Plan.Steps[step].Trimmer;
            if (trimmer >= 0 && !double.IsNaN(position))
            {
                _state.Positions[trimmer] = Math.Clamp(position, 0, 1);
            }
        }
    }

    /// <summary>What the meter of a step shows with its sources set and every trimmer as it stands.</summary>
    public BenchMeter Read(int step)
    {
        lock (_lock)
        {
            PlannedStep planned = _evaluator.Plan.Steps[step];
            using Evaluator.BenchConditions bench = _evaluator.EnterBench(_state);
            _evaluator.SetSources(_state, planned, bench.Drive);
            double truth = _evaluator.MeterReading(_state, planned.Step);
            double shown = planned.Shown(_state, truth);
            NetworkRun run = _evaluator.BenchOf(planned.Step);
            string? remark = run.Point is { Status: SolveStatus.Solved } point ? Evaluator.LimitRemark(run, point) : "the circuit has no operating point";
            return new BenchMeter(planned.Count > 0 ? Math.Round(shown / planned.Count) * planned.Count : shown, planned.IsWithin(shown), remark);
        }
    }

    /// <summary>Goes through the procedure as a practised person does.</summary>
    /// <returns>Passes in which something was turned.</returns>
    public int AdjustAll()
    {
        lock (_lock)
        {
            return new BenchAdjuster(_evaluator).Adjust(_state).Rounds;
        }
    }
}

/// <summary>One step of the procedure as the bench sees it.</summary>
/// <param name="Trimmer">What is turned; null when the file has no trimmer of that name.</param>
/// <param name="Unit">Of target, tolerance and meter: V or A.</param>
/// <param name="Count">One step of the meter's last digit; 0 when not known.</param>
public sealed record BenchTask(AdjustmentStep Step, ITrimmer? Trimmer, string Unit, double Target, double Tolerance, double Count);

/// <summary>What a meter shows.</summary>
/// <param name="Shown">V or A, in whole digits; NaN when the circuit has no operating point.</param>
/// <param name="IsReached">Whether it is within the tolerance of the target.</param>
/// <param name="Remark">What is not as it should be; null when all is.</param>
public sealed record BenchMeter(double Shown, bool IsReached, string? Remark);
