using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <content>The adjustment procedure, performed as it is written.</content>
internal sealed partial class Evaluator
{
    private const int AdjustmentRounds = 8;

    /// <summary>A meter within this part of its target has reached it: far below what any meter shows.</summary>
    private const double Reached = 1e-8;

    /// <summary>Change of each step's meter per whole travel of its trimmer, as found on the nominal unit; 0 until then.</summary>
    private readonly double[] _slopes;

    /// <summary>Parameters that the bench holds at their stated value while it adjusts: what comes from outside the unit.</summary>
    private readonly record struct Kept(int Index, double Value);

    /// <summary>
    /// Performs every step in order, again until no step moves another out of tolerance, and leaves the trimmers in the state. Conditions of the
    /// bench are the reference conditions with outside supplies at their stated value; the state's own conditions are put back.
    /// </summary>
    /// <param name="state">The unit; its positions are changed.</param>
    /// <param name="withReadings">Also read every meter in the end, since a later step may have moved what an earlier one set.</param>
    public ImmutableArray<AdjustmentOutcome> Adjust(UnitState state, bool withReadings = false)
    {
        if (Instrument.Adjustment.IsEmpty)
        {
            return [];
        }

        (double ambient, double process, double load, double drive, double simulated, double age) =
            (state.AmbientCelsius, state.ProcessCelsius, state.LoadOhms, state.DriveVolts, state.SimulatedSignal, state.AgeSeconds);
        List<Kept> kept = HoldOutsideSupplies(state);
        state.AmbientCelsius = UnitState.ReferenceCelsius;
        state.ProcessCelsius = UnitState.ReferenceCelsius;
        state.AgeSeconds = 0;
        state.LoadOhms = Nominal?.LoadOhms ?? load;
        AdjustmentOutcome[] outcomes = new AdjustmentOutcome[Instrument.Adjustment.Length];
        for (int round = 0; round < AdjustmentRounds; round++)
        {
            bool moved = false;
            for (int i = 0; i < outcomes.Length; i++)
            {
                AdjustmentStep step = Instrument.Adjustment[i];
                SetSources(state, step, drive);
                int trimmer = Model.TrimmerIndex(step.Turn.Value);
                double before = trimmer < 0 ? 0 : state.Positions[trimmer];
                outcomes[i] = Turn(state, i, trimmer);
                moved |= Math.Abs(outcomes[i].Position - before) > 1e-7;
            }

            if (!moved || outcomes.Length == 1)
            {
                break;
            }
        }

        // A later step may have moved an earlier one: what counts is what the meters read at the end.
        for (int i = 0; withReadings && i < outcomes.Length; i++)
        {
            AdjustmentStep step = Instrument.Adjustment[i];
            SetSources(state, step, drive);
            double reading = MeterReading(state, step);
            outcomes[i] = outcomes[i] with { Reading = reading, Reached = IsWithin(step.Target, reading) };
        }

        (state.AmbientCelsius, state.ProcessCelsius, state.LoadOhms, state.DriveVolts, state.SimulatedSignal, state.AgeSeconds) =
            (ambient, process, load, drive, simulated, age);
        foreach (Kept k in kept)
        {
            state.Values[k.Index] = k.Value;
        }

        return [.. outcomes];
    }

    /// <summary>Sets the sources of a step: the sensor's place, or the output converter.</summary>
    internal void SetSources(UnitState state, AdjustmentStep step, double otherwiseDrive)
    {
        state.DriveVolts = otherwiseDrive;
        state.SimulatedSignal = NominalMiddleSignal();
        foreach (SetSource source in step.With)
        {
            if (IsOutputCode(source))
            {
                state.DriveVolts = source.Value.Value * VoltsPerOutputCode;
            }
            else if (Model.OutputConverter is { } dac && source.Node.Value == dac.Output.Value)
            {
                state.DriveVolts = source.Value.Value;
            }
            else
            {
                state.SimulatedSignal = IsReversed(source) ? -source.Value.Value : source.Value.Value;
            }
        }
    }

    /// <summary>The bench's leads go to the node that the step names, whichever way round the sensor is connected.</summary>
    private bool IsReversed(SetSource source) =>
        Instrument.Sensor.SignalKind == SignalKind.Voltage
        && Instrument.Sensor.Terminals.Length > 1
        && Instrument.Sensor.Terminals[1].Node.Value == source.Node.Value;

    internal static bool IsOutputCode(SetSource source) => source.Node.Value is "code" or "output code";

    internal double NominalMiddleSignal() =>
        Instrument.Sensor.NominalSignal(Instrument.Specification.Range.Middle, UnitState.ReferenceCelsius);

    /// <summary>What the meter of a step reads with the state as it is, V or A; NaN when it can't.</summary>
    internal double MeterReading(UnitState state, AdjustmentStep step, bool limited = true)
    {
        OperatingPoint point = Bench.Solve(state, limited);
        return point.Status != SolveStatus.Solved ? double.NaN : ReadMeter(Bench, step);
    }

    internal Reading? MeterProbe(BoundNetwork network, AdjustmentStep step)
    {
        if (step.Meter.Value == "loop")
        {
            return Instrument.Loop is null ? null : new Reading(LoopProbe(network));
        }

        (string node, string? back) = MeterNodes(step);
        return VoltageProbe(network, node, back) is { } probe ? new Reading(probe) : null;
    }

    internal (string Node, string? Return) MeterNodes(AdjustmentStep step)
    {
        foreach ((_, TestPoint point) in TestPoints)
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
        if (step.Meter.Value == "loop")
        {
            return LoopAmperes(run);
        }

        (string node, string? back) = MeterNodes(step);
        return Volts(run, node, back);
    }

    private static bool IsWithin(Quantity target, double reading)
    {
        double tolerance = target.Tolerance > 0 ? target.Tolerance : 1e-3 * Math.Max(Math.Abs(target.Value), 1e-3);
        return Math.Abs(reading - target.Value) <= tolerance;
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
        AdjustmentStep step = Instrument.Adjustment[number];
        if (trimmer < 0)
        {
            return new AdjustmentOutcome(step, 0, double.NaN, MeterReading(state, step), false);
        }

        double start = state.Positions[trimmer];
        double needed = FindPosition(state, number, trimmer);
        double position = double.IsNaN(needed) ? start : Math.Clamp(needed, 0, 1);
        state.Positions[trimmer] = position;
        return new AdjustmentOutcome(step, position, needed, double.NaN, false);
    }

    /// <summary>
    /// Secant on the position, the first step by the slope known from the nominal unit; the relation is a ratio of straight lines in it, so that a few
    /// steps settle. Where the target lies beyond an end, the straight line through the end says how far. NaN when the trimmer does not act.
    /// </summary>
    private double FindPosition(UnitState state, int number, int trimmer)
    {
        AdjustmentStep step = Instrument.Adjustment[number];
        double target = step.Target.Value;
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

                return x1;
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
