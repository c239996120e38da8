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
        Supply? processorRail = RailOf(instrument, processor?.Name.Value);
        Supply? converterRail = RailOf(instrument, dac.Name.Value);
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
            bool isPowered = converterRail is null || !missing.Contains(converterRail.Name.Value);
            ResetOutput output = isPowered ? dac.AtReset : ResetOutput.Open;
            string words = !isPowered ? "without supply" : output switch { ResetOutput.Middle => "middle code", ResetOutput.Open => "open", _ => "code 0" };
            phases.Add(new StartPhase(from, i + 1 < times.Length ? times[i + 1] : firstCode, missing, words, Loop(context, missing, output)));
        }

        return [.. phases];
    }

    /// <summary>Whether the rail at its lowest is below what the processor needs to leave reset.</summary>
    public static bool NeverStarts(ArithmeticStage? processor, Supply? rail) =>
        processor?.ResetsBelow is { } threshold && rail is not null && Math.Abs(rail.Voltage.Quantity.Value) - rail.Voltage.Quantity.Tolerance < threshold.High;

    /// <summary>The supply whose draws name a consumer; null when none does.</summary>
    public static Supply? RailOf(Instrument instrument, string? consumer) =>
        instrument.Supplies.FirstOrDefault(s => s.Draws.Any(d => d.Name.Value == consumer));

    private static bool IsStated(Instrument instrument) =>
        instrument.Supplies.Any(s => s.StartsIn is not null) || instrument.Stages.OfType<ArithmeticStage>().Any(a => a.StartsIn is not null || a.ResetsBelow is not null);

    private static double UpAfter(Instrument instrument, Supply supply) =>
        (supply.StartsIn?.Value ?? 0) + (instrument.Supplies.FirstOrDefault(s => s.Name.Value == supply.From?.Value) is { } from ? UpAfter(instrument, from) : 0);

    private static double Loop(CheckContext context, ImmutableArray<string> missing, ResetOutput output)
    {
        Fault phase = new("start-up", "supplies", default) { MissingSupplies = missing, OpenDrive = output == ResetOutput.Open };
        NetworkRun run = new(context.Model.BindFault(phase));
        UnitState state = context.Evaluator.NewState();
        state.Measurand = context.Specification.Range.Middle;
        int bits = context.Model.OutputConverter!.Bits;
        state.DriveVolts = output == ResetOutput.Middle ? Math.ScaleB(1, bits - 1) * context.Evaluator.VoltsPerOutputCode : 0;
        return run.Solve(state, limited: true).Status == SolveStatus.Solved ? context.Evaluator.LoopAmperes(run) : double.NaN;
    }
}
