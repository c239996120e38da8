namespace Throughline.Firmware;

/// <summary>What a load would find in a memory: its state, and whether that is what was there and what was to be there.</summary>
internal readonly record struct SettingsVerdict(SettingsState State, bool IsOld, bool IsNew);

/// <summary>
/// A memory whose bytes change one at a time, and of which every copy's guard goes along: the difference that a byte makes to a guard depends on nothing but its place, so that
/// a changed byte costs the same whatever the length of a record. Values are read by the store itself, and only when the bytes of the copy that is believed have changed.
/// </summary>
internal sealed class SettingsScan
{
    private const int ByteValues = 256;

    private readonly SettingsRecord _record;
    private readonly SettingsMemory _memory;
    private readonly SettingsStore _store;
    private readonly Slot[] _slots;
    private readonly long[] _values;
    private long[] _old = [];
    private long[] _next = [];
    private SettingsVerdict? _none;

    public SettingsScan(SettingsLayout layout, SettingsRecord record)
    {
        _record = record;
        _memory = new SettingsMemory(layout.End);
        _store = new SettingsStore(layout, _memory);
        _values = new long[layout.Items.Length];
        _slots =
        [
            .. from form in record.Older.Prepend(record.Form)
               let differences = Differences(form.Guard, form.GuardOffset)
               from copy in Enumerable.Range(0, form.Starts.Length)
               select new Slot(form, copy, differences),
        ];
    }

    public ReadOnlySpan<byte> Bytes => _memory.Bytes;

    public void Fill(ReadOnlySpan<byte> bytes)
    {
        bytes.CopyTo(_memory.Bytes);
        foreach (Slot slot in _slots)
        {
            slot.Guard = slot.Form.Guard.Compute(Bytes.Slice(slot.Start, slot.Form.GuardOffset));
            slot.Verdict = null;
        }
    }

    /// <summary>What was there and what is to be there, one for each item of all records.</summary>
    public void Ask(long[] old, long[] next)
    {
        (_old, _next, _none) = (old, next, null);
        foreach (Slot slot in _slots)
        {
            slot.Verdict = null;
        }
    }

    public void Set(int address, byte value)
    {
        byte was = _memory.Bytes[address];
        if (was == value)
        {
            return;
        }

        _memory.Bytes[address] = value;
        foreach (Slot slot in _slots)
        {
            int place = address - slot.Start;
            if ((uint)place >= (uint)slot.Form.Length)
            {
                continue;
            }

            slot.Verdict = null;
            if (place < slot.Form.GuardOffset)
            {
                slot.Guard = slot.Differences.Length == 0 ? slot.Form.Guard.Add(slot.Guard, (byte)(value - was)) : slot.Guard ^ slot.Differences[(place * ByteValues) + (was ^ value)];
            }
        }
    }

    /// <summary>What a load would find now.</summary>
    public SettingsVerdict Verdict()
    {
        foreach (Slot slot in _slots)
        {
            if (IsGood(slot))
            {
                return slot.Verdict ??= Judge(slot.Form, slot.Copy);
            }
        }

        return _none ??= Judge(null, 0);
    }

    private bool IsGood(Slot slot)
    {
        SettingsForm form = slot.Form;
        return (form.Version is not { } version || _memory.Bytes[slot.Start] == version)
            && (form.Guard.Bits == 0 ? _store.IsGood(form, slot.Copy) : slot.Guard == _store.StoredGuard(form, slot.Copy));
    }

    private SettingsVerdict Judge(SettingsForm? form, int copy)
    {
        SettingsState state = _store.Take(_record, form, copy, _values);
        Range own = _record.First..(_record.First + _record.Form.Items.Length);
        ReadOnlySpan<long> found = _values.AsSpan(own);
        return new SettingsVerdict(state, found.SequenceEqual(_old.AsSpan(own)), found.SequenceEqual(_next.AsSpan(own)));
    }

    /// <summary>What the guard changes by when a byte does, by its place and the bits that differ; empty for a sum, to which it is added, and for none.</summary>
    private static uint[] Differences(GuardCode guard, int length)
    {
        if (guard.Table.IsEmpty)
        {
            return [];
        }

        uint[] differences = new uint[length * ByteValues];
        for (int bits = 1; bits < ByteValues; bits++)
        {
            // A cyclic redundancy check is linear: from a state of 0, a byte and the zeros behind it give what that byte adds.
            uint state = guard.Add(0, (byte)bits);
            for (int place = length - 1; place >= 0; place--)
            {
                differences[(place * ByteValues) + bits] = state;
                state = guard.Add(state, 0);
            }
        }

        return differences;
    }

    /// <summary>One copy in one of the layouts, in the order in which a load tries them.</summary>
    private sealed class Slot(SettingsForm form, int copy, uint[] differences)
    {
        public SettingsForm Form { get; } = form;

        public int Copy { get; } = copy;

        public int Start { get; } = form.Starts[copy];

        public uint[] Differences { get; } = differences;

        public uint Guard { get; set; }

        /// <summary>Null once a byte of it has changed.</summary>
        public SettingsVerdict? Verdict { get; set; }
    }
}
