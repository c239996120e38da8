using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A measured value at a limit is never taken for a failure.</summary>
internal sealed class LoopStatesCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => Signal.IsVoltage ? "measured voltages read as such" : "measured values read as such";

    public override string MustHold => Signal.IsVoltage
        ? "The limits of measuring enclose the scale, and in the worst case a value at them still lies on measuring's side of half way to the failure voltage, and above half of a live zero."
        : "The limits of measuring lie at 3.8 mA or above and at 20.5 mA or below, enclose the scale, and in the worst case a value at them still is no failure to the receiver: above 3.6 mA and below 21 mA. From a scale that begins at 0 mA the limits are the instrument's own, and a receiver decides half way to its failure current.";

    public override string Formula => Signal.IsVoltage
        ? "The stated limits against the scale; extremes of the output's voltage at the code of each limit, least and greatest load, against what a receiver decides by."
        : "The stated limits against those of the recommendation; extremes of the loop's current at the code of each limit, least and greatest load, against 3.6 and 21 mA, or against what a receiver decides by.";

    public override string Source => Signal.IsVoltage
        ? "Common practice, no source: no recommendation gives limits for a voltage."
        : "NAMUR NE 43: measuring 3.8 to 20.5 mA, failure at 3.6 mA or below or at 21 mA or above (as restated by makers; the recommendation itself was not seen).";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        OutputStates states = context.States;
        if (context.Model.OutputConverter is null || context.Evaluator.OutputTransfer is null || context.Evaluator.LoopScale is null || states.Classify(states.ScaleLow) != LoopState.Measuring
            || loop.Over is not { } over || (loop.Under ?? (states.IsDead ? loop.Scale.MinBy(p => p.To.Value)!.To : null)) is not { } under)
        {
            yield break;
        }

        Reading reading = new(context.Model.Field.Output!.Value);
        double least = context.Extremes.Find(reading with { Sides = Sides.Low }, FailureLevelCheck.Scenarios(context, loop, under.Value), limited: true).Low;
        double most = context.Extremes.Find(reading with { Sides = Sides.High }, FailureLevelCheck.Scenarios(context, loop, over.Value), limited: true).High;
        bool low = states.Classify(under.Value) is LoopState.UnderRange or LoopState.Measuring && under.Value <= states.ScaleLow;
        bool high = states.Classify(over.Value) is LoopState.OverRange or LoopState.Measuring && over.Value >= states.ScaleHigh;

        // What is left of the way from measuring to a failure; all of it where there is no failure on that side.
        (double wayLow, double wayHigh) = states.IsByRecommendation
            ? (LoopSignals.MeasuringLow - LoopSignals.FailureLow, LoopSignals.FailureHigh - LoopSignals.MeasuringHigh)
            : (states.MeasuringLow - states.FailureLow, states.FailureHigh - states.MeasuringHigh);
        double roomLow = double.IsFinite(wayLow) ? (least - states.FailureLow) / wayLow : 1;
        double roomHigh = double.IsFinite(wayHigh) ? (states.FailureHigh - most) / wayHigh : 1;
        bool lower = roomLow < roomHigh;
        double margin = !low || !high ? -1 : Math.Min(1, Math.Min(roomLow, roomHigh));
        Quantity wrong = !low ? under : !high ? over : lower ? under : over;
        string limits = Engineering.Range(under.Value, over.Value, Signal.Unit);
        yield return CheckContext.Finding(
            this,
            Signal.Place,
            Signal.Place,
            margin,
            !low || !high
                ? $"{Value(wrong.Value)} is a limit of measuring, and to a receiver{(states.IsByRecommendation ? " that follows NE 43" : "")} it is {Words(states.Classify(wrong.Value))}."
                : $"Limits of {limits}; in the worst case {Engineering.Range(least, most, Signal.Unit)} {(Signal.IsVoltage ? "come out" : "flow")} at them.",
            [
                Figure($"least {Signal.Noun} at the lower limit", least),
                Figure($"greatest {Signal.Noun} at the upper limit", most),
                Figure("lower limit", under.Value),
                Figure("upper limit", over.Value),
            ],
            !low || !high
                ? states.IsByRecommendation ? "Limits of 3.8 mA and 20.5 mA, with the scale between them." : $"Limits with the scale between them: at most {Value(states.ScaleLow)}, at least {Value(states.ScaleHigh)}."
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
