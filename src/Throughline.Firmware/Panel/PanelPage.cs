using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A screen in one language.</summary>
/// <param name="Language">Null for the one that screens are written in.</param>
/// <param name="Labels">Labels of the keys in this language; empty for the screen's own.</param>
internal sealed record PanelPage(
    PanelScreen Screen, string? Language, ImmutableArray<Located<string>> Lines, ImmutableArray<Located<PanelSource>> Shows, ImmutableArray<Located<string>> Labels)
{
    /// <summary>Such as <c>`refused`</c> or <c>`refused` in German</c>.</summary>
    public string Name => $"`{Screen.Name.Value}`" + (Language is null ? "" : $" in {Language}");

    /// <summary>Each field with its line and what it shows.</summary>
    public IEnumerable<(Located<string> Line, PanelField Field, PanelSource Source)> Fields()
    {
        int next = 0;
        foreach (Located<string> line in Lines)
        {
            foreach (PanelField field in PanelField.In(line.Value))
            {
                if (next < Shows.Length)
                {
                    yield return (line, field, Shows[next++].Value);
                }
            }
        }
    }
}
