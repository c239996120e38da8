namespace Throughline.Firmware;

/// <summary>A state of the panel: everything on which its next step depends, values that are entered only by class.</summary>
/// <param name="Screen">Index of the screen.</param>
/// <param name="Taken">One bit for each standard whose reading has been taken; 0 outside of a calibration.</param>
/// <param name="IsSteady">Whether the reading may be taken; false outside of a calibration.</param>
/// <param name="IsGood">Whether a calibration would be accepted now.</param>
/// <param name="Failures">One bit for each failure that is present, in the order of the file.</param>
/// <param name="Entries">Two bits for each value that can be entered: see <see cref="EntryClass"/>. Where each begins when nothing is being entered.</param>
public readonly record struct PanelState(int Screen, int Taken, bool IsSteady, bool IsGood, int Failures, int Entries)
{
    public EntryClass ClassOf(int entry) => (EntryClass)((Entries >> (2 * entry)) & 3);

    public PanelState With(int entry, EntryClass value) => this with { Entries = (Entries & ~(3 << (2 * entry))) | ((int)value << (2 * entry)) };
}

/// <summary>Where an entered value lies.</summary>
public enum EntryClass
{
    Between,
    Least,
    Greatest,
}
