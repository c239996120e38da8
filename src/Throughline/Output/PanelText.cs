using Throughline.Firmware;

namespace Throughline.Output;

/// <summary>A display in a frame, with what was done before it and what the loop does.</summary>
internal static class PanelText
{
    public static void Write(Page page, PanelMoment moment)
    {
        page.Line();
        page.Write(moment.Step, Ink.Strong).End();
        foreach (string line in Frame(moment))
        {
            page.Line("  " + line);
        }

        page.Write("  " + moment.Beside, Ink.Quiet).End();
    }

    /// <summary>The lines of the display with a frame about them.</summary>
    public static IEnumerable<string> Frame(PanelMoment moment)
    {
        int width = moment.Display.IsEmpty ? 0 : moment.Display[0].Length;
        yield return "┌" + new string('─', width + 2) + "┐";
        foreach (string line in moment.Display)
        {
            yield return "│ " + line + " │";
        }

        yield return "└" + new string('─', width + 2) + "┘";
    }
}
