using System.Numerics;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>The sensor stands on ground in the process, the loop on ground at the receiver: what the voltage between the two does to the reading.</summary>
internal static class GroundSurvey
{
    public static GroundShift? Build(CheckContext context)
    {
        if (context.Instrument.Isolation is not { Grounded: var (process, receiver) } needs || context.Observed is null)
        {
            return null;
        }

        double volts = needs.GroundDifference?.Value ?? 0;
        UnitState state = context.Evaluator.NewState();
        state.Measurand = context.Specification.Range.Middle;
        context.Evaluator.Chain(state);
        double perUnit = context.MeasurandPerVolt(state.Measurand);
        bool isDirect = needs.GroundHertz == 0;
        double peak = isDirect ? volts : volts * Math.Sqrt(2);
        (double reading, double loop) = Read(context, new NetworkRun(context.Model.Field), state);

        NetworkRun isolated = new(context.Model.BindGrounds(new GroundPath(process.Value, receiver.Value, isDirect ? volts : 0, IsIsolated: true)));
        (double withReading, double withLoop) = Read(context, isolated, state);
        (double shift, double loopShift) = (withReading - reading, withLoop - loop);
        double leakage = Math.Abs(Leakage(isolated));
        if (!isDirect && double.IsFinite(shift) && isolated.TryLinearise() is { } signal)
        {
            int slot = isolated.Bound.Network.FirstSlot(isolated.Bound.Elements[Model.GroundElement]);
            double Amplitude(Probe probe) => peak * Complex.Abs(signal.Transfer(slot, probe, needs.GroundHertz));
            double mean = context.Model.Converter is { Every: { } every, Average: > 1 } adc ? Math.Abs(MovingAverage.Gain(needs.GroundHertz, every.Value, adc.Average)) : 1;
            shift = Math.Abs(shift) + (Amplitude(context.Evaluator.ObservedProbe(isolated.Bound)!.Value) * mean);
            leakage += Amplitude(Probe.Current(isolated.Bound.Elements[Model.GroundElement]));
            if (context.Instrument.Loop is not null)
            {
                loopShift = Math.Abs(loopShift) + Amplitude(isolated.Bound.Output!.Value);
            }
        }

        // Without isolation the circuit may well saturate: the alternating difference is taken at its peak, where it stands still for a moment.
        NetworkRun joined = new(context.Model.BindGrounds(new GroundPath(process.Value, receiver.Value, peak, IsIsolated: false)));
        (double bareReading, double bareLoop) = Read(context, joined, state);
        return new GroundShift(
            volts, needs.GroundHertz, leakage, shift * perUnit, (bareReading - reading) * perUnit, loopShift, bareLoop - loop);
    }

    private static (double Reading, double Loop) Read(CheckContext context, NetworkRun run, UnitState state) =>
        run.Solve(state, limited: true).Status == SolveStatus.Solved && context.Evaluator.ObservedProbe(run.Bound) is { } probe
            ? (run.Read(new Reading(probe), state), Evaluator.LoopValue(run))
            : (double.NaN, double.NaN);

    private static double Leakage(NetworkRun run) => run.Point?.Current(run.Bound.Elements[Model.GroundElement]) ?? double.NaN;
}
