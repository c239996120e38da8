using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What stands above a key is what it does.</summary>
internal sealed class KeyLabelsCheck : PanelCheck
{
    public override CheckDescription Description { get; } = new(
        "keys and labels agree",
        "On every screen with keys the last row holds the labels: each stands above its own key and no other, no key has two, no key with an effect is without one, "
        + "and nothing stands above a key that has no effect in any state.",
        "The display's last row, cut into as many equal stretches as there are keys, in every language; effects over all reachable states.",
        "Common practice, no source.");

    protected override IEnumerable<Finding> Judge(PanelReview review)
    {
        PanelSection panel = review.Panel;
        List<PanelFault> faults = [];
        int labels = 0;
        foreach (PanelPage page in review.Pages().Where(p => !p.Screen.Keys.IsEmpty))
        {
            KeyLayout layout = KeyLayout.Of(panel, page.Lines, page.Screen.Keys, page.Labels);
            labels += layout.Keys.Length;
            foreach (PlacedKey key in layout.Keys)
            {
                if (Complaint(page, key, layout) is { } fault)
                {
                    faults.Add(fault);
                }
            }

            foreach ((string text, _) in layout.Strays)
            {
                faults.Add(new PanelFault(
                    $"{page.Name}: `{text}` stands in the row of labels and no key does it.", "A key that does it, or another row for the text.", page.Lines[^1].Span));
            }
        }

        faults.AddRange(WithoutKeys(review));
        faults.AddRange(WithoutEffect(review));
        int screens = panel.Screens.Count(s => !s.Keys.IsEmpty);
        yield return Result(
            review, faults, $"{Count(labels)} labels on {Count(screens)} screens, each above its key, {Over(review)}.",
            [new Figure("labels", labels, ""), .. SpaceFigures(review)],
            labels == 0 ? -1 : -Math.Min(1, (double)faults.Count / labels));
    }

    private static PanelFault? Complaint(PanelPage page, PlacedKey key, KeyLayout layout)
    {
        string label = $"{page.Name}: `{key.Label.Value}`";
        if (key.Above is not var (first, last))
        {
            return new PanelFault(
                $"{label} is not in the display's last row{(key.Number is { } n ? $": key {Count(n + 1)} has an effect and no label" : "")}.",
                "The label in the last row, above its key, with a blank to each side.",
                key.Label.Span);
        }

        if (key.Key.Number is { } number && (first > number || last < number))
        {
            return new PanelFault($"{label} stands above key {Count(first + 1)} and belongs to key {Count(number + 1)}.", $"The label above key {Count(number + 1)}.", page.Lines[^1].Span);
        }

        if (first != last)
        {
            return new PanelFault($"{label} stands above the keys {Count(first + 1)} and {Count(last + 1)}.", "A shorter label, or one that stands above its key alone.", page.Lines[^1].Span);
        }

        return layout.Keys.First(k => k.Number == key.Number) is { } other && !ReferenceEquals(other, key)
            ? new PanelFault($"{label} and `{other.Label.Value}` stand above the same key {Count(first + 1)}.", "Each label above a key of its own.", page.Lines[^1].Span)
            : null;
    }

    /// <summary>Screens without keys whose last row shows what is a label elsewhere.</summary>
    private static IEnumerable<PanelFault> WithoutKeys(PanelReview review)
    {
        HashSet<string> labels = [.. review.Pages().SelectMany(p => p.Labels.IsEmpty ? p.Screen.Keys.Select(k => k.Label.Value) : p.Labels.Select(l => l.Value))];
        foreach (PanelPage page in review.Pages().Where(p => p.Screen.IsDescribed && p.Screen.Keys.IsEmpty))
        {
            foreach ((string text, _) in KeyLayout.Of(review.Panel, page.Lines, [], []).Strays.Where(s => labels.Contains(s.Text)))
            {
                yield return new PanelFault($"{page.Name} shows `{text}`, and no key does anything.", $"A key that does `{text}`, or another text.", page.Lines[^1].Span);
            }
        }
    }

    private static IEnumerable<PanelFault> WithoutEffect(PanelReview review)
    {
        PanelMachine machine = review.Machine;
        HashSet<(int, int)> works = [];
        foreach (PanelState state in review.Space.States)
        {
            for (int key = 0; key < review.Panel.Keys; key++)
            {
                if (machine.HasEffect(state, key))
                {
                    works.Add((state.Screen, key));
                }
            }
        }

        foreach (int screen in review.Space.Screens)
        {
            foreach (PlacedKey key in machine.Layouts[screen].Keys)
            {
                if (key.Number is { } number && !works.Contains((screen, number)))
                {
                    yield return new PanelFault(
                        $"`{review.Panel.Screens[screen].Name.Value}`: `{key.Label.Value}` is shown and has no effect in any state.",
                        key.Key.Action.Kind switch
                        {
                            PanelActionKind.Up or PanelActionKind.Down => "Say what the screen enters, or leave the key out.",
                            PanelActionKind.Take => "Say which standard the screen calibrates, or leave the key out.",
                            _ => "Leave the key out.",
                        },
                        key.Label.Span);
                }
            }
        }
    }
}
