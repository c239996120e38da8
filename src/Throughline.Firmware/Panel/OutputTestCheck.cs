using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The output test does what the file promises.</summary>
internal sealed class OutputTestCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "output test covers its range",
        "On the panel every current of the loop's `test` can be entered.",
        "The ends of what can be entered on the screen that gives the test current, against the loop's test currents; half a step is left to either side.",
        "Common practice, no source.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        if (PanelProgram.Of(review.Instrument) is not { Output: not null } program || review.Instrument.Loop is not { Test: { } test })
        {
            yield break;
        }

        PanelScreen? screen = review.Panel.Screens.FirstOrDefault(s => s.Enters?.Value == PanelSource.TestCurrent && s.Loop == PanelLoop.Test);
        if (screen is null || program.EntryOf(PanelSource.TestCurrent) is not (>= 0 and int index))
        {
            yield return Result(
                review,
                [new PanelFault("The loop states test currents, and no screen of the panel lets them be entered while the loop gives them.", "A screen with enters: test current and loop: test.", test.Span)],
                "",
                []);
            yield break;
        }

        const double Milli = 1e-3;
        PanelProgramEntry entry = program.Entries[index];
        (double least, double most) = (entry.Low * entry.Unit * Milli, entry.High * entry.Unit * Milli);
        double half = 0.5 * entry.Step * entry.Unit * Milli;
        List<PanelFault> faults = [];
        SourceSpan place = review.Panel.Entries.FirstOrDefault(e => e.Source.Value == PanelSource.TestCurrent)?.Source.Span ?? screen.Name.Span;
        if (least > test.Low + half || most < test.High - half)
        {
            faults.Add(new PanelFault(
                $"The loop's test goes from {Engineering.Range(test.Low, test.High, "A")}, and `{screen.Name.Value}` enters {Engineering.Range(least, most, "A")}.",
                "The same range under entries, or none: then it is the loop's.",
                place));
        }

        yield return Result(
            review,
            faults,
            $"{Engineering.Range(least, most, "A")} in steps of {Engineering.Format(entry.Step * entry.Unit * Milli, "A")}.",
            [new Figure("least test current", least, "A"), new Figure("greatest test current", most, "A")]);
    }
}
