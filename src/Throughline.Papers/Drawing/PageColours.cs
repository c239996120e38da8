namespace Throughline.Papers;

/// <summary>Gives a drawing the colours of the page that it stands in, so that it is light or dark with it.</summary>
public static class PageColours
{
    private static readonly (string Ours, string Page)[] Colours =
    [
        (Ground.Paper, "var(--ground)"),
        (Ground.Shade, "var(--ground-said)"),
        (Ground.Ink, "var(--ink)"),
        (Ground.Quiet, "var(--ink-quiet)"),
        (Ground.Hairline, "var(--hair)"),
        (Ground.Vermilion, "var(--not-met)"),
        (Ground.Ochre, "var(--marginal)"),
        (Ground.Blue, "var(--live)"),
        ("#ffffff", "var(--ground-lift)"),
    ];

    /// <summary>The drawing with its colours named as the page's style sheet names them, its font left to the page, and nothing that a page forbids.</summary>
    /// <param name="drawing">An SVG that one of the drawings here made.</param>
    public static string Of(string drawing)
    {
        foreach ((string ours, string page) in Colours)
        {
            drawing = drawing.Replace($"\"{ours}\"", $"\"{page}\"", StringComparison.Ordinal);
        }

        return drawing
            .Replace(" style=\"font-variant-numeric:tabular-nums\"", "", StringComparison.Ordinal)
            .Replace($" font-family=\"{Ground.Font}\"", "", StringComparison.Ordinal);
    }
}
