using System.Collections.Immutable;
using System.Numerics;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Follows the ripple of every supply through the regulators behind it and the circuit to the display and into the loop.</summary>
internal static class RippleSurvey
{
    /// <summary>How far the frequency of a converter may be from the stated one: free-running oscillators of converters are rarely better (common practice, no source).</summary>
    private const double Wander = 0.1;

    private const int Steps = 400;

    public static ImmutableArray<RippleEffect> Build(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        Supply[] sources = [.. instrument.Supplies.Where(s => s.Ripple is not null && s.RippleFrequency is not null)];
        if (sources.Length == 0)
        {
            return [];
        }

        NetworkRun run = new(context.Model.Field);
        UnitState state = context.Evaluator.NewState();
        state.Measurand = context.Specification.Range.Middle;
        context.Evaluator.Chain(run, state, limited: true);
        if (run.Point is not { Status: SolveStatus.Solved } || run.TryLinearise() is not { } signal)
        {
            return [];
        }

        UnitState worst = context.Evaluator.NewState();
        for (int i = 0; i < context.Model.Parameters.Count; i++)
        {
            if (context.Model.Parameters[i].Name == "supply error")
            {
                worst.Values[i] = context.Model.Parameters.High(i);
            }
        }

        double perVolt = context.Model.Converter is null ? double.NaN : Math.Abs(context.MeasurandPerVolt(state.Measurand));
        return [.. sources.Select(s => Follow(context, run, signal, s, perVolt, worst))];
    }

    private static RippleEffect Follow(CheckContext context, NetworkRun run, SmallSignal signal, Supply supply, double perVolt, UnitState worst)
    {
        double hertz = supply.RippleFrequency!.Value;
        Quantity size = supply.Ripple!;
        double volts = double.IsFinite(size.High) ? size.High : size.Value;
        List<(string Rail, double Volts)> rails = [];
        Collect(context.Instrument, supply, volts, hertz, rails);
        (AmplifierPins Amplifier, double Error, Complex[] BetweenPins)[] rejecting =
            [.. run.Bound.Amplifiers.Where(a => a.SupplyError is not null).Select(a => (a, SupplyError(a, worst, hertz), BetweenPins(run, signal, a, hertz)))];
        double gain = AveragingGain(context.Model.Converter, hertz);
        double display = context.Evaluator.ConverterProbe(run.Bound) is { } converter ? Sum(converter) * gain * perVolt : double.NaN;
        double loop = double.NaN;
        if (context.Instrument.Loop is not null)
        {
            loop = Sum(run.Bound.Output!.Value);
            if (!double.IsNaN(display) && context.Model.OutputConverter is not null && context.Evaluator.LoopScale is { } scale)
            {
                loop += display * Math.Abs(scale.Slope);
            }
        }

        return new RippleEffect(supply, hertz, [.. rails], display, loop, gain);

        // Rails that ripple together may add up in any phase that the regulators leave: taken as adding up in size.
        double Sum(Probe probe)
        {
            Complex[] perSlot = new Complex[run.Bound.Network.SlotCount];
            signal.Transfers(probe, hertz, perSlot);
            return rails.Sum(r => run.Bound.Elements.TryGetValue(r.Rail, out ElementId element)
                ? r.Volts * (Complex.Abs(perSlot[run.Bound.Network.FirstSlot(element)]) + OverErrors(perSlot, run.Bound.Network.FirstSlot(element)))
                : 0);
        }

        // The ripple between an amplifier's supply pins, divided by its rejection, is an offset at its input. Of either sign: what several make adds up in size.
        double OverErrors(Complex[] perSlot, int source) => rejecting.Sum(r =>
            Complex.Abs(perSlot[run.Bound.Network.FirstSlot(r.Amplifier.Element) + r.Amplifier.OffsetSlot] * r.Error * r.BetweenPins[source]));
    }

    /// <summary>Reciprocal of the least stated rejection; above its corner it rises in proportion to frequency.</summary>
    private static double SupplyError(AmplifierPins amplifier, UnitState worst, double hertz) =>
        Math.Abs(amplifier.SupplyError!(worst)) * (amplifier.SupplyErrorCorner is { } corner ? Complex.Abs(new Complex(1, hertz / corner)) : 1);

    private static Complex[] BetweenPins(NetworkRun run, SmallSignal signal, AmplifierPins amplifier, double hertz)
    {
        Complex[] perSlot = new Complex[run.Bound.Network.SlotCount];
        signal.Transfers(Probe.Voltage(run.Bound.Find(amplifier.Positive)!.Value, run.Bound.Find(amplifier.Negative)!.Value), hertz, perSlot);
        return perSlot;
    }

    /// <summary>The rail and what it feeds. A part in series passes ripple within the network, whose source moves.</summary>
    private static void Collect(Instrument instrument, Supply supply, double volts, double hertz, List<(string Rail, double Volts)> rails)
    {
        if (!supply.IsInSeries)
        {
            rails.Add((supply.Name.Value, volts));
        }

        foreach (Supply next in instrument.Supplies.Where(s => s.From?.Value == supply.Name.Value))
        {
            double behind = volts / SupplyLaw.Rejection(next, hertz);
            if (behind > 0)
            {
                Collect(instrument, next, behind, hertz, rails);
            }
        }
    }

    /// <summary>What the mean of the readings leaves. Sampling folds every frequency down; where the folded one is not known, nothing is taken off.</summary>
    private static double AveragingGain(ConverterStage? adc, double hertz)
    {
        if (adc is not { Every: { } every, Average: > 1 })
        {
            return 1;
        }

        double most = 0;
        for (int i = 0; i <= Steps; i++)
        {
            double at = hertz * (1 - Wander + (2 * Wander * i / Steps));
            most = Math.Max(most, Math.Abs(MovingAverage.Gain(at, every.Value, adc.Average)));
        }

        return 2 * Wander * hertz * every.Value >= 1 ? 1 : most;
    }
}
