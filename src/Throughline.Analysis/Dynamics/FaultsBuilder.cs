using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Puts one fault after another into the nominal unit and sees what display and loop say.</summary>
internal static class FaultsBuilder
{
    /// <summary>A short that carries more stands between two sources that both insist, A: no part of such an instrument gives as much.</summary>
    private const double Fight = 10;

    public static FaultTable Build(CheckContext context)
    {
        Specification s = context.Specification;
        return new FaultTable(s.Range.Middle, [.. Fault.All(context.Instrument).Select(f => Judge(context, f))]);
    }

    public static FaultRow Judge(CheckContext context, Fault fault) => fault.MissingSupplies.IsEmpty
        ? Judge(context, fault, new NetworkRun(context.Model.BindFault(fault)), (run, state) =>
        {
            ChainPoint point = context.Evaluator.Chain(run, state, limited: true);
            return FightIn(run) is { } fight ? (point with { Remark = fight }, FaultEffect.Undefined) : (point, EffectOf(context, run, point));
        })
        : JudgeMissing(context, fault);

    private static FaultRow Judge(CheckContext context, Fault fault, NetworkRun run, Func<NetworkRun, UnitState, (ChainPoint Point, FaultEffect Effect)> say)
    {
        Specification s = context.Specification;
        FaultEffect worst = FaultEffect.Harmless;
        double display = double.NaN;
        double loop = double.NaN;
        double rail = double.NaN;
        string? remark = null;
        foreach (double x in new[] { s.Range.Low, s.Range.Middle, s.Range.High })
        {
            UnitState state = context.Evaluator.NewState();
            state.Measurand = x;
            (ChainPoint point, FaultEffect effect) = say(run, state);
            worst = Rank(effect) > Rank(worst) ? effect : worst;
            if (x == s.Range.Middle)
            {
                (display, loop, remark) = (point.Display, point.LoopValue, point.Remark);
                rail = fault.MissingSupplies.IsEmpty ? double.NaN : VoltsOf(context, run, fault.MissingSupplies[0]);
            }
        }

        return new FaultRow(fault.Name, fault.Stage, display, loop, worst, remark, fault.Place) { RailVolts = rail };
    }

    /// <summary>Says what a short takes when no circuit would give it; null when it is a circuit's current.</summary>
    private static string? FightIn(NetworkRun run)
    {
        if (run.Point is not { Status: SolveStatus.Solved } point || !run.Bound.Elements.TryGetValue(Fault.ShortElement, out ElementId element))
        {
            return null;
        }

        double amperes = Math.Abs(point.CurrentInto(element, 0));
        return amperes > Fight ? "the short joins two sources that both insist: what gives way is not in the file" : null;
    }

    /// <summary>Who takes current from a rail that is missing stands still: the processor computes nothing, the converters convert nothing, the display is dark.</summary>
    private static FaultRow JudgeMissing(CheckContext context, Fault fault)
    {
        Model model = context.Model;
        Powering powering = Powering.Without(model, fault.MissingSupplies);
        OutputHold hold = model.OutputConverter is { } dac ? powering.HoldOf(dac, isRunning: true, hasWritten: true) : OutputHold.Written;
        fault = fault with { OpenDrive = Powering.IsOpen(hold) };
        bool isDark = !powering.Processor || !powering.Panel;
        string words = string.Join("; ", Words(model, powering, hold));
        return Judge(context, fault, new NetworkRun(model.BindFault(fault)), (run, state) =>
        {
            ChainPoint point = hold switch
            {
                OutputHold.Written => context.Evaluator.Chain(run, state, limited: true),
                _ => Held(context, run, state, hold),
            };
            if (isDark)
            {
                point = point with { Display = double.NaN };
            }

            string? trouble = run.Point is { Status: SolveStatus.Solved } ? null : point.Remark;
            return (point with { Remark = trouble ?? (words.Length == 0 ? point.Remark : words) }, EffectOf(context, run, point, powering, hold));
        });
    }

    /// <summary>The chain with an output converter that nobody writes to.</summary>
    private static ChainPoint Held(CheckContext context, NetworkRun run, UnitState state, OutputHold hold)
    {
        double volts = Powering.VoltsOf(hold, context.Evaluator);
        if (hold == OutputHold.Kept)
        {
            UnitState before = context.Evaluator.NewState();
            before.Measurand = state.Measurand;
            volts = context.Evaluator.Chain(before).DriveVolts;
        }

        ChainPoint point = context.Evaluator.Chain(run, state, limited: true);
        state.DriveVolts = volts;
        OperatingPoint solved = run.Solve(state, limited: true);
        return point with
        {
            DriveVolts = volts,
            LoopValue = Evaluator.LoopValue(run),
            Remark = solved.Status == SolveStatus.Solved ? point.Remark : solved.Trouble,
        };
    }

    private static IEnumerable<string> Words(Model model, Powering powering, OutputHold hold)
    {
        if (!powering.Processor)
        {
            yield return "processor without supply";
        }

        if (model.Converter is { } adc && !powering.Converter)
        {
            yield return $"{adc.Name.Value} without supply";
        }

        if (model.OutputConverter is { } dac && hold != OutputHold.Written)
        {
            yield return $"{dac.Name.Value}: {Powering.Words(hold)}";
        }

        if (!powering.Panel)
        {
            yield return "display dark";
        }
    }

    private static double VoltsOf(CheckContext context, NetworkRun run, string rail)
    {
        Supply supply = context.Instrument.Supplies.First(s => s.Name.Value == rail);
        return run.Point is { Status: SolveStatus.Solved }
            ? Math.Round(Evaluator.Volts(run, rail, supply.Return.Value), 6)
            : double.NaN;
    }

    /// <summary>A display that is dark says nothing wrong; a loop that stands still does.</summary>
    private static FaultEffect EffectOf(CheckContext context, NetworkRun run, ChainPoint point, Powering powering, OutputHold hold)
    {
        bool isDark = !powering.Processor || !powering.Panel;
        FaultEffect effect = EffectOf(context, run, isDark ? point with { Display = point.Measurand } : point);
        return effect == FaultEffect.Undefined ? effect
            : powering is { Processor: true, Converter: false } && effect != FaultEffect.Signalled ? FaultEffect.Undefined
            : hold == OutputHold.Kept && effect == FaultEffect.Harmless ? FaultEffect.Hidden
            : isDark && effect == FaultEffect.Harmless ? FaultEffect.Signalled
            : effect;
    }

    private static FaultEffect EffectOf(CheckContext context, NetworkRun run, ChainPoint point)
    {
        if (run.Point is not { Status: SolveStatus.Solved })
        {
            return FaultEffect.Undefined;
        }

        double value = point.LoopValue;
        bool hasLoop = !double.IsNaN(value);
        double expected = context.Evaluator.LoopScale?.Forward(point.Measurand) ?? double.NaN;
        bool rightDisplay = context.Model.Converter is null || Math.Abs(point.Display - point.Measurand) <= context.AllowedError;
        bool rightLoop = !hasLoop || Math.Abs(value - expected) <= context.AllowedLoopError;
        if (rightDisplay && rightLoop)
        {
            return FaultEffect.Harmless;
        }

        if (hasLoop && context.States.IsFailure(value))
        {
            return FaultEffect.Signalled;
        }

        if (!hasLoop && double.IsNaN(point.Display))
        {
            return FaultEffect.Signalled;
        }

        // What is at a limit of measuring, or beyond it by as much as an adjusted output may be wrong.
        return hasLoop && (value <= context.States.MeasuringLow + context.States.Near || value >= context.States.MeasuringHigh - context.States.Near) ? FaultEffect.AtLimit : FaultEffect.Hidden;
    }

    private static int Rank(FaultEffect effect) => effect switch
    {
        FaultEffect.Harmless => 0,
        FaultEffect.Signalled => 1,
        FaultEffect.AtLimit => 2,
        FaultEffect.Undefined => 3,
        _ => 4,
    };
}
