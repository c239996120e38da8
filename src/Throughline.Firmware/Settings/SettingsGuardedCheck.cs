using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The guard is strong enough.</summary>
internal sealed class SettingsGuardedCheck : SettingsCheck
{
    private const double Allowed = 0.01;

    public override CheckDescription Description { get; } = new(
        "settings guarded",
        "Every copy has a guard that notices any two wrong bits and any two neighbouring bytes that have changed places.",
        "Every pair of bits of a copy, guard and all, and every swap of neighbours with every pair of values: for cyclic redundancy checks by the syndromes of single bits, for a sum by counting. At most one case in a hundred may go unnoticed.",
        "P. Koopman and T. Chakravarty, Cyclic redundancy code polynomial selection for embedded networks, DSN 2004, for what such checks notice; the hundredth: common practice, no source.");

    protected override Finding? Judge(SettingsLayout layout)
    {
        MemorySection section = layout.Section;
        string guard = MemoryWords.WordOf(section.GuardKind);
        if (section.GuardKind == MemoryGuard.None)
        {
            return Make(
                layout, -1, "Copies are stored without a guard: what is wrong with them cannot be seen.", [new Figure("bits of the guard", 0, "")], "A guard for every copy, such as guard: crc-16.", section.Guard?.Span);
        }

        (SettingsRecord record, GuardStrength strength, double missed) = layout.Records
            .Select(r => (r, s: GuardStrength.Of(r.Form.Guard, r.Form.GuardOffset)))
            .Select(p => (p.r, p.s, Math.Max((double)p.s.PairsMissed / p.s.Pairs, p.s.Swaps == 0 ? 0 : (double)p.s.SwapsMissed / p.s.Swaps)))
            .MaxBy(p => p.Item3);
        Figure[] figures =
        [
            new("bits of the guard", record.Form.Guard.Bits, ""), new("pairs of wrong bits missed", strength.PairsMissed, ""), new("pairs tried", strength.Pairs, ""),
            new("swaps of neighbours missed", strength.SwapsMissed, ""), new("swaps tried", strength.Swaps, ""),
        ];
        string said = $"of {Count(strength.Pairs)} pairs of wrong bits it misses {Count(strength.PairsMissed)}, of {Count(strength.Swaps)} swaps of neighbouring bytes {Count(strength.SwapsMissed)}";
        return missed > Allowed
            ? Make(layout, -Math.Min(1, missed), $"The guard of {record.Name}, {guard}, is weak: {said}.", [.. figures], "A cyclic redundancy check, such as guard: crc-16.", section.Guard?.Span ?? record.Source.Span)
            : Make(layout, missed == 0 ? 1 : 1 - (missed / Allowed), $"The guard of {record.Name}, {guard}, notices what it should: {said}.", [.. figures], "A guard of more bits.", section.Guard?.Span);
    }
}
