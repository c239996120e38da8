using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A person can trim the output, stop doing so, and what was found stays.</summary>
internal sealed class OutputTrimOnPanelCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "output trim on the panel",
        "Both currents or voltages of the trim have a screen on which what the meter shows is entered and taken, in every state of it one key ends the trim, and what is found outlives the power.",
        "Screens that enter a value of the trim, their keys in every reachable state, and the items of the settings memory.",
        "Common practice, no source.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        OutputSignal signal = review.Instrument.Output;
        PanelSpace space = review.Space;
        PanelMachine machine = space.Machine;
        PanelScreen[] screens = [.. review.Panel.Screens.Where(s => s.Trims is not null)];
        if (review.Instrument.Loop?.Trim is not { } trim)
        {
            if (screens.Length > 0)
            {
                yield return Result(
                    review,
                    [new PanelFault($"`{screens[0].Name.Value}` enters a {signal.Noun} of the output's trim, and the {signal.Place} has no trim.",
                        signal.IsVoltage ? "A trim in voltage output, such as trim: { low: 1 V, high: 10 V, meter: 4.5 digit, accept: ±0.3 V }." : "A trim in loop, such as trim: { low: 4 mA, high: 20 mA, meter: 4.5 digit, accept: ±0.5 mA }.", screens[0].Name.Span)],
                    "",
                    []);
            }

            yield break;
        }

        List<PanelFault> faults = [];
        foreach (PanelSource source in new[] { PanelSource.OutputTrimLow, PanelSource.OutputTrimHigh })
        {
            if (!screens.Any(s => s.Enters!.Value.Value == source))
            {
                faults.Add(new PanelFault($"No screen lets the {PanelWords.WordOf(source)} be entered.", $"A screen with enters: {PanelWords.WordOf(source)}, and a key that takes it.", trim.Span));
            }
        }

        foreach (PanelScreen screen in screens.Where(s => !Actions(machine, s).Any(a => a.Kind == PanelActionKind.Take)))
        {
            faults.Add(new PanelFault($"No key of `{screen.Name.Value}` takes what is entered.", $"A key on `{screen.Name.Value}` with take.", screen.Name.Span));
        }

        foreach (PanelScreen screen in screens.Where(s => !Actions(machine, s).Any(a => a.Kind == PanelActionKind.Go && review.Panel.Screens[machine.IndexOf(a.Text.Value)].Trims is null)))
        {
            faults.Add(new PanelFault($"No key of `{screen.Name.Value}` ends the trim.", $"A key on `{screen.Name.Value}` that goes to `{review.Panel.Measuring}`.", screen.Name.Span));
        }

        if (SettingsLayout.Of(review.Instrument) is { } layout)
        {
            foreach (MemoryKeeps keeps in new[] { MemoryKeeps.OutputTrimOffset, MemoryKeeps.OutputTrimGain })
            {
                if (!layout.Items.Any(i => i.Source.Keeps == keeps))
                {
                    faults.Add(new PanelFault($"No item of the settings memory keeps the {MemoryWords.WordOf(keeps)}: a trim is gone with the power.", $"An item with keeps: {MemoryWords.WordOf(keeps)}.", layout.Section.Span));
                }
            }
        }

        int steps = space.States.Count(machine.IsTrimming);
        yield return Result(
            review, faults, $"{Engineering.Format(trim.Low.Value, signal.Unit)} and {Engineering.Format(trim.High.Value, signal.Unit)} are entered in steps of {Engineering.Format(trim.Step, signal.Unit)}; a key ends it in each of {Count(steps)} states.",
            [new Figure("states of a trim", steps, ""), .. SpaceFigures(review)]);
    }

    private static IEnumerable<PanelAction> Actions(PanelMachine machine, PanelScreen screen) =>
        Enumerable.Range(0, machine.Panel.Keys).Select(k => machine.ActionOf(machine.IndexOf(screen.Name.Value), k)).OfType<PanelAction>();
}
