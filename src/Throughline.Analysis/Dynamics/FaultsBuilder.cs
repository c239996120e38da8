using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Puts one fault after another into the nominal unit and sees what display and loop say.</summary>
internal static class FaultsBuilder
{
    /// <summary>A current this near to a limit of NAMUR NE 43 stands at it, A: what an adjusted output may be wrong by.</summary>
    private const double AtLimit = 20e-6;

    public static FaultTable Build(CheckContext context)
    {
        Specification s = context.Specification;
        return new FaultTable(s.Range.Middle, [.. Fault.All(context.Instrument).Select(f => Judge(context, f))]);
    }

    public static FaultRow Judge(CheckContext context, Fault fault)
    {
        NetworkRun run = new(context.Model.BindFault(fault));
        Specification s = context.Specification;
        FaultEffect worst = FaultEffect.Harmless;
        double display = double.NaN;
        double loop = double.NaN;
        string? remark = null;
        foreach (double x in new[] { s.Range.Low, s.Range.Middle, s.Range.High })
        {
            UnitState state = context.Evaluator.NewState();
            state.Measurand = x;
            ChainPoint point = context.Evaluator.Chain(run, state, limited: true);
            FaultEffect effect = EffectOf(context, run, point);
            worst = Rank(effect) > Rank(worst) ? effect : worst;
            if (x == s.Range.Middle)
            {
                (display, loop, remark) = (point.Display, point.LoopAmperes, point.Remark);
            }
        }

        return new FaultRow(fault.Name, fault.Stage, display, loop, worst, remark, fault.Place);
    }

    private static FaultEffect EffectOf(CheckContext context, NetworkRun run, ChainPoint point)
    {
        if (run.Point is not { Status: SolveStatus.Solved })
        {
            return FaultEffect.Undefined;
        }

        double current = point.LoopAmperes;
        bool hasLoop = !double.IsNaN(current);
        double expected = context.Evaluator.LoopScale?.Forward(point.Measurand) ?? double.NaN;
        bool rightDisplay = context.Model.Converter is null || Math.Abs(point.Display - point.Measurand) <= context.AllowedError;
        bool rightLoop = !hasLoop || Math.Abs(current - expected) <= context.AllowedLoopError;
        if (rightDisplay && rightLoop)
        {
            return FaultEffect.Harmless;
        }

        if (hasLoop && (current <= LoopSignals.FailureLow + AtLimit || current >= LoopSignals.FailureHigh - AtLimit))
        {
            return FaultEffect.Signalled;
        }

        if (!hasLoop && double.IsNaN(point.Display))
        {
            return FaultEffect.Signalled;
        }

        double under = context.Instrument.Loop?.Under?.Value ?? LoopSignals.MeasuringLow;
        double over = context.Instrument.Loop?.Over?.Value ?? LoopSignals.MeasuringHigh;
        return hasLoop && (current <= under + AtLimit || current >= over - AtLimit) ? FaultEffect.AtLimit : FaultEffect.Hidden;
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
