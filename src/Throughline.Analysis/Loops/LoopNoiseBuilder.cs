using System.Collections.Immutable;
using System.Numerics;
using Throughline.Circuits;

namespace Throughline.Analysis;

/// <summary>Noise and ripple of the loop's current on the nominal unit, measurand in the middle of its range.</summary>
internal static class LoopNoiseBuilder
{
    /// <summary>What is slower counts as drift, Hz; what is faster a receiver filters: common practice, no source.</summary>
    public const double FromHertz = 0.01;

    public const double ToHertz = 10e3;

    /// <summary>Peak to peak of noise in standard deviations: passed for 0.1 % of the time (common practice).</summary>
    private const double PeakToPeak = ResponseBuilder.PeakToPeak;

    /// <summary>Twice the frequencies of the mains, Hz.</summary>
    private static readonly double[] RippleHertz = [100, 120];

    private const double NoiseTolerance = 1e-4;

    /// <summary>The figures; null without a loop or an operating point.</summary>
    public static LoopNoise? Build(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        if (context.Instrument.Loop is not { } loop)
        {
            return null;
        }

        UnitState state = evaluator.NewState();
        state.Measurand = context.Specification.Range.Middle;
        evaluator.Chain(state);
        if (evaluator.Field.Solve(state, limited: true).Status != SolveStatus.Solved || evaluator.Field.TryLinearise() is not { IsStable: true } signal)
        {
            return null;
        }

        Probe probe = context.Model.Field.Output!.Value;
        Network network = context.Model.Field.Network;
        Dictionary<(string, string), double> squares = [];
        foreach (NoiseContribution contribution in signal.Noise(probe, FromHertz, ToHertz, 0, NoiseTolerance).Contributions)
        {
            (string, string) key = (network.ElementName(contribution.Element).Split('.')[0], contribution.Kind);
            squares[key] = squares.GetValueOrDefault(key) + (contribution.Value * contribution.Value);
        }

        double circuit = Math.Sqrt(squares.Values.Sum());
        (double reading, double step) = context.Model.OutputConverter is null ? (0, 0) : ThroughCode(context);

        // While the noise of what it follows is small against it the code stands still, but for a reading between two codes: then it is one code or the other.
        bool moves = step > 0 && PeakToPeak * reading > step / 2;
        AddStep("reading", "noise of the display", moves ? reading * reading : 0);
        AddStep(context.Model.OutputConverter?.Name.Value ?? "", "step of the converter", moves ? step * step / 12 : 0);
        double ripple = loop.SupplyRipple is { } volts ? Ripple(context, signal, probe) * volts.Value : 0;
        AddStep("loop supply", "ripple", ripple * ripple / 8);
        double pulses = Pulses(evaluator);
        AddStep(context.Model.OutputConverter?.Name.Value ?? "", "pulses", pulses * pulses / 8);
        double all = squares.Values.Sum();
        double noise = Math.Sqrt((circuit * circuit) + (moves ? reading * reading : 0));
        return new LoopNoise
        {
            FromHertz = FromHertz,
            ToHertz = ToHertz,
            CircuitRms = circuit,
            ReadingRms = reading,
            CodeStep = step,
            CodeMoves = moves,
            Ripple = ripple,
            PulseRipple = pulses,
            Rms = Math.Sqrt(all),
            PeakToPeak = (PeakToPeak * noise) + (reading > 0 ? step : 0) + ripple + pulses,
            Causes = [.. squares.Where(p => p.Value > 0).OrderByDescending(p => p.Value).Select(p => new NoiseCause(p.Key.Item1, p.Key.Item2, Math.Sqrt(p.Value), p.Value / all))],
        };

        void AddStep(string part, string kind, double square)
        {
            if (square > 0)
            {
                squares[(part, kind)] = square;
            }
        }
    }

    /// <summary>What a pulse-width output leaves of its pulses in the middle of the scale, A peak to peak, whatever their frequency.</summary>
    private static double Pulses(Evaluator evaluator)
    {
        if (evaluator.LoopScale is not { } scale || evaluator.Model.OutputConverter is not { } dac || PulseRipple.Of(evaluator) is not { } ripple)
        {
            return 0;
        }

        double duty = Math.ScaleB(evaluator.OutputCodeOf((scale.To[0] + scale.To[^1]) / 2), -dac.Bits);
        return double.IsFinite(duty) ? ripple.PeakToPeak(Math.Clamp(duty, 0, 1)) : 0;
    }

    /// <summary>The display's noise and one code, as currents of the intended stages.</summary>
    private static (double Rms, double Step) ThroughCode(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        if (evaluator.LoopScale is not { } scale)
        {
            return (0, 0);
        }

        double middle = (scale.To[0] + scale.To[^1]) / 2;
        double codes = evaluator.OutputCodeOf(middle + 1e-6) - evaluator.OutputCodeOf(middle);
        double step = Math.Abs(1e-6 / codes);
        double noise = context.Response?.Noise.Where(n => n.Part != ResponseBuilder.Quantisation).Sum(n => n.Rms * n.Rms) ?? 0;
        return (Math.Sqrt(noise) * Math.Abs(scale.Slope), double.IsFinite(step) ? step : 0);
    }

    /// <summary>How much of the loop supply's ripple reaches the current, A/V, at the worse of the two frequencies.</summary>
    private static double Ripple(CheckContext context, SmallSignal signal, Probe probe)
    {
        if (!context.Model.Field.Elements.TryGetValue(Model.LoopSupplyElement, out ElementId supply))
        {
            return 0;
        }

        int slot = context.Model.Field.Network.FirstSlot(supply);
        return RippleHertz.Max(hertz => Complex.Abs(signal.Transfer(slot, probe, hertz)));
    }
}
