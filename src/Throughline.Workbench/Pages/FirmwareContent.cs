using System.Collections.Immutable;
using Throughline.Firmware;
using Throughline.Workbench.Charts;

namespace Throughline.Workbench.Pages;

/// <summary>What the page of the firmware shows.</summary>
/// <param name="Curve">Error over all codes; null without an arithmetic.</param>
/// <param name="Settings">Null without a settings memory.</param>
/// <param name="SettingsMap">Its drawn map; null without one that fits.</param>
public sealed record FirmwareContent(
    FirmwareCode Code, ChartContent? Curve, ImmutableArray<OutputState> States, SettingsLayout? Settings, SettingsProof? Proof, string? SettingsMap);
