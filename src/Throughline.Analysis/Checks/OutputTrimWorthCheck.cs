namespace Throughline.Analysis;

/// <summary>The trim of the output does more good than its meter does harm.</summary>
internal sealed class OutputTrimWorthCheck : Check
{
    public override string Name => "output trim worth its meter";

    public override string MustHold => "The trim of the output leaves less error at the output than there would be without it.";

    public override string Formula => "Straight sums of the output's error at reference conditions, after adjustment and, where there is one, calibration, at the worst point of the range: with the trim against the same "
        + "instrument without it. Beyond the two values the meter's error grows in proportion. Margin: the share that is taken away.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.TrimEffect is not { } effect || context.Instrument.Loop?.Trim is not { } trim)
        {
            yield break;
        }

        yield return CheckContext.Finding(
            this,
            context.Signal.Place,
            context.Signal.Place,
            CheckContext.MarginOf(effect.With, effect.Without),
            $"The trim brings the {context.Signal.Place}'s error from {Engineering.Format(effect.Without, context.Signal.Unit, 3)} to {Engineering.Format(effect.With, context.Signal.Unit, 3)}, at {context.At(effect.Measurand)}; "
                + $"its meter makes up to {Engineering.Format(effect.OfMeter, context.Signal.Unit, 2)} of it.",
            [
                new Figure("error without the trim", effect.Without, context.Signal.Unit),
                new Figure("error with it", effect.With, context.Signal.Unit),
                new Figure("of the meter", effect.OfMeter, context.Signal.Unit),
            ],
            $"A better meter, two {context.Signal.Noun}s further apart, or no trim.",
            trim.Span);
    }
}
