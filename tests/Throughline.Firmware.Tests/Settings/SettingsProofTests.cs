using Throughline.Analysis;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Settings;

/// <summary>Fault injection: what a sound layout survives, and that every weakness is found with an example that can be run again.</summary>
public sealed class SettingsProofTests
{
    private const string OneRecord = "endurance: 100 k writes\n  items: [{ name: offset, kind: i16, accepted: −1000 .. 1000 }, { name: span, kind: u16, factory: 100 }]";

    [Fact]
    public void Proof_OfASoundLayout_FindsNothing()
    {
        SettingsProof proof = SettingsProof.Of(MemorySketches.Layout(MemorySketches.Sound));
        Assert.Null(proof.BadCut);
        Assert.Null(proof.Unnoticed);
        Assert.Empty(proof.BlankAccepted);

        // Every byte of every copy with its 255 other values; two copies each of 9 bytes, of 9 again.
        Assert.Equal(36 * 255, proof.Spoilt);
        Assert.Equal(proof.Spoilt, proof.Kept);

        // Two saves, restoring and two first saves at least: each writes both marks twice and at least the guards.
        Assert.True(proof.Writes > 5 * 2 * 2 * 2, $"{proof.Writes}");
        Assert.True(proof.Cuts >= 256 * proof.Writes);
        Assert.Equal([2, 2], proof.WearOfSave);
    }

    [Theory]
    [InlineData("copies: 1", SettingsState.Factory)]
    [InlineData("copies written: side by side", SettingsState.Factory)]
    [InlineData("guard: none", SettingsState.Factory)]
    [InlineData("guard: none\n  copies: 1\n  mark: false", SettingsState.Good)]
    [InlineData("guard: sum-8\n  mark: false", SettingsState.Factory)]
    public void Proof_OfAWeakLayout_GivesACutThatCanBeRunAgain(string weakness, SettingsState state)
    {
        SettingsLayout layout = MemorySketches.Layout($"size: 64 B\n  {weakness}\n  {OneRecord}");
        SettingsCut cut = Assert.IsType<SettingsCut>(SettingsProof.Of(layout).BadCut);
        Assert.Equal(state, cut.State);
        long[] found = new long[2];
        Assert.Equal(state, SettingsProof.Replay(layout, cut, found));
        Assert.Equal(cut.Found, found);
        Assert.True(state == SettingsState.Factory || (!cut.Old.SequenceEqual(found) && !cut.New.SequenceEqual(found)));
    }

    // A slow model against the fast code: the same faults, performed one by one from the beginning.
    [Theory]
    [InlineData(MemorySketches.Sound)]
    [InlineData("size: 64 B\n  order: big endian\n  guard: crc-32\n  copies: 3\n  " + OneRecord)]
    [InlineData("size: 64 B\n  guard: crc-8\n  copies: 1\n  " + OneRecord)]
    [InlineData("size: 64 B\n  copies written: side by side\n  " + OneRecord)]
    [InlineData("size: 64 B\n  guard: sum-8\n  " + OneRecord)]
    [InlineData("size: 64 B\n  guard: none\n  " + OneRecord)]
    [InlineData("size: 64 B\n  guard: none\n  copies: 1\n  mark: false\n  " + OneRecord)]
    [InlineData("size: 64 B\n  records:\n    first: { at: [0, 5], items: [{ name: offset, kind: i32 }] }\n    second: { at: [20, 30], items: [{ name: span, kind: u16 }] }")]
    public void Proof_OfAnyLayout_IsThatOfEveryFaultByItself(string memory)
    {
        SettingsLayout layout = MemorySketches.Layout(memory);
        SettingsProof proof = SettingsProof.Of(layout);
        ProofByForce force = new(layout);
        Assert.Equal(force.Writes, proof.Writes);
        Assert.Equal(force.Cuts, proof.Cuts);
        Assert.Equal(force.Bad, proof.BadCut is { } cut ? (cut.Operation, cut.Record, cut.Write, cut.Torn, cut.Address, cut.State, ProofByForce.Own(layout.Records[cut.Record], cut.Found)) : null);
        Assert.Equal((force.Spoilt, force.Kept), (proof.Spoilt, proof.Kept));
        Assert.Equal(force.Unnoticed, proof.Unnoticed is { } spoilt ? (spoilt.Record, spoilt.Address, spoilt.Value) : null);
    }

    [Fact]
    public void Proof_WithoutGuardAndCopy_FindsAWrongByteThatIsTakenForASetting()
    {
        SettingsLayout layout = MemorySketches.Layout($"size: 64 B\n  guard: none\n  copies: 1\n  {OneRecord}");
        SettingsSpoilt spoilt = Assert.IsType<SettingsSpoilt>(SettingsProof.Of(layout).Unnoticed);
        SettingsMemory memory = new(layout.End);
        spoilt.Before.CopyTo(memory.Bytes);
        memory.Bytes[spoilt.Address] = spoilt.Value;
        long[] found = new long[2];
        Assert.NotEqual(SettingsState.Factory, new SettingsStore(layout, memory).Load(found));
        Assert.Equal(spoilt.Found, found);
    }

    // By hand: CRC-8 from 0 over zeros is 0, a sum of zeros is 0; n bytes of FF have the sum −n, which is FF for one byte.
    [Theory]
    [InlineData("crc-8", "u16", true)]
    [InlineData("sum-8", "u16", true)]
    [InlineData("crc-16", "u16", false)]
    [InlineData("crc-32", "u16", false)]
    public void BlankMemory_WithoutMark_PassesAGuardThatIsZeroOverZeros(string guard, string kind, bool passes)
    {
        SettingsProof proof = SettingsProof.Of(MemorySketches.Layout($"size: 64 B\n  guard: {guard}\n  mark: false\n  items: [{{ name: level, kind: {kind} }}]"));
        Assert.Equal(passes, proof.BlankAccepted.Any(b => b.Blank == 0));
        Assert.DoesNotContain(proof.BlankAccepted, b => b.Blank == 0xFF);
    }

    [Fact]
    public void BlankMemory_OfOneByteUnderASum_PassesAllFf() =>
        Assert.Contains(SettingsProof.Of(MemorySketches.Layout("size: 64 B\n  guard: sum-8\n  mark: false\n  items: [{ name: level, kind: u8 }]")).BlankAccepted, b => b.Blank == 0xFF);

    // Koopman and Chakravarty 2004, from memory: x⁸+x²+x+1 keeps a Hamming distance of 4 up to 119 bits of data, 0x1021 up to 32751 bits; so no pair of bits goes unnoticed.
    // A burst as long as the check is always noticed (W. W. Peterson and D. T. Brown, Cyclic codes for error detection, Proc. IRE 1961): for 16 bits two neighbouring bytes.
    [Theory]
    [InlineData(MemoryGuard.Crc8, 14, 0)]
    [InlineData(MemoryGuard.Crc16, 100, 0)]
    [InlineData(MemoryGuard.Crc32, 60, 0)]
    public void Strength_OfCyclicChecks_IsThePublishedOne(MemoryGuard kind, int bytes, long missed)
    {
        GuardStrength strength = GuardStrength.Of(GuardCode.Of(kind), bytes);
        Assert.Equal(missed, strength.PairsMissed);
        Assert.True(kind == MemoryGuard.Crc8 ? strength.SwapsMissed <= strength.Swaps / 255 : strength.SwapsMissed == 0);
    }

    [Fact] // x⁸+x²+x+1 has the order 127: bits 127 apart cancel, the first time at 16 bytes with their check.
    public void Strength_OfEightBits_EndsAtItsOrder() => Assert.NotEqual(0, GuardStrength.Of(GuardCode.Of(MemoryGuard.Crc8), 16).PairsMissed);

    [Fact] // Every swap, by brute force over two bytes.
    public void Strength_OfASum_MissesEverySwap()
    {
        GuardStrength strength = GuardStrength.Of(GuardCode.Of(MemoryGuard.Sum8), 2);
        Assert.Equal(strength.Swaps, strength.SwapsMissed);
        Assert.All(Enumerable.Range(0, 65_536), i => Assert.Equal(GuardCode.Of(MemoryGuard.Sum8).Compute([(byte)i, (byte)(i >> 8)]), GuardCode.Of(MemoryGuard.Sum8).Compute([(byte)(i >> 8), (byte)i])));
    }

    [Theory] // By hand: 10 years of 365.25 days at 10 per day are 36 525 saves; the mark is written twice in each.
    [InlineData("10 per day", 2 * 36_526)]
    [InlineData("every 1 h", 2 * 87_661)]
    public void Wear_OfAUse_IsCounted(string written, double writes)
    {
        Instrument instrument = MemorySketches.Instrument($"size: 64 B\n  endurance: 100 k writes\n  records: {{ level: {{ written: {written}, items: [{{ name: level, kind: u16 }}] }} }}");
        Finding finding = Assert.Single(new FirmwareChecks().Run(instrument), f => f.Check == "settings outlive their writes");
        Assert.Equal(writes, finding.Figures.Single(f => f.Name == "writes over the life").Value);
        Assert.Equal(writes > 100e3 ? Outcome.NotMet : Outcome.Met, finding.Outcome);
    }

    [Fact]
    public void Demos_HaveSoundSettings() =>
        Assert.All(Sketches.DemosWithMemory, name => Assert.Null(SettingsLayout.Of(Sketches.Demo(name))!.Trouble));
}
