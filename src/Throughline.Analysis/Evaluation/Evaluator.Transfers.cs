using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <content>What the stages are meant to do, from their intents, or, where none is said, what they do on the nominal unit.</content>
internal sealed partial class Evaluator
{
    private const int SamplePoints = 33;

    /// <summary>What a stage is driven by when it is looked at alone.</summary>
    internal enum DriveKind
    {
        /// <summary>The bench's source in the sensor's place.</summary>
        Signal,

        /// <summary>The output converter's voltage.</summary>
        Converter,
    }

    internal DriveKind DriveOf(CircuitStage stage) =>
        Model.OutputConverter is not null && Model.OutputStages.Contains(stage) ? DriveKind.Converter : DriveKind.Signal;

    /// <summary>The nodes of a stage's incoming signal: its own words, else the sensor's, the output converter's or the stage before it.</summary>
    internal (string Node, string? Return) IncomingNodes(CircuitStage stage)
    {
        if (stage.From is { } from)
        {
            return (from.Value, stage.FromReturn?.Value);
        }

        ImmutableArray<CircuitStage> row = DriveOf(stage) == DriveKind.Converter ? Model.OutputStages : Model.InputStages;
        int index = row.IndexOf(stage);
        if (index > 0 && row[index - 1].To is { } before)
        {
            return (before.Value, row[index - 1].ToReturn?.Value);
        }

        if (DriveOf(stage) == DriveKind.Converter)
        {
            return (Model.OutputConverter!.Output.Value, Model.OutputConverter.OutputReturn?.Value);
        }

        ImmutableArray<Terminal> terminals = Instrument.Sensor.Terminals;
        return (terminals[0].Node.Value, terminals.Length > 1 ? terminals[1].Node.Value : null);
    }

    internal (string? Node, string? Return) OutgoingNodes(CircuitStage stage)
    {
        if (stage.To is { } to)
        {
            return (to.Value, stage.ToReturn?.Value);
        }

        return Model.InputStages.LastOrDefault() == stage && Model.Converter is { } adc ? (adc.Input.Value, adc.InputReturn?.Value) : (null, null);
    }

    /// <summary>Whether the first value of the stage's intent is the sensor's signal itself rather than a voltage between the incoming nodes.</summary>
    internal bool IntentIsSignal(CircuitStage stage) =>
        DriveOf(stage) == DriveKind.Signal && !stage.Intent.IsEmpty
        && Model.InputStages.FirstOrDefault() == stage
        && stage.Intent[0].From.Dimension != Dimension.Voltage;

    /// <summary>Reads what comes in: the signal set, or the voltage between the incoming nodes.</summary>
    internal double ReadIncoming(CircuitStage stage, UnitState state)
    {
        if (IntentIsSignal(stage))
        {
            return state.SimulatedSignal;
        }

        (string node, string? back) = IncomingNodes(stage);
        return Volts(Bench, node, back);
    }

    internal double ReadOutgoing(CircuitStage stage)
    {
        (string? node, string? back) = OutgoingNodes(stage);
        return node switch
        {
            null => double.NaN,
            Loop.Word => LoopValue(Bench),
            _ => Volts(Bench, node, back),
        };
    }

    /// <summary>Ends of what drives a stage over the measuring range: the sensor's signal, or the output converter's voltage.</summary>
    internal (double Low, double High) DriveRange(CircuitStage stage)
    {
        if (DriveOf(stage) == DriveKind.Converter)
        {
            return (0, NominalOutputReference * Model.OutputConverter!.Gain);
        }

        return SignalRange();
    }

    /// <summary>The nominal sensor's signal at the ends of the measuring range.</summary>
    internal (double AtLow, double AtHigh) SignalRange()
    {
        Specification s = Instrument.Specification;
        return (Instrument.Sensor.NominalSignal(s.Range.Low, UnitState.ReferenceCelsius), Instrument.Sensor.NominalSignal(s.Range.High, UnitState.ReferenceCelsius));
    }

    internal void SetDrive(UnitState state, CircuitStage stage, double value)
    {
        if (DriveOf(stage) == DriveKind.Converter)
        {
            state.DriveVolts = value;
        }
        else
        {
            state.SimulatedSignal = value;
        }
    }

    /// <summary>Sets the drive so that the stage's incoming signal has a value, and returns what goes out; NaN when no drive does.</summary>
    internal double OutgoingAt(CircuitStage stage, UnitState state, double incoming, bool limited = false)
    {
        (double low, double high) = DriveRange(stage);
        double x0 = IntentIsSignal(stage) || DriveOf(stage) == DriveKind.Converter ? incoming : low;
        double f0 = At(x0);
        double x1 = x0;
        double f1 = f0;
        double scale = Math.Max(Math.Abs(incoming), Math.Abs(high - low) * 1e-3);
        if (Math.Abs(f0) > 1e-10 * scale)
        {
            x1 = x0 + Math.Max(Math.Abs(high - low) * 0.01, 1e-9);
            f1 = At(x1);
            for (int i = 0; i < 20 && Math.Abs(f1) > 1e-10 * scale; i++)
            {
                double slope = (f1 - f0) / (x1 - x0);
                if (!double.IsFinite(slope) || slope == 0)
                {
                    return double.NaN;
                }

                (x0, f0) = (x1, f1);
                x1 -= f1 / slope;
                f1 = At(x1);
            }
        }

        return Math.Abs(f1) <= 1e-6 * scale ? ReadOutgoing(stage) : double.NaN;

        double At(double drive)
        {
            SetDrive(state, stage, drive);
            OperatingPoint point = Bench.Solve(state, limited);
            return point.Status == SolveStatus.Solved ? ReadIncoming(stage, state) - incoming : double.NaN;
        }
    }

    private Transfer? CreateInputTransfer()
    {
        if (Model.Converter is not { } adc)
        {
            return null;
        }

        ImmutableArray<CircuitStage> stages = Model.InputStages;
        (double atLow, double atHigh) = SignalRange();
        if (!double.IsFinite(atLow) || !double.IsFinite(atHigh))
        {
            return null;
        }

        if (stages.Length > 0 && stages.All(s => s.Intent.Length >= 2))
        {
            List<Line> lines = [];
            if (stages[0].Intent[0].From.Dimension == Dimension.Voltage && Instrument.Sensor.SignalKind is not SignalKind.Voltage)
            {
                // The intent speaks of the voltage that the sensor makes in its circuit; the code needs the sensor's own signal.
                if (Sample(atLow, atHigh, DriveKind.Signal, () => ReadIncoming(stages[0], Nominal)) is not { } own)
                {
                    return null;
                }

                lines.Add(own);
            }

            foreach (CircuitStage stage in stages)
            {
                if (Line.TryCreate(stage.Intent.Select(p => (p.From.Value, p.To.Value))) is not { } line)
                {
                    return null;
                }

                lines.Add(line);
            }

            return new Transfer([.. lines]);
        }

        Line? sampled = Sample(atLow, atHigh, DriveKind.Signal, () => Volts(Bench, adc.Input.Value, adc.InputReturn?.Value));
        return sampled is null ? null : new Transfer([sampled]);
    }

    private Transfer? CreateOutputTransfer()
    {
        if (Instrument.Loop is null)
        {
            return null;
        }

        ImmutableArray<CircuitStage> stages = Model.OutputStages;
        if (stages.Length > 0 && stages.All(s => s.Intent.Length >= 2) && EndsInOutput(stages[^1]))
        {
            List<Line> lines = [];
            foreach (CircuitStage stage in stages)
            {
                if (Line.TryCreate(stage.Intent.Select(p => (p.From.Value, p.To.Value))) is not { } line)
                {
                    return null;
                }

                lines.Add(line);
            }

            return new Transfer([.. lines]);
        }

        DriveKind kind = Model.OutputConverter is null ? DriveKind.Signal : DriveKind.Converter;
        (double low, double high) = kind == DriveKind.Converter ? (0, NominalOutputReference * Model.OutputConverter!.Gain) : SignalRange();
        Line? sampled = Sample(low, high, kind, () => LoopValue(Bench));
        return sampled is null ? null : new Transfer([sampled]);
    }

    /// <summary>Whether a stage goes out where the receiver is: into the loop, or at the terminals of a voltage.</summary>
    internal bool EndsInOutput(CircuitStage stage) =>
        stage.To is { } to && (Instrument.Loop is { Signal.IsVoltage: true } output
            ? to.Value == output.Plus.Value && (stage.ToReturn is null || stage.ToReturn.Value.Value == output.Minus.Value)
            : to.Value == Loop.Word);

    /// <summary>What the nominal unit does between two ends of its drive, amplifiers without limits so that a limit does not become an intention.</summary>
    private Line? Sample(double low, double high, DriveKind kind, Func<double> read)
    {
        UnitState state = NewState();
        List<(double, double)> points = [];
        for (int i = 0; i < SamplePoints; i++)
        {
            double x = low + ((high - low) * i / (SamplePoints - 1));
            if (kind == DriveKind.Converter)
            {
                state.DriveVolts = x;
            }
            else
            {
                state.SimulatedSignal = x;
            }

            if (Bench.Solve(state, limited: false).Status != SolveStatus.Solved)
            {
                return null;
            }

            points.Add((x, read()));
        }

        return Line.TryCreate(points);
    }
}
