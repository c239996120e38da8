using Throughline.Firmware;

namespace Throughline.Workbench.Pages;

/// <summary>A panel that can be played, or why there is none.</summary>
/// <param name="Program">Null when there is none.</param>
public sealed record PanelPlay(PanelProgram? Program, string Why);
