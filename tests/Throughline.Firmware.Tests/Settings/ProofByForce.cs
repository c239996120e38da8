namespace Throughline.Firmware.Tests.Settings;

/// <summary>The faults of the settings proof one by one, each performed from the beginning and loaded by the store: slow, and as plain as can be.</summary>
internal sealed class ProofByForce
{
    private readonly SettingsLayout _layout;
    private readonly SettingsMemory _memory;
    private readonly SettingsStore _store;
    private readonly long[] _found;

    public ProofByForce(SettingsLayout layout)
    {
        _layout = layout;
        _memory = new SettingsMemory(layout.End);
        _store = new SettingsStore(layout, _memory);
        _found = new long[layout.Items.Length];
        for (int i = 0; i < layout.Records.Length; i++)
        {
            CutAll(i);
            Spoil(i);
        }
    }

    public long Writes { get; private set; }

    public long Cuts { get; private set; }

    public (SettingsOperation Operation, int Record, int Write, byte Torn, int Address, SettingsState State, string Found)? Bad { get; private set; }

    public long Spoilt { get; private set; }

    public long Kept { get; private set; }

    public (int Record, int Address, byte Value)? Unnoticed { get; private set; }

    /// <summary>What is loaded of one record.</summary>
    public static string Own(SettingsRecord record, IEnumerable<long> values) => string.Join(' ', values.Skip(record.First).Take(record.Form.Items.Length));

    private static long Bits(long rank) => (rank & 0x80000000) != 0 ? rank & 0x7FFFFFFF : (uint)~rank;

    private static long Lowest(SettingsItem item) => item.IsFloat ? Bits(item.Low) : item.Low;

    private static long Highest(SettingsItem item) => item.IsFloat ? Bits(item.High) : item.High;

    private static long Other(SettingsItem item) => item.Factory == Highest(item) ? Lowest(item) : Highest(item);

    private long[] Values(Func<SettingsItem, long> of) => [.. _layout.Items.Select(of)];

    private byte[] Saved(SettingsRecord record, long[] values)
    {
        _memory.PowerOn();
        Array.Fill(_memory.Bytes, (byte)0xFF);
        _store.Save(record, values);
        return [.. _memory.Bytes];
    }

    private void CutAll(int index)
    {
        SettingsRecord record = _layout.Records[index];
        long[] factory = Values(i => i.Factory);
        long[] other = Values(Other);
        byte[] empty = new byte[_layout.End];
        Array.Fill(empty, (byte)0xFF);
        Cut(SettingsOperation.Save, index, Saved(record, factory), factory, other, mayBeFactory: false);
        Cut(SettingsOperation.Save, index, Saved(record, Values(Lowest)), Values(Lowest), Values(Highest), mayBeFactory: false);
        Cut(SettingsOperation.Restore, index, Saved(record, other), other, factory, mayBeFactory: false);
        Cut(SettingsOperation.FirstSave, index, empty, factory, other, mayBeFactory: true);
        Cut(SettingsOperation.FirstSave, index, new byte[_layout.End], factory, other, mayBeFactory: true);
        foreach (int start in record.Copies > 1 ? record.Form.Starts : [])
        {
            foreach (byte damage in (byte[])[0x00, 0xFF])
            {
                byte[] damaged = Saved(record, other);
                Array.Fill(damaged, damage, start, record.Form.Length);
                Cut(SettingsOperation.Repair, index, damaged, other, other, mayBeFactory: false);
            }
        }

        foreach (SettingsForm older in record.Older)
        {
            foreach (Func<SettingsItem, long> pick in new Func<SettingsItem, long>[] { i => 1, i => (long)i.Word.Greatest / 3 })
            {
                long[] old = [.. older.Items.Select(pick)];
                byte[] image = new byte[older.Length];
                _store.Pack(older, old, image);
                byte[] before = [.. empty];
                foreach (int start in older.Starts)
                {
                    image.CopyTo(before, start);
                }

                long[] wanted = [.. factory];
                SettingsLayout.Migrate(record, older, old, wanted.AsSpan(record.First, record.Form.Items.Length));
                Cut(SettingsOperation.Migrate, index, before, wanted, wanted, mayBeFactory: false);
            }
        }
    }

    private void Cut(SettingsOperation operation, int index, byte[] before, long[] old, long[] next, bool mayBeFactory)
    {
        SettingsRecord record = _layout.Records[index];
        for (int write = 0; Bad is null; write++)
        {
            for (int torn = 0; torn < 256 && Bad is null; torn++)
            {
                if (!Dies(operation, record, before, next, write, (byte)torn))
                {
                    return;
                }

                Writes += torn == 0 ? 1 : 0;
                byte[] after = [.. _memory.Bytes];
                (int address, byte meant) = _memory.Last;
                bool writes = Judge(operation, index, write, (byte)torn, old, next, mayBeFactory);
                foreach ((int again, byte value) in Telling(torn is 0 or 255 || torn == before[address] || torn == meant, writes))
                {
                    if (Bad is not null || !Dies(SettingsOperation.Repair, record, after, next, again, value))
                    {
                        break;
                    }

                    Judge(SettingsOperation.Repair, index, again, value, old, next, mayBeFactory);
                }
            }
        }
    }

    private static IEnumerable<(int Write, byte Torn)> Telling(bool isTelling, bool writes) =>
        from write in Enumerable.Range(0, isTelling && writes ? int.MaxValue : 0) from torn in (byte[])[0x00, 0xFF, 0x5A] select (write, torn);

    private bool Dies(SettingsOperation operation, SettingsRecord record, byte[] before, long[] next, int write, byte torn)
    {
        before.CopyTo(_memory.Bytes, 0);
        _memory.PowerOn(write, torn);
        if (operation is SettingsOperation.Repair or SettingsOperation.Migrate)
        {
            _store.Load(record, _found);
        }
        else
        {
            _store.Save(record, next);
        }

        return _memory.IsDead;
    }

    /// <summary>Loads, and says whether that writes.</summary>
    private bool Judge(SettingsOperation operation, int index, int write, byte torn, long[] old, long[] next, bool mayBeFactory)
    {
        SettingsRecord record = _layout.Records[index];
        int address = _memory.Last.Address;
        Cuts++;
        _memory.PowerOn();
        SettingsState state = _store.Load(record, _found);
        string found = Own(record, _found);
        if ((state == SettingsState.Factory && !mayBeFactory) || (found != Own(record, old) && found != Own(record, next)))
        {
            Bad = (operation, index, write, torn, address, state, found);
        }

        return _memory.Writes > 0;
    }

    private void Spoil(int index)
    {
        SettingsRecord record = _layout.Records[index];
        long[] saved = Values(Other);
        byte[] before = Saved(record, saved);
        foreach (int address in record.Form.Starts.SelectMany(s => Enumerable.Range(s, record.Form.Length)).Distinct())
        {
            for (int value = 0; value < 256; value++)
            {
                if (value == before[address])
                {
                    continue;
                }

                before.CopyTo(_memory.Bytes, 0);
                _memory.Bytes[address] = (byte)value;
                _memory.PowerOn();
                SettingsState state = _store.Load(record, _found);
                bool isKept = Own(record, _found) == Own(record, saved);
                Spoilt++;
                Kept += isKept ? 1 : 0;
                Unnoticed ??= !isKept && state != SettingsState.Factory ? (index, address, (byte)value) : null;
            }
        }
    }
}
