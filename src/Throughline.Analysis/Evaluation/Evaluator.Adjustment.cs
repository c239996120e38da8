using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <content>The adjustment procedure, performed as it is written.</content>
internal sealed partial class Evaluator
{
    /// <summary>A trimmer that moves by less than this part of its travel has not moved.</summary>
    internal const double Moved = 1e-7;

    /// <summary>A meter within this part of its target has reached it: far below what any meter shows.</summary>
    internal const double Reached = 1e-8;

    /// <summary>Change of each step's meter per whole travel of its trimmer, as found on the nominal unit; 0 until then.</summary>
    private double[] _slopes;

    /// <summary>Longer procedures than anybody performs go by rounds.</summary>
    private const int MostSteps = 32;

    /// <summary>All steps at once; null until it is known that the rounds of the nominal unit end by themselves.</summary>
    private JointAdjustment? _joint;

    private Gradient?[]? _meterGradients;

    private Dictionary<BoundNetwork, NetworkRun> _benches = new(ReferenceEqualityComparer.Instance);

    /// <summary>Change of a step's meter per whole travel of its trimmer on the nominal unit; 0 when not known.</summary>
    internal double AdjustmentSlope(int step) => _slopes[step];

    /// <summary>
    /// How each step's meter moves from where the nominal unit is adjusted, with what the bench is wrong by and where the hand leaves the wiper. Null for a step that turns nothing,
    /// or whose meter can't be read.
    /// </summary>
    internal Gradient?[] MeterGradients => _meterGradients ??= DifferentiateMeters();

    /// <summary>Parameters that the bench holds at their stated value while it adjusts: what comes from outside the unit.</summary>
    private readonly record struct Kept(int Index, double Value);

    /// <summary>
    /// Performs every step in order, again until no step moves another, and leaves the trimmers in the state. Conditions of the
    /// bench are the reference conditions with outside supplies at their stated value; the state's own conditions are put back. Meters and sources
    /// are wrong by what the unit's parameters say, and a wiper rests as far from its place as they say: nothing of either on the nominal unit.
    /// </summary>
    /// <param name="state">The unit; its positions are changed.</param>
    /// <param name="withReadings">Also read every meter in the end, since a later step may have moved what an earlier one set.</param>
    public ImmutableArray<AdjustmentOutcome> Adjust(UnitState state, bool withReadings = false)
    {
        if (Plan.Steps.IsEmpty)
        {
            return [];
        }

        using BenchConditions bench = EnterBench(state);
        AdjustmentOutcome[] outcomes = new AdjustmentOutcome[Plan.Steps.Length];
        if (!withReadings && _joint is { } joint && MeterGradients.All(g => g is not null) && joint.TryTurn(state, bench.Drive, outcomes))
        {
            return [.. outcomes];
        }

        bool isSettled = false;
        for (int round = 0; round < AdjustmentPlan.MostRounds; round++)
        {
            bool moved = false;
            for (int i = 0; i < outcomes.Length; i++)
            {
                PlannedStep step = Plan.Steps[i];
                SetSources(state, step, bench.Drive);
                double before = step.Trimmer < 0 ? 0 : state.Positions[step.Trimmer];
                outcomes[i] = Turn(state, i, step.Trimmer);
                moved |= Math.Abs(outcomes[i].Position - before) > Moved;
            }

            if (!moved || outcomes.Length == 1)
            {
                isSettled = true;
                break;
            }
        }

        // A later step may have moved an earlier one: what counts is what the meters read at the end.
        for (int i = 0; withReadings && i < outcomes.Length; i++)
        {
            PlannedStep step = Plan.Steps[i];
            SetSources(state, step, bench.Drive);
            double reading = MeterReading(state, step.Step);
            outcomes[i] = outcomes[i] with { Reading = reading, Reached = step.IsWithin(step.Shown(state, reading)) };
        }

        if (isSettled && ReferenceEquals(state, Nominal) && outcomes.Length <= MostSteps && CanBeJoint(outcomes))
        {
            _joint = new JointAdjustment(this, [.. Plan.Steps.Select(step => PointOf(state, step, bench.Drive))]);
        }

        return [.. outcomes];
    }

    private Gradient?[] DifferentiateMeters()
    {
        Gradient?[] gradients = new Gradient?[Plan.Steps.Length];
        UnitState state = NewState();
        foreach (PlannedStep step in Plan.Steps)
        {
            if (step.Trimmer < 0 || MeterProbe(step.Step) is not { } meter)
            {
                continue;
            }

            NetworkRun bench = BenchOf(step.Step);
            SetSources(state, step, Nominal.DriveVolts);
            if (bench.Solve(state, limited: false).Status != SolveStatus.Solved)
            {
                continue;
            }

            Gradient gradient = new(Model.Parameters.Count, Model.Trimmers.Length);
            bench.Differentiate(meter, state, gradient);
            AddBench(step, state, meter, gradient);
            gradients[step.Number] = gradient;
        }

        return gradients;
    }

    /// <summary>
    /// Adds to the gradient of a meter's reading what the bench is wrong by, at the point last solved; and where the hand leaves the wiper, which counts as
    /// a reading that is wrong by as much as that.
    /// </summary>
    private void AddBench(PlannedStep step, UnitState state, in Reading meter, Gradient gradient)
    {
        NetworkRun bench = BenchOf(step.Step);
        double reading = bench.Read(meter, state);
        Add(step.MeterError, step.Target);
        Add(step.MeterFixed, 1);
        Add(step.MeterCounts, 1);
        Add(step.Setting, -gradient.Positions[step.Trimmer]);
        foreach (int index in step.Sources.SelectMany(s => new[] { s.Error, s.Fixed }).Where(i => i >= 0).Distinct())
        {
            double limit = Model.Parameters.High(index);
            state.Values[index] = limit;
            SetSources(state, step, Nominal.DriveVolts);
            if (bench.Solve(state, limited: false).Status == SolveStatus.Solved)
            {
                Add(index, (bench.Read(meter, state) - reading) / limit);
            }

            state.Values[index] = 0;
        }

        void Add(int index, double slope)
        {
            if (index >= 0)
            {
                gradient.Values[index] += slope;
            }
        }
    }

    /// <summary>Whether every step turns a trimmer of its own, to its target or to the end nearest to it.</summary>
    private bool CanBeJoint(AdjustmentOutcome[] outcomes) =>
        outcomes.All(o => o.Reached || o.Needed is < 0 or > 1) && Plan.Steps.All(s => s.Trimmer >= 0) && Plan.Steps.Select(s => s.Trimmer).Distinct().Count() == outcomes.Length;

    private OperatingPoint? PointOf(UnitState state, PlannedStep step, double drive)
    {
        SetSources(state, step, drive);
        OperatingPoint point = BenchOf(step.Step).Solve(state, limited: false);
        return point.Status == SolveStatus.Solved ? point.Snapshot() : null;
    }

    /// <summary>Puts a state under the conditions of the bench until what is returned is disposed of.</summary>
    internal BenchConditions EnterBench(UnitState state) => new(this, state);

    /// <summary>The conditions that a state had before it came to the bench.</summary>
    internal readonly struct BenchConditions : IDisposable
    {
        private readonly UnitState _state;
        private readonly (double Ambient, double Process, double Load, double Simulated, double Age) _kept;
        private readonly List<Kept> _supplies;

        internal BenchConditions(Evaluator evaluator, UnitState state)
        {
            _state = state;
            _kept = (state.AmbientCelsius, state.ProcessCelsius, state.Burden, state.SimulatedSignal, state.AgeSeconds);
            Drive = state.DriveVolts;
            _supplies = evaluator.HoldOutsideSupplies(state);
            state.AmbientCelsius = UnitState.ReferenceCelsius;
            state.ProcessCelsius = UnitState.ReferenceCelsius;
            state.AgeSeconds = 0;
            state.Burden = evaluator.Nominal?.Burden ?? state.Burden;
        }

        /// <summary>What the output converter gives where a step does not set it, V.</summary>
        public double Drive { get; }

        public void Dispose()
        {
            (_state.AmbientCelsius, _state.ProcessCelsius, _state.Burden, _state.SimulatedSignal, _state.AgeSeconds) = _kept;
            _state.DriveVolts = Drive;
            foreach (Kept k in _supplies)
            {
                _state.Values[k.Index] = k.Value;
            }
        }
    }

    /// <summary>Sets the sources of a step: the sensor's place, or the output converter. Bench sources are wrong by what the unit's parameters say.</summary>
    internal void SetSources(UnitState state, AdjustmentStep step, double otherwiseDrive) =>
        SetSources(state, Plan.Steps[Instrument.Adjustment.IndexOf(step)], otherwiseDrive);

    /// <inheritdoc cref="SetSources(UnitState, AdjustmentStep, double)"/>
    internal void SetSources(UnitState state, PlannedStep step, double otherwiseDrive)
    {
        state.DriveVolts = otherwiseDrive;
        state.SimulatedSignal = NominalMiddleSignal();
        foreach (PlannedSource source in step.Sources)
        {
            if (source.IsDrive)
            {
                state.DriveVolts = source.Given(state);
            }
            else
            {
                state.SimulatedSignal = source.Given(state);
            }
        }
    }

    internal static bool IsOutputCode(SetSource source) => source.Node.Value is "code" or "output code";

    internal double NominalMiddleSignal() =>
        Instrument.Sensor.NominalSignal(Instrument.Specification.Range.Middle, UnitState.ReferenceCelsius);

    /// <summary>What the meter of a step reads with the state as it is, V or A; NaN when it can't.</summary>
    internal double MeterReading(UnitState state, AdjustmentStep step, bool limited = true)
    {
        NetworkRun run = BenchOf(step);
        OperatingPoint point = run.Solve(state, limited);
        return point.Status != SolveStatus.Solved ? double.NaN : ReadMeter(run, step);
    }

    /// <summary>Runs of the network that a step of the adjustment sees.</summary>
    internal NetworkRun BenchOf(AdjustmentStep step)
    {
        BoundNetwork bound = Model.BenchOf(step);
        if (ReferenceEquals(bound, Model.Bench))
        {
            return Bench;
        }

        if (!_benches.TryGetValue(bound, out NetworkRun? run))
        {
            run = _benches[bound] = new NetworkRun(bound);
            run.BeginAt(Nominal);
        }

        return run;
    }

    /// <summary>The meter of a step in the network that the step sees; null when there is no such place.</summary>
    internal Reading? MeterProbe(AdjustmentStep step)
    {
        BoundNetwork network = Model.BenchOf(step);
        if (step.IsAtLoop)
        {
            return network.Output is { } output ? new Reading(output) : null;
        }

        (string node, string? back) = MeterNodes(step);
        return VoltageProbe(network, node, back) is { } probe ? new Reading(probe) : null;
    }

    internal (string Node, string? Return) MeterNodes(AdjustmentStep step)
    {
        foreach ((_, TestPoint point) in Model.TestPoints)
        {
            if (point.Name.Value == step.Meter.Value)
            {
                return (point.Node.Value, point.Return?.Value);
            }
        }

        return (step.Meter.Value, null);
    }

    private double ReadMeter(NetworkRun run, AdjustmentStep step)
    {
        if (step.IsAtLoop)
        {
            return LoopValue(run);
        }

        (string node, string? back) = MeterNodes(step);
        return Volts(run, node, back);
    }

    private List<Kept> HoldOutsideSupplies(UnitState state)
    {
        List<Kept> kept = [];
        foreach (Parameter p in Model.OutsideSupplies())
        {
            int index = Model.Parameters.IndexOf(p);
            kept.Add(new Kept(index, state.Values[index]));
            state.Values[index] = p.Quantity.Value;
        }

        return kept;
    }

    private AdjustmentOutcome Turn(UnitState state, int number, int trimmer)
    {
        AdjustmentStep step = Plan.Steps[number].Step;
        if (trimmer < 0)
        {
            return new AdjustmentOutcome(step, 0, double.NaN, MeterReading(state, step), false);
        }

        double start = state.Positions[trimmer];
        double needed = FindPosition(state, Plan.Steps[number]);
        double position = double.IsNaN(needed) ? start : Plan.Steps[number].Rest(state, needed);
        state.Positions[trimmer] = position;
        return new AdjustmentOutcome(step, position, needed, double.NaN, false);
    }

    /// <summary>
    /// Secant on the position, the first step by the slope known from the nominal unit; the relation is a ratio of straight lines in it, so that a few
    /// steps settle. Where the target lies beyond an end, the straight line through the end says how far. NaN when the trimmer does not act.
    /// </summary>
    internal double FindPosition(UnitState state, PlannedStep planned)
    {
        (int number, int trimmer) = (planned.Number, planned.Trimmer);
        AdjustmentStep step = planned.Step;
        double target = planned.Wanted(state);
        double close = Reached * Math.Max(Math.Abs(target), step.Target.Tolerance);
        double x0 = Math.Clamp(state.Positions[trimmer], 0, 1);
        double f0 = At(x0);
        if (Math.Abs(f0) <= close)
        {
            return x0;
        }

        const double Nudge = 0.01;
        double x1 = _slopes[number] != 0 ? Math.Clamp(x0 - (f0 / _slopes[number]), 0, 1) : x0;
        if (x1 == x0)
        {
            x1 = x0 > 0.5 ? x0 - Nudge : x0 + Nudge;
        }

        for (int i = 0; i < 30; i++)
        {
            double f1 = At(x1);
            double slope = (f1 - f0) / (x1 - x0);
            if (!double.IsFinite(slope) || slope == 0)
            {
                return double.NaN;
            }

            double next = x1 - (f1 / slope);
            if (Math.Abs(f1) <= close)
            {
                if (_slopes[number] == 0)
                {
                    _slopes[number] = slope;
                }

                // One more step costs no solve and is right to the last digits.
                return next;
            }

            double inside = Math.Clamp(next, 0, 1);
            if (inside != next && (inside == x1 || inside == x0))
            {
                return next;
            }

            (x0, f0) = (x1, f1);
            x1 = inside;
        }

        return double.NaN;

        double At(double position)
        {
            state.Positions[trimmer] = position;

            // Without limits: an amplifier against its rail would hide the way to the target, and headroom is another check's matter.
            return MeterReading(state, step, limited: false) - target;
        }
    }
}
