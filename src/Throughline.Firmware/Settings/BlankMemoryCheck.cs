using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Never-written memory is not taken for settings.</summary>
internal sealed class BlankMemoryCheck : SettingsCheck
{
    public override CheckDescription Description { get; } = new(
        "blank memory starts",
        "Memory that was never written, all FF or all 00, is noticed as that, and factory values stand in for every item.",
        "The store itself on such memories: whether a copy is believed, and which of its items are accepted then. All bits set are true as a flag, −1 or the greatest number as a whole number, and not a number "
        + "as IEEE 754 has it, which is neither below nor above any limit.",
        "IEEE 754-2019, 6.2 and 5.11; erased memory is all FF: common practice, no source.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        SettingsProof proof = SettingsProof.Of(layout);
        if (proof.BlankAccepted.IsEmpty)
        {
            return Make(layout, 1, "Neither all FF nor all 00 is taken for settings: the instrument starts with its factory values and says so.", [new Figure("items judged", layout.Items.Length, "")], "");
        }

        byte blank = proof.BlankAccepted[0].Blank;
        (byte Blank, SettingsRecord Record, SettingsItem Item, long Stored)[] accepted = [.. proof.BlankAccepted.Where(a => a.Blank == blank)];
        string told = List(accepted.Select(a => $"{a.Item.Name} {Reads(a.Item, a.Stored)}"));
        bool hasGuard = layout.Section.GuardKind != MemoryGuard.None;
        string statement = $"Never-written memory, all {Hex(blank)}, is accepted as a setting: {told}.";
        if (accepted.FirstOrDefault(a => a.Item.Source is { Test: AcceptanceTest.RefusedOutside, Accepted: not null } && a.Item.IsFloat && SettingsItem.IsNotANumber(a.Stored)) is { Item: { } let })
        {
            QuantityRange range = let.Source.Accepted!;
            statement += $" A test of {let.Name} for below {Engineering.Number(range.Low)} or above {Engineering.Number(range.High)} lets through what is not a number.";
        }

        return Make(
            layout, -1, statement,
            [
                new Figure("items that accept the blank state", accepted.Length, ""), new Figure("items judged", layout.Items.Length, ""), new Figure("blank byte", blank, ""),
            ],
            hasGuard ? "A mark or a version in front of every copy (mark: true), or a guard that blank memory does not have by itself, such as crc-16."
                : "A guard and a mark for every copy (guard: crc-16, mark: true); for an item alone, test: accepted inside, and a range without its blank state.",
            accepted[0].Item.Source.TestPlace ?? accepted[0].Item.Source.Span);
    }

    private static string Reads(SettingsItem item, long stored) =>
        item.IsFlag ? $"reads {Value(item, stored)}" : item.IsFloat && SettingsItem.IsNotANumber(stored) ? "is not a number" : $"reads {Value(item, stored)}";
}
