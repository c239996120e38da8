using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The reading follows a step of the measurand in time.</summary>
internal sealed class ResponseTimeCheck : Check
{
    public override string Name => "response time";

    public override string MustHold => "After a step of the measurand display and loop have gone nine tenths of their way within the stated response time.";

    public override string Formula => "Step response of sensor and conditioning by the modes of the linearised network, averaged over the converter's window, "
        + "plus the wait for the end of a block of readings, plus T90 of the output stage: at worst.";

    public override string Source => "IEC 60746-1 and IEC 60770-1, T90 (from memory). The sum of the parts is an upper bound.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Specification.Response is not { } response || context.Response is not { } report)
        {
            yield break;
        }

        double slowest = double.IsNaN(report.LoopT90) ? report.DisplayT90 : report.LoopT90;
        yield return CheckContext.Finding(
            this,
            "step",
            "instrument",
            CheckContext.MarginOf(slowest, response.Value),
            $"T90 is {Engineering.Duration(slowest)} at worst; allowed {Engineering.Duration(response.Value)}. "
                + $"Sensor and conditioning take {Engineering.Duration(report.ConverterT90)}, averaging {Engineering.Duration(report.AveragingSeconds)}, the output {Engineering.Duration(report.OutputT90)}.",
            [
                new Figure("T90", slowest, "s"),
                new Figure("allowed", response.Value, "s"),
                new Figure("T90 at the converter", report.ConverterT90, "s"),
                new Figure("averaging", report.AveragingSeconds, "s"),
                new Figure("T90 of the output", report.OutputT90, "s"),
            ],
            report.AveragingSeconds > report.ConverterT90
                ? "Average fewer readings, or take them faster."
                : "A smaller filter in front of the converter; the source's resistance counts in it.",
            response.Span);
    }
}

/// <summary>Mains hum does not reach the reading.</summary>
internal sealed class MainsRejectionCheck : Check
{
    private const double LeastDecibel = 40;
    private const double Meaningful = 140;

    public override string Name => "mains rejection";

    public override string MustHold => "From the sensor to the reading 50 Hz and 60 Hz are attenuated by at least 40 dB, averaging included. Judged where the converter's time between readings is stated.";

    public override string Formula => "|H(f)| / |H(0)| of the linearised network at the converter, times |sin(πfnT) / (n sin(πfT))| of n readings T apart.";

    public override string Source => "Common practice, no source; IEC 60746-1 names interference of mains frequency.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        // Without the time between readings the file says nothing of what is done against hum.
        if (context.Model.Converter is not { Every: not null } adc || context.Response is not { } report || double.IsNaN(report.Rejection50))
        {
            yield break;
        }

        double least = Math.Min(report.Rejection50, report.Rejection60);

        // What an average over whole periods leaves is rounding of the computation: more than this is not told apart.
        Figure[] both = [new("50 Hz", Math.Min(report.Rejection50, Meaningful), "dB"), new("60 Hz", Math.Min(report.Rejection60, Meaningful), "dB")];
        static string Words(double decibel) => decibel > Meaningful ? "More than 140" : Engineering.Number(decibel, 3);
        yield return CheckContext.Finding(
            this,
            adc.Name.Value,
            adc.Name.Value,
            (least - LeastDecibel) / LeastDecibel,
            $"{Words(report.Rejection50)} dB at 50 Hz, {Words(report.Rejection60).ToLowerInvariant()} dB at 60 Hz.",
            [.. both.OrderBy(f => f.Value), new Figure("asked for", LeastDecibel, "dB")],
            "Average over a whole number of mains periods (100 ms holds five of 50 Hz and six of 60 Hz), or lower the filter's corner.",
            adc.Span);
    }
}

/// <summary>The last digit of the display stands still.</summary>
internal sealed class DisplayNoiseCheck : Check
{
    public override string Name => "noise at the display";

    public override string MustHold => "The noise of the reading, peak to peak, is at most one step of the display: the last digit does not flicker by more than one. Judged where the converter's time between readings is stated.";

    public override string Formula => "Thermal and amplifier noise by the adjoint at each frequency, integrated from 0.01 Hz with the averaging's weight, times 6.6; the converter's step among it, less the more readings are averaged, as long as noise moves it. Where no noise does, it is one step and no more.";

    public override string Source => "Johnson and Nyquist; 6.6 σ as in published amplifier notes (a peak that one sample in a thousand passes).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Specification.DisplayStep is not { } step || context.Model.Converter is not { Every: not null }
            || context.Response is not { } report || double.IsNaN(report.NoiseRms))
        {
            yield break;
        }

        double peak = report.NoisePeakToPeak;
        NoiseCause? first = report.Noise.FirstOrDefault();
        yield return CheckContext.Finding(
            this,
            "display",
            context.Model.Arithmetic?.Name.Value ?? context.Model.Converter?.Name.Value ?? "instrument",
            CheckContext.MarginOf(peak, step.Value),
            $"{context.Difference(peak)} peak to peak; the display steps by {Engineering.WithUnit(Engineering.Number(step.Value), context.Specification.Unit)}."
                + (first is null ? "" : $" Most of it, {Engineering.Percent(first.Share, 2)}, is {Words(first)}."),
            [
                new Figure("peak to peak", peak, context.Specification.Unit),
                new Figure("root mean square", report.NoiseRms, context.Specification.Unit),
                new Figure("display step", step.Value, context.Specification.Unit),
            ],
            first is null ? null : $"Look at {Words(first)} first. Averaging more readings or a lower corner helps against all of it.",
            step.Span);

        static string Words(NoiseCause cause) => cause.Part == ResponseBuilder.Quantisation ? $"the {cause.Kind}" : $"{cause.Kind} of {cause.Part}";
    }
}

/// <summary>No feedback loop is near oscillating.</summary>
internal sealed class StabilityCheck : Check
{
    private const double LeastDegrees = 45;

    public override string Name => "amplifier stability";

    public override string MustHold => "The whole network dies away after a disturbance, and each amplifier with a stated bandwidth has at least 45° of phase margin.";

    public override string Formula => "Return ratio about each amplifier with every other loop closed; phase margin where it falls through 1. Poles of the whole linearised network.";

    public override string Source => "Bode, Network Analysis and Feedback Amplifier Design, 1945 (from memory); 45° is common practice.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Response is not { } report)
        {
            yield break;
        }

        foreach (LoopStability loop in report.Loops)
        {
            bool free = double.IsNaN(loop.CrossoverHertz) || double.IsPositiveInfinity(loop.PhaseMarginDegrees);
            double margin = !report.IsStable && loop.PhaseMarginDegrees < LeastDegrees ? -1
                : free ? 1 : (loop.PhaseMarginDegrees - LeastDegrees) / LeastDegrees;
            yield return CheckContext.Finding(
                this,
                loop.Amplifier,
                loop.Stage,
                margin,
                free
                    ? $"The loop around {loop.Amplifier} never falls through a gain of 1."
                    : $"{Engineering.Number(loop.PhaseMarginDegrees, 2)}° of phase margin at {Engineering.Format(loop.CrossoverHertz, "Hz", 3)}."
                        + (report.IsStable ? "" : " The network oscillates."),
                [new Figure("phase margin", loop.PhaseMarginDegrees, "°"), new Figure("crossover", loop.CrossoverHertz, "Hz"), new Figure("gain margin", loop.GainMargin, "")],
                $"A resistor between the output of {loop.Amplifier} and its capacitive load, a capacitor from its output to its inverting input, or less capacitance there.",
                context.PlaceOf(loop.Amplifier));
        }

        if (!report.IsStable && report.Loops.All(l => !(l.PhaseMarginDegrees < LeastDegrees)))
        {
            yield return CheckContext.Finding(
                this, "network", "instrument", -1, "The network does not die away after a disturbance, though no single loop shows it.",
                [new Figure("growth", report.GrowingRate, "1/s")], "Look at amplifiers that stand inside each other's loops.", context.Instrument.Span);
        }
    }
}

/// <summary>What diodes at the input take from a source of high resistance.</summary>
internal sealed class ClampLeakageCheck : Check
{
    public override string Name => "clamp leakage";

    public override string MustHold => "The leakage of each diode of the input stages, at the hottest ambient, shifts the reading by less than the error limit.";

    public override string Formula => "Two solves with the diode's saturation current at its greatest and at none, the sensor's resistance at its greatest, ambient hottest; the difference referred to the measurand.";

    public override string Source => "Shockley's law; the saturation current rises with temperature by its energy gap. Each diode alone: equal clamps cancel and real ones are not equal.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Observed is null)
        {
            yield break;
        }

        double perVolt = context.MeasurandPerVolt(context.Specification.Range.Middle);
        foreach (Part part in context.Model.InputStages.SelectMany(s => s.Parts))
        {
            Parameter? leakage = part.Kind == "diode" ? part.Parameters.FirstOrDefault(p => p.Quantity.Dimension == Dimension.Current) : null;
            if (leakage is null)
            {
                continue;
            }

            int index = context.Model.Parameters.IndexOf(leakage);
            UnitState state = SourceStates.Stressed(context);
            state.Values[index] = context.Model.Parameters.High(index);
            double with = context.Observe(state);
            state.Values[index] = context.Model.Parameters.High(index) * 1e-6;
            double shift = (with - context.Observe(state)) * perVolt;
            yield return CheckContext.Finding(
                this,
                part.Name.Value,
                context.StageOf(part.Name.Value),
                CheckContext.MarginOf(shift, context.AllowedError),
                $"The leakage of {part.Name.Value} at {Engineering.Number(state.AmbientCelsius, 3)} °C shifts the reading by {context.Difference(Math.Abs(shift))}.",
                [new Figure("shift of the reading", shift, context.Specification.Unit), new Figure("allowed", context.AllowedError, context.Specification.Unit)],
                $"A diode of less leakage for {part.Name.Value}, or clamp where the source's resistance is small.",
                part.Span);
        }
    }
}

/// <summary>Faults that the specification names are signalled.</summary>
internal sealed class FaultSignallingCheck : Check
{
    public override string Name => "fault signalling";

    public override string MustHold => "Each fault that the specification's `signals` names drives the output to a failure signal over the whole measuring range.";

    public override string Formula => "The network is solved with the fault in it at the ends and in the middle of the range; the chain says what display and loop then show.";

    public override string Source => "NAMUR NE 43: 3.6 mA or less, 21 mA or more (as restated by makers), within the 20 µA that an output may be wrong by; of other signals half way from measuring to the failure level, common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Specification.Signals.IsEmpty)
        {
            yield break;
        }

        ImmutableArray<Fault> all = [.. Fault.All(context.Instrument)];
        foreach (Located<string> asked in context.Specification.Signals.DistinctBy(s => s.Value))
        {
            Fault? fault = all.FirstOrDefault(f => f.Name == asked.Value);
            if (fault is null)
            {
                yield return CheckContext.Finding(
                    this, asked.Value, "instrument", -1, $"There is no fault called {asked.Value} in this instrument.", [new Figure("faults known", all.Length, "")],
                    $"Name one of the faults that the table lists, such as {all.FirstOrDefault()?.Name}.", asked.Span);
                continue;
            }

            FaultRow row = FaultsBuilder.Judge(context, fault);
            bool isSignalled = row.Effect == FaultEffect.Signalled;
            yield return CheckContext.Finding(
                this,
                fault.Name,
                fault.Stage,
                isSignalled ? 1 : -1,
                isSignalled
                    ? $"With {fault.Name} {context.Signal.Carries} {Engineering.Format(row.LoopValue, context.Signal.Unit, 3)}."
                    : $"With {fault.Name} the display shows {Shown(context, row.Display)} and {context.Signal.Carries} {Engineering.Format(row.LoopValue, context.Signal.Unit, 3)}: {Words(row.Effect)}.",
                [new Figure(context.Signal.Place, row.LoopValue, context.Signal.Unit), new Figure("display", row.Display, context.Specification.Unit)],
                fault.MissingSupplies.IsEmpty || !double.IsNaN(row.Display)
                    ? "Give the arithmetic a range outside of which it signals a failure (`plausible`), or a resistor that drives the input out of it."
                    : "Let the output converter follow the processor's reset (`resets with processor`) and be at code 0 then, or take both from one rail.",
                asked.Span);
        }
    }

    private static string Shown(CheckContext context, double display) =>
        double.IsNaN(display) ? "nothing" : Engineering.WithUnit(Engineering.Number(display, 4), context.Specification.Unit);

    private static string Words(FaultEffect effect) => effect switch
    {
        FaultEffect.Harmless => "the fault does not show at all",
        FaultEffect.AtLimit => "an end of the measuring range, which is no failure signal",
        FaultEffect.Undefined => "what happens is left open",
        _ => "a wrong value that looks like a right one",
    };
}
