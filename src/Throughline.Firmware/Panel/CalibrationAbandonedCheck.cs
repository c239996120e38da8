using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Whoever began a calibration can stop it.</summary>
internal sealed class CalibrationAbandonedCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "calibration can be abandoned",
        "In every state of every step of a calibration one key ends it, steady reading or not, and what the instrument works with stays as it was.",
        "Keys of every reachable state on a screen that calibrates: one of them goes to a screen that does not.",
        "Common practice, no source.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        PanelSpace space = review.Space;
        PanelMachine machine = space.Machine;
        if (review.Panel.Screens.All(s => s.Calibrates is null))
        {
            yield break;
        }

        List<PanelFault> faults = [];
        HashSet<int> told = [];
        int steps = 0;
        for (int i = 0; i < space.States.Count; i++)
        {
            PanelState state = space.States[i];
            if (!machine.IsCalibrating(state))
            {
                continue;
            }

            steps++;
            bool ends = Enumerable.Range(0, review.Panel.Keys).Any(k =>
                machine.ActionOf(state.Screen, k) is { Kind: PanelActionKind.Go } go && review.Panel.Screens[machine.IndexOf(go.Text.Value)].Calibrates is null);
            if (!ends && told.Add(state.Screen))
            {
                PanelScreen screen = machine.ScreenOf(state);
                faults.Add(new PanelFault(
                    $"No key of `{screen.Name.Value}` ends the calibration. Shown by: {space.Tell(space.WayTo(i))}.",
                    $"A key on `{screen.Name.Value}` that goes to `{review.Panel.Measuring}`.",
                    screen.Name.Span));
            }
        }

        yield return Result(
            review, faults, $"A key ends it in each of {Count(steps)} states of a calibration.", [new Figure("states of a calibration", steps, ""), .. SpaceFigures(review)],
            -(double)told.Count / review.Panel.Screens.Count(s => s.Calibrates is not null));
    }
}
