using Throughline.Firmware;

namespace Throughline.Workbench.Pages;

/// <summary>A panel that can be played, or why there is none.</summary>
public sealed record PanelPlay(PanelPlayer? Player, PanelScript? Script, string Why);
