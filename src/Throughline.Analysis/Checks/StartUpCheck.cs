using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop says nothing false before the processor does.</summary>
internal sealed class StartUpCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => Signal.Place + " steady at start-up";

    public override string MustHold => "From power on to the first code that the processor writes, " + (Signal.IsVoltage ? "the output gives no voltage" : "the loop carries no current") + " that a receiver takes for a measured value (where the scale begins at nothing: none but that beginning); and the processor does leave reset.";

    public override string Formula => "Rails in the order of their start-up times; in each stretch the network is solved with the missing supplies disconnected and the output converter as it is at reset.";

    public override string Source => Signal.IsVoltage
        ? "Common practice, no source: a receiver decides half way between measuring and the failure voltage, within the eight hundredth of the span that an output may be wrong by."
        : "NAMUR NE 43: 3.6 mA or less, 21 mA or more is no measured value (as restated by makers), within the 20 µA that an output may be wrong by. From a scale that begins at 0 mA: common practice, no source.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        if (context.Supplies?.Start is not { IsEmpty: false } phases)
        {
            yield break;
        }

        ArithmeticStage? processor = context.Model.Arithmetic;
        if (StartSurvey.NeverStarts(processor, Powering.RailOf(context.Instrument, processor?.Name.Value)))
        {
            Supply rail = Powering.RailOf(context.Instrument, processor!.Name.Value)!;
            double lowest = Math.Abs(rail.Voltage.Quantity.Value) - rail.Voltage.Quantity.Tolerance;
            yield return CheckContext.Finding(
                this, rail.Name.Value, "supplies", -1,
                $"{rail.Name.Value} may be as low as {Engineering.Format(lowest, "V", 3)}; the processor is in reset below {Engineering.Format(processor.ResetsBelow!.High, "V", 3)}.",
                [new Figure("lowest rail", lowest, "V"), new Figure("resets below", processor.ResetsBelow.High, "V")],
                "Choose a lower reset threshold, or a rail with a narrower tolerance.",
                processor.ResetsBelow.Span);
            yield break;
        }

        StartPhase worst = phases.MaxBy(p => context.States.Falseness(p.LoopValue))!;
        double falseness = context.States.Falseness(worst.LoopValue);
        yield return CheckContext.Finding(
            this,
            Signal.Place,
            "supplies",
            -falseness,
            falseness <= 0
                ? $"Until the first code after {Engineering.Duration(phases[^1].UntilSeconds)} {Signal.Carries} at most {Value(phases.Max(p => p.LoopValue), 3)}, which is {(context.States.IsDead && phases.All(p => p.LoopValue < context.States.ScaleHigh) ? "the beginning of the scale: nothing tells it from a measured value, and nothing else is false" : "no measured value")}."
                : $"From {Engineering.Duration(worst.FromSeconds)} to {Engineering.Duration(worst.UntilSeconds)} after power on {Signal.Carries} {Value(worst.LoopValue, 3)} (output converter: {worst.Output}), which a receiver takes for a measured value.",
            [
                Figure(Signal.Noun, worst.LoopValue),
                new Figure("from", worst.FromSeconds, "s"),
                new Figure("until", worst.UntilSeconds, "s"),
                new Figure("time to the first code", phases[^1].UntilSeconds, "s"),
            ],
            "Take an output converter that begins at code 0, or hold the output stage off until the processor writes.",
            context.Model.OutputConverter!.Span);
    }
}
