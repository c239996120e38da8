using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Settings;

/// <summary>The store on a memory of bytes.</summary>
public sealed class SettingsStoreTests
{
    private readonly SettingsLayout _layout = MemorySketches.Layout(MemorySketches.Sound);
    private readonly SettingsMemory _memory = new(128);

    private SettingsStore Store => new(_layout, _memory);

    [Theory]
    [InlineData(0x00)]
    [InlineData(0xFF)]
    public void Load_OfNeverWrittenMemory_GivesFactoryValuesAndWritesNothing(byte blank)
    {
        Array.Fill(_memory.Bytes, blank);
        long[] values = new long[5];
        Assert.Equal(SettingsState.Factory, Store.Load(values));
        Assert.Equal([0, 10_000, 1, BitConverter.SingleToUInt32Bits(1.5f), -5], values);
        Assert.All(_memory.Bytes, b => Assert.Equal(blank, b));
    }

    // Places by hand: version, four bytes of the offset, two of the span, two of CRC-16; the older layout is shorter. Two copies of nine bytes, then two of 1 + 6 + 2.
    [Fact]
    public void Layout_PlacesCopiesOneBehindTheOther_LittleEndian()
    {
        Assert.Equal([0, 9], _layout.Records[0].Form.Starts);
        Assert.Equal([18, 27], _layout.Records[1].Form.Starts);
        Store.Save([0x01020304, 0x2710, 1, 0, 0]);
        Assert.Equal([2, 4, 3, 2, 1, 0x10, 0x27], _memory.Bytes[..7]);
        ushort guard = (ushort)GuardCode.Of(MemoryGuard.Crc16).Compute([2, 4, 3, 2, 1, 0x10, 0x27]);
        Assert.Equal([(byte)guard, (byte)(guard >> 8)], _memory.Bytes[7..9]);
        Assert.Equal(_memory.Bytes[..9], _memory.Bytes[9..18]);
    }

    [Fact]
    public void Load_AfterSave_GivesWhatWasSaved_AndASecondSaveWritesNothing()
    {
        long[] saved = [-999_999, 5_001, 0, BitConverter.SingleToUInt32Bits(99.5f), 99];
        Store.Save(saved);
        long[] loaded = new long[5];
        Assert.Equal(SettingsState.Good, Store.Load(loaded));
        Assert.Equal(saved, loaded);
        int[] wear = [.. _memory.Wear];
        Store.Save(saved);
        Assert.Equal(wear, _memory.Wear);
    }

    [Fact]
    public void Load_WithOneWrongCopy_RepairsIt()
    {
        long[] saved = [7, 6_000, 1, 0, 0];
        Store.Save(saved);
        byte[] right = [.. _memory.Bytes];
        _memory.Bytes[3] ^= 0x10;
        long[] loaded = new long[5];
        Assert.Equal(SettingsState.Repaired, Store.Load(loaded));
        Assert.Equal(saved, loaded);
        Assert.Equal(right, _memory.Bytes);
        Assert.Equal(SettingsState.Good, Store.Load(loaded));
    }

    [Fact]
    public void Load_OfAnItemThatIsNotAccepted_TakesItsFactoryValue()
    {
        Store.Save([7, 4_999, 1, 0x7FC00000, 0]);    // below the least span; not a number
        long[] loaded = new long[5];
        Assert.Equal(SettingsState.Factory, Store.Load(loaded));
        Assert.Equal([7, 10_000, 1, BitConverter.SingleToUInt32Bits(1.5f), 0], loaded);
    }

    // By hand: 77 × 100 = 7700 and −1234 × 10 = −12340.
    [Fact]
    public void Load_OfAnOlderLayout_TakesItOver()
    {
        SettingsForm older = _layout.Records[0].Older[0];
        byte[] image = new byte[older.Length];
        Store.Restore(new long[5]);
        Store.Pack(older, [77, -1234], image);
        foreach (int start in older.Starts)
        {
            image.CopyTo(_memory.Bytes, start);
        }

        long[] loaded = new long[5];
        Assert.Equal(SettingsState.Migrated, Store.Load(loaded));
        Assert.Equal([-12_340, 7_700], loaded[..2]);
        Assert.Equal(SettingsState.Good, Store.Load(loaded));
        Assert.Equal([-12_340, 7_700], loaded[..2]);
    }

    [Fact]
    public void Save_CutAtItsFirstWrite_LeavesTheOldValues()
    {
        long[] old = [7, 6_000, 1, 0, 0];
        Store.Save(old);
        _memory.PowerOn(0, 0xA5);
        Store.Save([8, 7_000, 1, 0, 0]);
        Assert.True(_memory.IsDead);
        _memory.PowerOn();
        long[] loaded = new long[5];
        Assert.Equal(SettingsState.Repaired, Store.Load(loaded));
        Assert.Equal(old, loaded);
    }

    [Fact] // An item that is judged by "refused when below or above" lets what is not a number through (IEEE 754: it is neither).
    public void Accepts_WhatIsNotANumber_DependsOnTheTest()
    {
        SettingsItem Item(string test) => MemorySketches.Layout("size: 16 B\n  items: [{ name: slope, kind: f32, factory: 100, accepted: 95 .. 105, test: " + test + " }]").Items[0];
        const long Blank = 0xFFFFFFFF;
        Assert.False(Item("accepted inside").Accepts(Blank));
        Assert.True(Item("refused outside").Accepts(Blank));
        foreach (float value in new[] { 94.99999f, 95f, 100f, 105f, 105.00001f, 0f, -0f, -100f, float.PositiveInfinity, float.NegativeInfinity })
        {
            bool isInside = value >= 95f && value <= 105f;
            Assert.Equal(isInside, Item("accepted inside").Accepts(BitConverter.SingleToUInt32Bits(value)));
            Assert.Equal(isInside, Item("refused outside").Accepts(BitConverter.SingleToUInt32Bits(value)));
        }
    }

    [Theory] // Decimal steps are exact fractions.
    [InlineData(10, 10, 1)]
    [InlineData(0.1, 1, 10)]
    [InlineData(2.5, 5, 2)]
    [InlineData(0.01 / 0.0003, 100, 3)]
    public void Fraction_OfARatio(double ratio, long multiply, long divide) => Assert.Equal((multiply, divide), SettingsItems.Fraction(ratio));

    [Fact]
    public void Keeps_TakesWordRangeAndStepFromTheInstrument()
    {
        SettingsLayout layout = SettingsLayout.Of(Sketches.Demo("nutrient-ph") with { Memory = MemoryOf("records: { calibration: { items: [{ keeps: zero }, { keeps: gain }, { keeps: first standard }] }, choice: { items: [{ keeps: language }] } }") })!;
        ArithmeticDesign design = ArithmeticDesign.Of(Sketches.Demo("nutrient-ph"))!;
        Assert.Null(layout.Trouble);
        Assert.Equal((design.Zero!.Word, (long)design.Zero.Low, (long)design.Zero.High), (layout.Items[0].Word, layout.Items[0].Low, layout.Items[0].High));
        Assert.Equal((design.Gain!.Word, design.Gain.Step), (layout.Items[1].Word, layout.Items[1].Step));
        Assert.Equal((700, 0.01), (layout.Items[2].Factory, layout.Items[2].Step));    // pH 7.00 in steps of the display
        Assert.Equal((0, 1), (layout.Items[3].Low, layout.Items[3].High));    // German beside the screens' own
    }

    private static MemorySection MemoryOf(string records) => MemorySketches.Instrument("size: 256 B\n  " + records).Memory!;
}
