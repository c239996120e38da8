using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A measured value at a limit is never taken for a failure.</summary>
internal sealed class LoopStatesCheck : Check
{
    public override string Name => "measured values read as such";

    public override string MustHold => "The limits of measuring lie at 3.8 mA or above and at 20.5 mA or below, enclose the scale, and in the worst case a value at them still is no failure to the receiver: above 3.6 mA and below 21 mA.";

    public override string Formula => "The stated limits against those of the recommendation; extremes of the loop's current at the code of each limit, least and greatest load, against 3.6 and 21 mA.";

    public override string Source => "NAMUR NE 43: measuring 3.8 to 20.5 mA, failure at 3.6 mA or below or at 21 mA or above (as restated by makers; the recommendation itself was not seen).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { Under: { } under, Over: { } over } loop || context.Model.OutputConverter is null || context.Evaluator.OutputTransfer is null
            || context.Evaluator.LoopScale is null || LoopSignals.Classify(loop.Scale.Min(p => p.To.Value)) != LoopState.Measuring)
        {
            yield break;
        }

        Reading reading = new(Evaluator.LoopProbe(context.Model.Field));
        double least = context.Extremes.Find(reading with { Sides = Sides.Low }, FailureCurrentCheck.Scenarios(context, loop, under.Value), limited: true).Low;
        double most = context.Extremes.Find(reading with { Sides = Sides.High }, FailureCurrentCheck.Scenarios(context, loop, over.Value), limited: true).High;
        bool low = LoopSignals.Classify(under.Value) is LoopState.UnderRange or LoopState.Measuring && under.Value <= loop.Scale.Min(p => p.To.Value);
        bool high = LoopSignals.Classify(over.Value) is LoopState.OverRange or LoopState.Measuring && over.Value >= loop.Scale.Max(p => p.To.Value);
        double roomLow = least - LoopSignals.FailureLow;
        double roomHigh = LoopSignals.FailureHigh - most;
        bool lower = roomLow / (LoopSignals.MeasuringLow - LoopSignals.FailureLow) < roomHigh / (LoopSignals.FailureHigh - LoopSignals.MeasuringHigh);
        double margin = !low || !high ? -1
            : lower ? roomLow / (LoopSignals.MeasuringLow - LoopSignals.FailureLow)
            : roomHigh / (LoopSignals.FailureHigh - LoopSignals.MeasuringHigh);
        Quantity wrong = !low ? under : !high ? over : lower ? under : over;
        string limits = Engineering.Range(under.Value, over.Value, "A");
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            margin,
            !low || !high
                ? $"{Engineering.Format(wrong.Value, "A")} is a limit of measuring, and to a receiver that follows NE 43 it is {Words(LoopSignals.Classify(wrong.Value))}."
                : $"Limits of {limits}; in the worst case {Engineering.Range(least, most, "A")} flow at them.",
            [
                new Figure("least current at the lower limit", least, "A"),
                new Figure("greatest current at the upper limit", most, "A"),
                new Figure("lower limit", under.Value, "A"),
                new Figure("upper limit", over.Value, "A"),
            ],
            !low || !high
                ? "Limits of 3.8 mA and 20.5 mA, with the scale between them."
                : $"Narrower tolerances of the output stage, or {(lower ? "a higher lower limit" : "a lower upper limit")}.",
            wrong.Span);
    }

    private static string Words(LoopState state) => state switch
    {
        LoopState.FailureLow or LoopState.FailureHigh => "a failure",
        LoopState.Measuring => "inside the scale",
        _ => "without a meaning",
    };
}
