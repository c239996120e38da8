using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Workbench.State;

/// <summary>A played panel and the world around it at one moment.</summary>
/// <param name="Lines">Of the display from the top; blank without power.</param>
/// <param name="Screen">Place of the screen in the panel.</param>
/// <param name="Language">Place in the program's languages.</param>
/// <param name="LoopValue">NaN without a loop.</param>
/// <param name="Failures">Words of what has failed; empty for nothing.</param>
/// <param name="Sensor">What the sensor is in, in the specification's unit.</param>
/// <param name="Celsius">Temperature of the process.</param>
/// <param name="Calibrating">How a calibration stands; empty when none is under way.</param>
/// <param name="Kept">What the user's calibration has left, in words; empty where nothing is kept.</param>
/// <param name="IsArmed">Whether the power is to fail while settings are written.</param>
/// <param name="Speed">Seconds of the panel in one second; 0 while time stands still.</param>
/// <param name="Log">What happened, the last first.</param>
/// <param name="Mistake">What is wrong with the last step that was asked for; null when nothing is.</param>
/// <param name="Notice">What the user has to know of; null for nothing.</param>
public sealed record PanelView(
    ImmutableArray<string> Lines, int Screen, int Language, ImmutableArray<PanelKeyView> Keys, double Seconds, double LoopValue, PanelLoop Loop, string Failures, double Sensor,
    double Celsius, bool IsBroken, string Calibrating, string Kept, bool IsOn, bool IsArmed, int Speed, ImmutableArray<PanelLogEntry> Log, string? Mistake, string? Notice);

/// <summary>A key on the screen that is shown.</summary>
/// <param name="Label">Null where it has none.</param>
/// <param name="HasEffect">Whether it would do something now.</param>
public sealed record PanelKeyView(string? Label, bool HasEffect);

/// <summary>Something that happened, seconds after the first switching on.</summary>
public sealed record PanelLogEntry(double Seconds, string What);
