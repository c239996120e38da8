using System.Collections.Immutable;
using System.Runtime.CompilerServices;

namespace Throughline.Firmware;

/// <summary>
/// Faults of every kind at every place, tried on the store itself: power that fails at any write of any operation and leaves any byte, power that fails again
/// while that is repaired, and any wrong byte anywhere.
/// </summary>
/// <remarks>
/// A failing power only cuts a sequence of writes short, so that the store performs each operation once and its writes are laid down one by one; what a load makes of every memory on the way
/// is judged as that of one changed byte.
/// </remarks>
public sealed class SettingsProof
{
    private const int ByteValues = 256;
    private static readonly ConditionalWeakTable<SettingsLayout, SettingsProof> Known = [];

    private readonly SettingsStore _store;
    private readonly SettingsMemory _memory;
    private readonly long[] _found;
    private readonly List<(int Address, byte Value)> _written = [];
    private readonly List<(int Address, byte Value)> _repaired = [];

    private SettingsProof(SettingsLayout layout)
    {
        Layout = layout;
        _memory = new SettingsMemory(layout.End);
        _store = new SettingsStore(layout, _memory);
        _found = new long[layout.Items.Length];
    }

    public SettingsLayout Layout { get; }

    /// <summary>Memories that a failing power was made to leave, and loaded again.</summary>
    public long Cuts { get; private set; }

    /// <summary>Writes at which it was made to fail.</summary>
    public long Writes { get; private set; }

    /// <summary>The first one that leaves neither the old values nor the new ones; null when none does.</summary>
    public SettingsCut? BadCut { get; private set; }

    /// <summary>Wrong bytes tried.</summary>
    public long Spoilt { get; private set; }

    /// <summary>Those of them after which the values were still there.</summary>
    public long Kept { get; private set; }

    /// <summary>The first one that is taken for a setting; null when none is.</summary>
    public SettingsSpoilt? Unnoticed { get; private set; }

    /// <summary>Blank items that are taken for settings, with the byte that the memory is full of.</summary>
    public ImmutableArray<(byte Blank, SettingsRecord Record, SettingsItem Item, long Stored)> BlankAccepted { get; private set; } = [];

    /// <summary>Greatest writes of one byte in one save, record by record.</summary>
    public ImmutableArray<int> WearOfSave { get; private set; } = [];

    public static SettingsProof Of(SettingsLayout layout)
    {
        if (!Known.TryGetValue(layout, out SettingsProof? known))
        {
            known = new SettingsProof(layout);
            known.Run();
            Known.AddOrUpdate(layout, known);
        }

        return known;
    }

    /// <summary>Runs a cut again.</summary>
    /// <param name="found">One for each item of all records; overwritten with what is loaded.</param>
    public static SettingsState Replay(SettingsLayout layout, SettingsCut cut, Span<long> found)
    {
        SettingsMemory memory = new(layout.End);
        SettingsStore store = new(layout, memory);
        SettingsRecord record = layout.Records[cut.Record];
        cut.Before.CopyTo(memory.Bytes);
        memory.PowerOn(cut.Write, cut.Torn);
        Perform(store, record, cut.Operation, cut.New.AsSpan(), found);
        memory.PowerOn();
        return store.Load(record, found);
    }

    private static void Perform(SettingsStore store, SettingsRecord record, SettingsOperation operation, ReadOnlySpan<long> values, Span<long> scratch)
    {
        if (operation is SettingsOperation.Repair or SettingsOperation.Migrate)
        {
            store.Load(record, scratch);
        }
        else
        {
            store.Save(record, values);
        }
    }

    private void Run()
    {
        List<int> wear = [];
        for (int i = 0; i < Layout.Records.Length; i++)
        {
            wear.Add(Wear(Layout.Records[i]));
            Cut(i);
            Spoil(i);
        }

        WearOfSave = [.. wear];
        BlankAccepted = [.. Blank(0xFF), .. Blank(0x00)];
    }

    private long[] Values(Func<SettingsItem, long> of) => [.. Layout.Items.Select(of)];

    private static long Other(SettingsItem item) => item.Factory == Highest(item) ? Lowest(item) : Highest(item);

    private static long Lowest(SettingsItem item) => item.IsFloat ? Bits(item.Low) : item.Low;

    private static long Highest(SettingsItem item) => item.IsFloat ? Bits(item.High) : item.High;

    private static long Bits(long rank) => (rank & 0x80000000) != 0 ? rank & 0x7FFFFFFF : (uint)~rank;

    /// <summary>Never-written memory in which the values have been saved.</summary>
    private byte[] Saved(SettingsRecord record, ReadOnlySpan<long> values)
    {
        _memory.PowerOn();
        Array.Fill(_memory.Bytes, (byte)0xFF);
        _store.Save(record, values);
        return [.. _memory.Bytes];
    }

    private int Wear(SettingsRecord record)
    {
        // From all FF to values of which no byte is FF where that can be: every byte is written.
        long[] values = Values(i => i.Factory);
        int most = 0;
        byte[] before = Saved(record, values);
        foreach (long[] next in new[] { Values(Other), Values(Lowest) })
        {
            _memory.PowerOn();
            before.CopyTo(_memory.Bytes, 0);
            Array.Clear(_memory.Wear);
            _store.Save(record, next);
            most = Math.Max(most, _memory.Wear.Max());
        }

        return most;
    }

    private void Cut(int index)
    {
        SettingsRecord record = Layout.Records[index];
        long[] factory = Values(i => i.Factory);
        long[] other = Values(Other);
        long[] low = Values(Lowest);
        long[] high = Values(Highest);
        byte[] factoryMemory = Saved(record, factory);
        byte[] otherMemory = Saved(record, other);
        byte[] lowMemory = Saved(record, low);

        SettingsScan scan = new(Layout, record);

        Cut(scan, SettingsOperation.Save, index, factoryMemory, factory, other, mayBeFactory: false);
        Cut(scan, SettingsOperation.Save, index, lowMemory, low, high, mayBeFactory: false);
        Cut(scan, SettingsOperation.Restore, index, otherMemory, other, factory, mayBeFactory: false);
        Cut(scan, SettingsOperation.FirstSave, index, [.. Enumerable.Repeat((byte)0xFF, factoryMemory.Length)], factory, other, mayBeFactory: true);
        Cut(scan, SettingsOperation.FirstSave, index, new byte[factoryMemory.Length], factory, other, mayBeFactory: true);
        for (int copy = 0; copy < record.Copies && record.Copies > 1; copy++)
        {
            foreach (byte damage in (byte[])[0x00, 0xFF])
            {
                byte[] damaged = [.. otherMemory];
                Array.Fill(damaged, damage, record.Form.Starts[copy], record.Form.Length);
                Cut(scan, SettingsOperation.Repair, index, damaged, other, other, mayBeFactory: false);
            }
        }

        foreach (SettingsForm older in record.Older)
        {
            foreach (Func<SettingsItem, long> pick in new Func<SettingsItem, long>[] { i => 1, i => (long)i.Word.Greatest / 3 })
            {
                long[] old = [.. older.Items.Select(pick)];
                byte[] before = [.. Enumerable.Repeat((byte)0xFF, factoryMemory.Length)];
                byte[] image = new byte[older.Length];
                _store.Pack(older, old, image);
                foreach (int start in older.Starts)
                {
                    image.CopyTo(before, start);
                }

                long[] wanted = [.. factory];
                SettingsLayout.Migrate(record, older, old, wanted.AsSpan(record.First, record.Form.Items.Length));
                Cut(scan, SettingsOperation.Migrate, index, before, wanted, wanted, mayBeFactory: false);
            }
        }

        if (BadCut is null && !Layout.Section.IsMarked)
        {
            Collide(scan, index);
        }
    }

    /// <summary>Fails the power at every write of an operation, with every value of the byte, and for some of them again while the load repairs.</summary>
    private void Cut(SettingsScan scan, SettingsOperation operation, int index, byte[] before, long[] old, long[] next, bool mayBeFactory)
    {
        if (BadCut is not null)
        {
            return;
        }

        SettingsRecord record = Layout.Records[index];
        Note(before, _written, () => Perform(_store, record, operation, next, _found));
        scan.Fill(before);
        scan.Ask(old, next);
        for (int write = 0; write < _written.Count; write++)
        {
            (int address, byte meant) = _written[write];
            Writes++;
            for (int torn = 0; torn < ByteValues; torn++)
            {
                scan.Set(address, (byte)torn);
                Cuts++;
                if (!IsRight(scan.Verdict(), mayBeFactory))
                {
                    BadCut = Found(operation, index, before, old, next, write, (byte)torn, address);
                    return;
                }

                if (torn is 0 or 255 || torn == before[address] || torn == meant)
                {
                    CutAgain(scan, index, old, next, mayBeFactory);
                    if (BadCut is not null)
                    {
                        return;
                    }
                }
            }

            scan.Set(address, meant);
        }
    }

    /// <summary>Fails the power again, at every write of the load that puts right what the first failure has left. The memory is left as it was.</summary>
    private void CutAgain(SettingsScan scan, int index, long[] old, long[] next, bool mayBeFactory)
    {
        SettingsRecord record = Layout.Records[index];
        byte[] before = scan.Bytes.ToArray();
        Note(before, _repaired, () => _store.Load(record, _found));
        for (int write = 0; write < _repaired.Count; write++)
        {
            (int address, byte meant) = _repaired[write];
            foreach (byte torn in (ReadOnlySpan<byte>)[0x00, 0xFF, 0x5A])
            {
                scan.Set(address, torn);
                Cuts++;
                if (!IsRight(scan.Verdict(), mayBeFactory))
                {
                    BadCut = Found(SettingsOperation.Repair, index, before, old, next, write, torn, address);
                    return;
                }
            }

            scan.Set(address, meant);
        }

        foreach ((int address, byte _) in _repaired)
        {
            scan.Set(address, before[address]);
        }
    }

    /// <summary>Performs something on a memory, and notes what it writes.</summary>
    private void Note(byte[] before, List<(int Address, byte Value)> log, Action perform)
    {
        before.CopyTo(_memory.Bytes, 0);
        _memory.PowerOn();
        log.Clear();
        _memory.Log = log;
        perform();
        _memory.Log = null;
    }

    /// <summary>A cut that was found, run again as it would happen.</summary>
    private SettingsCut Found(SettingsOperation operation, int index, byte[] before, long[] old, long[] next, int write, byte torn, int address)
    {
        SettingsCut cut = new(operation, index, [.. before], [.. next], [.. old], write, torn, address, SettingsState.Good, []);
        Values(i => i.Factory).CopyTo(_found, 0);
        SettingsState state = Replay(Layout, cut, _found);
        return cut with { State = state, Found = [.. _found] };
    }

    private static bool IsRight(SettingsVerdict verdict, bool mayBeFactory) =>
        (verdict.State != SettingsState.Factory || mayBeFactory) && (verdict.IsOld || verdict.IsNew);

    /// <summary>Without a mark, looks for values whose mixture has the right guard by chance.</summary>
    private void Collide(SettingsScan scan, int index)
    {
        const int Pairs = 3_000;
        SettingsRecord record = Layout.Records[index];
        SettingsForm form = record.Form;
        long[] old = Values(i => i.Factory);
        long[] next = Values(i => i.Factory);
        RepeatedNumbers numbers = new(1);
        for (int pair = 0; pair < Pairs; pair++)
        {
            for (int i = 0; i < form.Items.Length; i++)
            {
                old[record.First + i] = Random(form.Items[i]);
                next[record.First + i] = Random(form.Items[i]);
            }

            byte[] before = Saved(record, old);
            Note(before, _written, () => _store.Save(record, next));
            scan.Fill(before);
            scan.Ask(old, next);
            for (int write = 0; write < _written.Count; write++)
            {
                // The byte is not torn: the write before was the last.
                (int address, byte meant) = _written[write];
                byte torn = before[address];
                scan.Set(address, torn);
                Cuts++;
                if (!IsRight(scan.Verdict(), mayBeFactory: false))
                {
                    BadCut = Found(SettingsOperation.Save, index, before, old, next, write, torn, address);
                    return;
                }

                scan.Set(address, meant);
            }
        }

        long Random(SettingsItem item)
        {
            long at = (long)((UInt128)(numbers.Next() >> 16) * (UInt128)(item.High - (Int128)item.Low + 1) >> 48) + item.Low;
            return item.IsFloat ? Bits(at) : at;
        }
    }

    /// <summary>Every other value of every byte of every copy.</summary>
    private void Spoil(int index)
    {
        SettingsRecord record = Layout.Records[index];
        SettingsForm form = record.Form;
        long[] saved = Values(Other);
        byte[] before = Saved(record, saved);
        SettingsScan scan = new(Layout, record);
        scan.Fill(before);
        scan.Ask(saved, saved);
        foreach (int address in form.Starts.SelectMany(s => Enumerable.Range(s, form.Length)).Distinct())
        {
            for (int value = 0; value < ByteValues; value++)
            {
                if (value == before[address])
                {
                    continue;
                }

                scan.Set(address, (byte)value);
                SettingsVerdict verdict = scan.Verdict();
                Spoilt++;
                Kept += verdict.IsOld ? 1 : 0;
                if (!verdict.IsOld && verdict.State != SettingsState.Factory && Unnoticed is null)
                {
                    scan.Bytes.CopyTo(_memory.Bytes);
                    _memory.PowerOn();
                    _store.Load(record, _found);
                    Unnoticed = new SettingsSpoilt(index, [.. before], address, (byte)value, [.. saved], [.. _found]);
                }
            }

            scan.Set(address, before[address]);
        }
    }

    /// <summary>What is taken for a setting when the memory was never written.</summary>
    private IEnumerable<(byte, SettingsRecord, SettingsItem, long)> Blank(byte blank)
    {
        foreach (SettingsRecord record in Layout.Records)
        {
            Array.Fill(_memory.Bytes, blank);
            bool isBelieved = Enumerable.Range(0, record.Copies).Any(c => _store.IsGood(record.Form, c));
            foreach (SettingsItem item in isBelieved ? record.Form.Items : [])
            {
                int unused = 64 - item.Word.Bits;
                long stored = blank == 0 ? 0 : item.Word.IsSigned ? -1 : (long)(ulong.MaxValue >> unused);
                if (item.Accepts(stored))
                {
                    yield return (blank, record, item, stored);
                }
            }
        }
    }
}
