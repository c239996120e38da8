using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What the loop carries from power on to the first code that the processor writes.</summary>
internal static class StartSurvey
{
    public static ImmutableArray<StartPhase> Build(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        if (instrument.Loop is null || context.Model.OutputConverter is not { } dac || !IsStated(instrument))
        {
            return [];
        }

        Dictionary<string, double> up = instrument.Supplies.ToDictionary(s => s.Name.Value, s => UpAfter(instrument, s));
        ArithmeticStage? processor = context.Model.Arithmetic;
        Supply? processorRail = Powering.RailOf(instrument, processor?.Name.Value);
        double firstCode = (processorRail is null ? 0 : up[processorRail.Name.Value]) + (processor?.StartsIn?.Value ?? 0);
        firstCode = Math.Max(firstCode, up.Values.Max());
        if (NeverStarts(processor, processorRail))
        {
            firstCode = double.PositiveInfinity;
        }

        double[] times = [.. up.Values.Append(0).Where(t => t < firstCode).Distinct().Order()];
        List<StartPhase> phases = [];
        for (int i = 0; i < times.Length; i++)
        {
            double from = times[i];
            ImmutableArray<string> missing = [.. instrument.Supplies.Select(s => s.Name.Value).Where(s => up[s] > from)];
            OutputHold hold = Powering.Without(context.Model, missing).HoldOf(dac, isRunning: false, hasWritten: false);
            phases.Add(new StartPhase(from, i + 1 < times.Length ? times[i + 1] : firstCode, missing, Powering.Words(hold), Loop(context, missing, hold)));
        }

        return [.. phases];
    }

    /// <summary>Whether the rail at its lowest is below what the processor needs to leave reset.</summary>
    public static bool NeverStarts(ArithmeticStage? processor, Supply? rail) =>
        processor?.ResetsBelow is { } threshold && rail is not null && Math.Abs(rail.Voltage.Quantity.Value) - rail.Voltage.Quantity.Tolerance < threshold.High;

    /// <summary>Whether the file says anything of starting and reset.</summary>
    public static bool IsStated(Instrument instrument) =>
        instrument.Supplies.Any(s => s.StartsIn is not null) || instrument.Stages.OfType<ArithmeticStage>().Any(a => a.StartsIn is not null || a.ResetsBelow is not null);

    private static double UpAfter(Instrument instrument, Supply supply) =>
        (supply.StartsIn?.Value ?? 0) + (instrument.Supplies.FirstOrDefault(s => s.Name.Value == supply.From?.Value) is { } from ? UpAfter(instrument, from) : 0);

    private static double Loop(CheckContext context, ImmutableArray<string> missing, OutputHold hold)
    {
        Fault phase = new("start-up", "supplies", default) { MissingSupplies = missing, OpenDrive = Powering.IsOpen(hold) };
        NetworkRun run = new(missing.IsEmpty && !phase.OpenDrive ? context.Model.Field : context.Model.BindFault(phase));
        UnitState state = context.Evaluator.NewState();
        state.Measurand = context.Specification.Range.Middle;
        state.DriveVolts = Powering.VoltsOf(hold, context.Evaluator);
        return run.Solve(state, limited: true).Status == SolveStatus.Solved ? Evaluator.LoopValue(run) : double.NaN;
    }
}
