using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop says nothing false while a supply fails or comes back.</summary>
internal sealed class BrownOutCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => Signal.Place + " steady at brown-out";

    public override string MustHold => "While a source from outside falls to nothing and rises again, " + (Signal.IsVoltage ? "the output gives" : "the loop carries") + $" the right value or none: no {Signal.Noun} that a receiver takes for another measured value (where the scale begins at nothing: none but that beginning).";

    public override string Formula => "Regulators give |V_in| − dropout below their voltage, converters nothing below their input range. Wherever a rail leaves its voltage or the processor goes into reset, the network is solved, with the output converter as written, as last written or at reset.";

    public override string Source => Signal.IsVoltage
        ? "Common practice, no source: a receiver decides half way between measuring and the failure voltage, within the eight hundredth of the span that an output may be wrong by."
        : "NAMUR NE 43: 3.6 mA or less, 21 mA or more is no measured value (as restated by makers), within the 20 µA that an output may be wrong by. From a scale that begins at 0 mA: common practice, no source.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        foreach (BrownOut brownOut in context.Supplies?.BrownOuts ?? [])
        {
            (BrownOutStretch stretch, BrownOutLoop found, bool isFalling) = brownOut.Stretches
                .SelectMany(s => new[] { (Stretch: s, Loop: s.Falling, IsFalling: true), (Stretch: s, Loop: s.Rising, IsFalling: false) })
                .MaxBy(p => p.Loop.Falseness);
            string first = brownOut.Stretches.FirstOrDefault(s => !s.Gone.IsEmpty || !s.Sagging.IsEmpty) is { } begins
                ? $"first {string.Join(" and ", begins.Gone.Concat(begins.Sagging))} below {Engineering.Format(begins.High, "V", 3)}"
                : "no rail before it is gone";
            bool isKept = found.Output.Contains(Powering.Words(OutputHold.Kept), StringComparison.Ordinal);
            yield return CheckContext.Finding(
                this,
                brownOut.Source,
                "supplies",
                -found.Falseness,
                found.Falseness <= 0
                    ? $"As {brownOut.Source} falls ({first}) and rises, {Signal.Carries} the right value or none."
                    : $"With {brownOut.Source} {(isFalling ? "falling" : "rising")} through {Engineering.Format(found.WorstAt, "V", 3)} {Signal.Carries} {Value(found.Worst, 3)}, which a receiver takes for a measured value (processor: {stretch.Processor}; output converter: {found.Output}).",
                [
                    Figure(Signal.Noun, found.Worst),
                    new Figure("at", found.WorstAt, "V"),
                    new Figure("stretch from", stretch.High, "V"),
                    new Figure("stretch to", stretch.Low, "V"),
                ],
                isKept ? "Let the output converter follow the processor's reset (`resets with processor`), at code 0."
                    : stretch.Processor == "in reset" ? "Take an output converter that is at code 0 in reset, or hold the output stage off until the processor writes."
                    : "State a reset threshold (`resets below`) above the voltage at which the circuit stops being right, and let the output converter follow it.",
                stretch.Processor == "in reset" || isKept ? context.Model.OutputConverter!.Span : context.Model.Arithmetic?.Span ?? brownOut.Place);
        }
    }
}
