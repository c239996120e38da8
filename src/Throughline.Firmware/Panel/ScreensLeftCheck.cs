using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>No screen keeps its user.</summary>
internal sealed class ScreensLeftCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "every screen left",
        "From every state, keys and times lead back to the measuring screen, whatever the reading does; the screen of a failure is left when the failure goes, or by a key.",
        "Search backwards from the measuring screen over keys and times in all reachable states; for screens of failures over keys, times and the failure's end.",
        "Reachability by exhaustive search.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        PanelSpace space = review.Space;
        bool[] home = space.LeadingTo(space.IsHome, (_, by) => by.Kind is PanelEventKind.Key or PanelEventKind.Time);
        bool[] failureLeft = LeftByItself(space);
        List<PanelFault> faults = [];
        HashSet<int> told = [];
        for (int i = 0; i < space.States.Count; i++)
        {
            PanelState state = space.States[i];
            bool isLeft = space.IsFailure(state) ? failureLeft[i] : home[i];
            if (isLeft || !told.Add(state.Screen))
            {
                continue;
            }

            PanelScreen screen = space.Machine.ScreenOf(state);
            faults.Add(new PanelFault(
                $"{(space.IsFailure(state) ? "Neither a key, nor a time, nor the failure's end leaves" : "No key and no time leads back to measuring from")} `{screen.Name.Value}`. Shown by: "
                + space.Tell(space.WayTo(i)) + ".",
                screen.Keys.IsEmpty ? $"A key on `{screen.Name.Value}` that goes to `{review.Panel.Measuring}`, and a time after which it goes there."
                    : $"A key or a time that leads from `{screen.Name.Value}` to `{review.Panel.Measuring}`.",
                screen.Name.Span));
        }

        yield return Result(
            review, faults, $"A way back from every state, {Over(review)}.", [new Figure("screens that keep their user", told.Count, ""), .. SpaceFigures(review)],
            -(double)told.Count / review.Panel.Screens.Length);
    }

    /// <summary>For states on a failure's screen: whether its user, time or the failure's end leads to another screen.</summary>
    private static bool[] LeftByItself(PanelSpace space)
    {
        bool[] left = new bool[space.States.Count];
        for (bool changed = true; changed;)
        {
            changed = false;
            for (int i = 0; i < left.Length; i++)
            {
                if (!left[i] && space.StepsOf(i).Any(s => s.By.Kind is PanelEventKind.Key or PanelEventKind.Time or PanelEventKind.FailureGoes
                    && (space.States[s.To].Screen != space.States[i].Screen || left[s.To])))
                {
                    left[i] = changed = true;
                }
            }
        }

        return left;
    }
}
