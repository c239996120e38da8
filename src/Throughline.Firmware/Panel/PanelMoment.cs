using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>What a played instrument shows after a step.</summary>
/// <param name="Line">Of the script; 0 for switching on.</param>
/// <param name="Seconds">Since switching on.</param>
/// <param name="Display">Lines from the top.</param>
/// <param name="LoopValue">NaN without a loop.</param>
/// <param name="Measurand">What the code takes the measurand for, in its unit; NaN before the first reading.</param>
public sealed record PanelMoment(
    int Line, string Step, double Seconds, string Screen, ImmutableArray<string> Display, PanelLoop Loop, double LoopValue, long OutputCode, double Measurand,
    ImmutableArray<string> Failures, string Beside)
{
    public static PanelMoment Of(PanelPlayer player, int line, string step) => new(
        line, step, player.Seconds, player.Screen, player.Lines, player.Panel.Loop, player.LoopValue, player.Engine.OutputCode, player.Engine.Measurand,
        [.. PanelWords.Failures.Where(f => (player.Engine.Failures & (1 << (int)f.Kind)) != 0).Select(f => f.Word)], player.Beside());
}
