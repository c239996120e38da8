using System.Globalization;
using Throughline.Analysis;

namespace Throughline.Firmware;

/// <summary>A wrong byte is noticed.</summary>
internal sealed class CorruptionCheck : SettingsCheck
{
    public override CheckDescription Description { get; } = new(
        "settings notice corruption",
        "Any single wrong byte in memory is noticed at the next start, and put right from a copy or from the factory values.",
        "The store itself, exhaustively: every byte of every copy with each of its 255 other values.",
        "Exhaustive fault injection.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        SettingsProof proof = SettingsProof.Of(layout);
        Figure[] figures = [new("wrong bytes tried", proof.Spoilt, ""), new("put right from a copy", proof.Kept, ""), new("left to factory values", proof.Spoilt - proof.Kept, "")];
        if (proof.Unnoticed is { } spoilt)
        {
            SettingsRecord record = layout.Records[spoilt.Record];
            return Make(
                layout, -1,
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"Address {spoilt.Address} at {Hex(spoilt.Value)} instead of {Hex(spoilt.Before[spoilt.Address])} is not noticed: {Values(record, spoilt.Found)} is taken for {Values(record, spoilt.Saved)}."),
                [new Figure("address", spoilt.Address, ""), new Figure("wrong byte", spoilt.Value, ""), .. figures], "A guard for every copy, such as guard: crc-16.", layout.Section.Guard?.Span ?? record.Source.Span);
        }

        string how = proof.Kept == proof.Spoilt ? "all put right from a copy" : $"{Count(proof.Kept)} put right from a copy, for the others factory values stand in";
        return Make(layout, 1, $"Every one of {Count(proof.Spoilt)} wrong bytes is noticed, {how}.", [.. figures], "");
    }
}
