using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The output is quiet.</summary>
internal sealed class LoopNoiseCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => "noise of the " + Signal.Place;

    public override string MustHold => $"Noise and ripple of the {Signal.Place}'s {Signal.Noun} stay below the stated peak-to-peak value.";

    public override string Formula => "6.6 standard deviations of the circuit's noise from 0.01 Hz to 10 kHz and of the reading's noise through the arithmetic, plus one code where that noise moves it, " + (Signal.IsVoltage ? "" : "plus the ripple of the loop's supply through the circuit at 100 or 120 Hz, ") + "plus what a pulse-width output leaves of its pulses.";

    public override string Source => "6.6 standard deviations are passed for 0.1 % of the time (normal distribution); the band is common practice, no source.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        if (loop.NoiseLimit is not { } limit)
        {
            yield break;
        }

        if (context.LoopNoise is not { } noise)
        {
            yield return CheckContext.Finding(
                this, Signal.Place, Signal.Place, double.NaN, "The nominal unit has no stable operating point to stand on.", [], "Mend what the findings of the stages say.", limit.Span);
            yield break;
        }

        string cause = noise.Causes.IsEmpty ? "" : $", most of it from {noise.Causes[0].Part} ({noise.Causes[0].Kind})";
        yield return CheckContext.Finding(
            this,
            Signal.Place,
            Signal.Place,
            CheckContext.MarginOf(noise.PeakToPeak, limit.Value),
            $"{Value(noise.PeakToPeak, 2)} peak to peak, {Value(noise.Rms, 2)} root mean square{cause}.",
            [
                Figure("peak to peak", noise.PeakToPeak),
                Figure("allowed", limit.Value),
                Figure("root mean square", noise.Rms),
                Figure("ripple", noise.Ripple),
                Figure("pulses", noise.PulseRipple),
                Figure("one code", noise.CodeStep),
            ],
            noise.Ripple > noise.PeakToPeak / 2
                ? "More output resistance of the stage at 100 Hz: a faster amplifier, or a capacitor across the terminals."
                : noise.PulseRipple > noise.PeakToPeak / 2 ? "A slower filter behind the pulse-width output, one section more, or a faster clock."
                : "A slower filter in front of the output stage, more averaging of the reading, or a finer output converter.",
            limit.Span);
    }
}
