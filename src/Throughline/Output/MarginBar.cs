namespace Throughline.Output;

/// <summary>A margin from −1 to 1 as a hairline with its middle at just met and a heavy stroke from there.</summary>
internal static class MarginBar
{
    private const int Half = 6;

    /// <summary>Columns of a bar.</summary>
    public const int Width = (2 * Half) + 1;

    public static string Of(double margin)
    {
        if (double.IsNaN(margin))
        {
            return new string(' ', Width);
        }

        // Any margin that is not zero shows: a stroke of no length would say "just met".
        double length = Math.Min(1, Math.Abs(margin)) * Half;
        int heavy = margin == 0 ? 0 : Math.Clamp((int)Math.Round(length, MidpointRounding.AwayFromZero), 1, Half);
        string light = new('─', Half - heavy);
        string stroke = new('━', heavy);
        string empty = new('─', Half);
        return margin < 0 ? light + stroke + "┼" + empty : empty + "┼" + stroke + light;
    }
}
