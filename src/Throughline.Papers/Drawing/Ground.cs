namespace Throughline.Papers;

/// <summary>The colours of every drawing: ink on paper; colour only for what is not met or marginal. Contrast of every ink on the paper is at least 4.5 to 1 (WCAG 2.2 AA).</summary>
internal static class Ground
{
    public const string Paper = "#fbfaf6";

    /// <summary>A second paper, for regions.</summary>
    public const string Shade = "#f1efe8";

    public const string Ink = "#1d2733";

    public const string Quiet = "#5b6673";

    public const string Hairline = "#cdd2d6";

    /// <summary>What is not met.</summary>
    public const string Vermilion = "#b8380b";

    /// <summary>What is marginal.</summary>
    public const string Ochre = "#8a5a00";

    /// <summary>What is of the operating point.</summary>
    public const string Blue = "#0b5cad";

    public const string Font = "Inter, 'Segoe UI', 'DejaVu Sans', sans-serif";
}
