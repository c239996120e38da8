using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A panel that is left alone measures.</summary>
internal sealed class ReturnsToMeasuringCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "panel returns to measuring",
        "Left alone on any screen, the panel comes back to the measuring screen, or to that of a failure, by its times.",
        "The times of every reachable state followed until the measuring screen is shown; the longest sum.",
        "Common practice, no source: a screen that waits for a person keeps the process from being controlled.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        PanelSpace space = review.Space;
        List<PanelFault> faults = [];
        HashSet<int> told = [];
        double longest = 0;
        for (int i = 0; i < space.States.Count; i++)
        {
            PanelState state = space.States[i];
            if (space.TimeHome(state) is { } seconds)
            {
                longest = Math.Max(longest, seconds);
                continue;
            }

            PanelState last = Stuck(space, state);
            if (told.Add(last.Screen))
            {
                PanelScreen screen = space.Machine.ScreenOf(last);
                OutputSignal signal = review.Instrument.Output;
                string loop = screen.Loop switch
                {
                    PanelLoop.Held => $" A trap: the {signal.Place} is held meanwhile, and nothing controls the process.",
                    PanelLoop.Test => $" A trap: the {signal.Place} gives the {signal.TestWord} meanwhile.",
                    PanelLoop.Trim => $" A trap: the {signal.Place} gives a {signal.Noun} of the trim meanwhile.",
                    _ => "",
                };
                faults.Add(new PanelFault(
                    $"`{screen.Name.Value}` waits for a key for ever.{loop} Shown by: {space.Tell(space.WayTo(i))} · nobody there.",
                    $"A time on `{screen.Name.Value}`, such as after: {{ 60 s: {review.Panel.Measuring} }}.",
                    screen.Name.Span));
            }
        }

        yield return Result(
            review, faults, $"Back after {Engineering.Duration(longest)} at most, {Over(review)}.", [new Figure("longest time", longest, "s"), .. SpaceFigures(review)],
            -(double)told.Count / review.Panel.Screens.Length);
    }

    /// <summary>The state in which time moves nothing any more; within a ring of screens, one of the ring.</summary>
    private static PanelState Stuck(PanelSpace space, PanelState state)
    {
        for (int i = 0; i <= space.Machine.Panel.Screens.Length && space.Machine.ScreenOf(state).After is not null; i++)
        {
            state = space.Machine.Next(state, new PanelEvent(PanelEventKind.Time));
        }

        return state;
    }
}
