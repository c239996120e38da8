namespace Throughline.Analysis;

/// <summary>The pulses of a pulse-width output are filtered to less than one of its steps.</summary>
internal sealed class PulseRippleCheck : Check
{
    public override string Name => "pulse ripple";

    public override string MustHold => "What a pulse-width output's pulses leave in the loop, peak to peak at the worst width used, is at most the current of one code. "
        + "What the filter takes for it counts in the response time.";

    public override string Formula => "Fourier series of the pulses, 2V sin(πnd)/(πn) each, through the linearised network from the output to the loop; one code is the response at direct current.";

    public override string Source => "The Fourier series of a train of pulses (any handbook). That a ripple of one step spoils no more than the step does: common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.OutputConverter is not { Clock: { } clock } dac || context.Instrument.Loop is not { } loop
            || context.Evaluator.OutputTransfer is null || PulseRipple.Of(context.Evaluator) is not { } ripple)
        {
            yield break;
        }

        double codes = Math.ScaleB(1, dac.Bits);
        double Duty(double value) => Math.Clamp(context.Evaluator.OutputCodeOf(value) / codes, 0, 1);
        double[] values = [.. loop.Scale.Select(p => p.To.Value), .. new[] { loop.Under?.Value, loop.Over?.Value, loop.Failure?.Value }.OfType<double>()];
        double[] duties = [.. values.Select(Duty).Where(double.IsFinite)];
        if (duties.Length == 0)
        {
            yield break;
        }

        (double peak, double duty) = ripple.Worst(duties.Min(), duties.Max());
        (double low, double high) = (loop.Scale.Min(p => p.To.Value), loop.Scale.Max(p => p.To.Value));
        double step = Math.Abs((high - low) / (context.Evaluator.OutputCodeOf(high) - context.Evaluator.OutputCodeOf(low)));
        double times = peak / step;
        double t90 = context.Response?.OutputT90 ?? double.NaN;
        double whole = context.Response?.LoopT90 ?? double.NaN;
        yield return CheckContext.Finding(
            this,
            dac.Name.Value,
            dac.Name.Value,
            CheckContext.MarginOf(peak, step),
            $"{Engineering.Format(peak, context.Signal.Unit, 3)} peak to peak at {Engineering.Percent(duty, 2)} of {Engineering.Format(ripple.Hertz, "Hz", 3)}; one code is {Engineering.Format(step, context.Signal.Unit, 3)}. "
                + $"The output takes {Engineering.Duration(t90)} to nine tenths.",
            [
                new Figure("ripple", peak, context.Signal.Unit),
                new Figure("one code", step, context.Signal.Unit),
                new Figure("frequency", ripple.Hertz, "Hz"),
                new Figure("width", duty, ""),
                new Figure("slope of the filter there", ripple.Order, ""),
                new Figure("T90 of the output", t90, "s"),
            ],
            Mend(context, ripple, clock.Value, times, t90, whole),
            dac.Span);
    }

    /// <summary>What takes the ripple down to one code: the filter's corner with what it does to the response time, the clock, a section more, or bits.</summary>
    private static string Mend(CheckContext context, PulseRipple ripple, double clock, double times, double t90, double whole)
    {
        double order = Math.Max(0.5, ripple.Order);
        double factor = Math.Pow(times, 1 / order);
        string slower = $"A filter {Engineering.Number(factor, 2)} times as slow ({Engineering.Duration(t90 * factor)} for the output)";
        double asked = context.Specification.Response?.Value ?? double.PositiveInfinity;
        string room = whole + (t90 * (factor - 1)) <= asked ? "" : ", which the response time does not allow";

        // A bit less halves the period and doubles the step.
        int bits = (int)Math.Ceiling(Math.Log2(times) / (order + 1));
        return FormattableString.Invariant($"{slower}{room}; or a clock of {Engineering.Format(clock * factor, "Hz", 2)}; or {Math.Max(1, bits)} bits less; ")
            + "or one section more in the filter, which falls faster without a lower corner.";
    }
}
