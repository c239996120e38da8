using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The output test does what the file promises.</summary>
internal sealed class OutputTestCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "output test covers its range",
        "On the panel every current or voltage of the output's `test` can be entered.",
        "The ends of what can be entered on the screen that gives the output test, against what the file states of it; half a step is left to either side.",
        "Common practice, no source.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        if (PanelProgram.Of(review.Instrument) is not { Output: not null } program || review.Instrument.Loop is not { Test: { } test, Signal: { } signal })
        {
            yield break;
        }

        PanelScreen? screen = review.Panel.Screens.FirstOrDefault(s => s.Enters?.Value == PanelSource.TestCurrent && s.Loop == PanelLoop.Test);
        if (screen is null || program.EntryOf(PanelSource.TestCurrent) is not (>= 0 and int index))
        {
            yield return Result(
                review,
                [new PanelFault($"The {signal.Place} states {signal.TestWord}s, and no screen of the panel lets them be entered while the {signal.Place} gives them.", $"A screen with enters: {signal.TestWord} and {signal.Place}: test.", test.Span)],
                "",
                []);
            yield break;
        }

        double shown = signal.ShownScale;
        PanelProgramEntry entry = program.Entries[index];
        (double least, double most) = (entry.Low * entry.Unit * shown, entry.High * entry.Unit * shown);
        double half = 0.5 * entry.Step * entry.Unit * shown;
        List<PanelFault> faults = [];
        SourceSpan place = review.Panel.Entries.FirstOrDefault(e => e.Source.Value == PanelSource.TestCurrent)?.Source.Span ?? screen.Name.Span;
        if (least > test.Low + half || most < test.High - half)
        {
            faults.Add(new PanelFault(
                $"The {signal.Place}'s test goes from {Engineering.Range(test.Low, test.High, signal.Unit)}, and `{screen.Name.Value}` enters {Engineering.Range(least, most, signal.Unit)}.",
                $"The same range under entries, or none: then it is the {signal.Place}'s.",
                place));
        }

        yield return Result(
            review,
            faults,
            $"{Engineering.Range(least, most, signal.Unit)} in steps of {Engineering.Format(entry.Step * entry.Unit * shown, signal.Unit)}.",
            [new Figure("least " + signal.TestWord, least, signal.Unit), new Figure("greatest " + signal.TestWord, most, signal.Unit)]);
    }
}
