using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A failure that the panel shows is one that the loop says.</summary>
internal sealed class FailuresAtLoopCheck(OutputSignal signal) : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        $"failures reach the {signal.Place}",
        $"Where the panel shows a broken sensor or corrupt settings, the {signal.Place} gives the failure {signal.Noun}.",
        $"The code that the firmware gives the output converter in each failure against that of the failure {signal.Noun}. A reading out of range is no failure of the instrument: the {signal.Place}'s limits say it.",
        signal.IsVoltage ? "Common practice, no source." : "NAMUR NE 43: a failure is told from a measured value by its current (as restated by makers; the recommendation itself was not seen).");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        if (PanelProgram.Of(review.Instrument) is not { Output: not null } program || review.Instrument.Loop is not { } loop || loop.Signal != signal)
        {
            yield break;
        }

        PanelFailure[] failures = [.. review.Panel.Failures.Where(f => f.Kind is PanelFailureKind.SensorBroken or PanelFailureKind.MemoryCorrupt)];
        if (failures.Length == 0)
        {
            yield break;
        }

        bool isGiven = PanelEngine.FailureSteps(program) is not null;
        yield return Result(
            review,
            isGiven
                ? []
                : [.. failures.Select(f => new PanelFault(
                    $"With `{PanelWords.WordOf(f.Kind)}` the display shows `{f.Screen.Value}` and the {signal.Place} goes on as if the reading were good.",
                    signal.IsVoltage ? "A failure voltage among the output's limits, above its scale." : "A failure current among the loop's limits, such as failure: 3.6 mA.",
                    loop.Span))],
            $"{string.Join(" and ", failures.Select(f => PanelWords.WordOf(f.Kind)))}: {Engineering.Format(loop.Failure?.Value ?? double.NaN, signal.Unit)}.",
            [new Figure($"failure {signal.Noun}", loop.Failure?.Value ?? double.NaN, signal.Unit)]);
    }
}
