namespace Throughline.Firmware;

/// <summary>What a panel is told at a tick.</summary>
/// <param name="Milliseconds">Since the tick before, up to 65535.</param>
/// <param name="Keys">One bit for each key that is down, the leftmost lowest.</param>
/// <param name="Failures">One bit for each failure that is present, in the order of <see cref="Instruments.PanelFailureKind"/>.</param>
/// <param name="IsSteady">Whether the reading is steady enough to be taken.</param>
/// <param name="Values">Numbers in the order of <see cref="Instruments.PanelSource"/>; <see cref="None"/> where there is none. Those that the panel knows itself are not read.</param>
public readonly record struct PanelInputs(long Milliseconds, ulong Keys, int Failures, bool IsSteady, ReadOnlyMemory<long> Values)
{
    /// <summary>A value that there is not.</summary>
    public const long None = int.MinValue;
}
