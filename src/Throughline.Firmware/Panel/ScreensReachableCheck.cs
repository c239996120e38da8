using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>No screen is dead text.</summary>
internal sealed class ScreensReachableCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "every screen reachable",
        "From switching on, some sequence of keys, times and events shows every screen.",
        "All reachable states of the panel: screen, step of the calibration, classes of the values being entered, failures present.",
        "Reachability by exhaustive search.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        PanelSection panel = review.Panel;
        List<PanelFault> faults =
        [
            .. panel.Screens.Where((_, i) => !review.Space.Screens.Contains(i)).Select(s => new PanelFault(
                $"Nothing leads to `{s.Name.Value}`.", $"A key, a time or an event that goes to `{s.Name.Value}`; or without the screen.", s.Name.Span)),
        ];
        yield return Result(
            review,
            faults,
            $"All {Count(panel.Screens.Length)} screens, {Over(review)}.",
            [new Figure("screens reached", review.Space.Screens.Length, ""), new Figure("screens", panel.Screens.Length, ""), .. SpaceFigures(review)],
            -(double)faults.Count / panel.Screens.Length);
    }
}
