using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>A power cut leaves old or new.</summary>
internal sealed class PowerCutCheck : SettingsCheck
{
    /// <summary>The chance that a mixture passes its guard, above which it is not left to chance.</summary>
    private const double Allowed = 1e-4;

    public override CheckDescription Description { get; } = new(
        "settings survive a power cut",
        "Wherever the power fails while settings are saved, restored, repaired or taken over, the next start finds the old values or the new ones, whole.",
        "The store itself on a memory of bytes, exhaustively: for every record and every operation the power fails at every byte write, the byte holds each of its 256 values, "
        + "and fails again at every write of the repair that follows. Without a mark the guard alone tells a mixture: values are searched whose mixture passes it, and its chance is 1 in 2 to the guard's bits.",
        "Exhaustive fault injection; the allowed chance of 1 in 10 000: common practice, no source.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        SettingsProof proof = SettingsProof.Of(layout);
        Figure[] figures = [new("failing writes tried", proof.Writes, ""), new("states tried", proof.Cuts, "")];
        MemorySection section = layout.Section;
        if (proof.BadCut is { } cut)
        {
            SettingsRecord record = layout.Records[cut.Record];
            bool isLost = cut.State == SettingsState.Factory;
            string what = isLost ? "neither the old values nor the new ones are left, and factory values stand in"
                : $"a mixture is taken for settings: {Values(record, cut.Found)}, where {Values(record, cut.Old)} was, and {Values(record, cut.New)} was to be";
            string statement = string.Create(
                CultureInfo.InvariantCulture,
                $"Power lost while {Operation(cut.Operation)} {record.Name}, at write {cut.Write + 1} (address {cut.Address}, the byte left at {Hex(cut.Torn)}): {what}.");
            (string mend, SourceSpan? place) = this switch
            {
                _ when record.Copies == 1 => ("Two copies, one written after the other.", section.CopiesPlace),
                _ when section.Order == CopyOrder.SideBySide => ("Write one copy after the other: while one is being written the other is whole.", section.OrderPlace),
                _ when section.GuardKind == MemoryGuard.None => ("A guard for every copy, such as guard: crc-16.", section.Guard?.Span),
                _ when layout.Overlaps().Any() => ("Copies that do not lie over each other.", record.Source.Addresses.IsEmpty ? null : record.Source.Addresses[0].Span),
                _ when !section.IsMarked => ("A mark (mark: true) that says that a copy is being written, or a guard of more bits.", section.MarkPlace ?? section.Guard?.Span),
                _ when record.Form.Guard.Bits <= 8 || cut.Operation != SettingsOperation.Migrate => ("A guard of more bits, such as guard: crc-16.", section.Guard?.Span),
                _ => ("Room for the older layout until the new one is whole.", record.Source.Span),
            };
            return Make(
                layout, -1, statement, [new Figure("write", cut.Write + 1, ""), new Figure("address", cut.Address, ""), new Figure("byte left", cut.Torn, ""), .. figures], mend, place ?? record.Source.Span);
        }

        string tried = $"{Count(proof.Writes)} writes at which the power fails, {Count(proof.Cuts)} memories left by that";
        if (!section.IsMarked)
        {
            int bits = layout.Records.Min(r => r.Form.Guard.Bits);
            double chance = Math.ScaleB(1, -bits);
            return Make(
                layout, chance > Allowed ? -1 : 0, $"Old or new after {tried}; but nothing marks a copy that is being written, and a mixture passes the guard by a chance of 1 in {Count(1 / chance)}.",
                [new Figure("chance that a mixture passes", chance, ""), .. figures], "A mark (mark: true) leaves nothing to chance.", section.MarkPlace);
        }

        return Make(layout, 1, $"Old or new, never a mixture: {tried}.", [.. figures], "");
    }

    private static string Operation(SettingsOperation operation) => operation switch
    {
        SettingsOperation.Save => "saving",
        SettingsOperation.FirstSave => "saving into never-written memory",
        SettingsOperation.Restore => "restoring",
        SettingsOperation.Repair => "repairing",
        _ => "taking over the older layout of",
    };
}
