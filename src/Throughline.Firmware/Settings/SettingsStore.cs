using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// What the C does with the settings memory, byte write for byte write: loads and repairs, saves, restores. Values are those of all items of all records, in
/// their order. A byte that already holds its value is not written.
/// </summary>
public sealed class SettingsStore
{
    private readonly SettingsLayout _layout;
    private readonly SettingsMemory _memory;
    private readonly byte[] _image;

    public SettingsStore(SettingsLayout layout, SettingsMemory memory)
    {
        (_layout, _memory) = (layout, memory);
        _image = new byte[layout.Records.Max(r => r.Form.Length)];
    }

    /// <summary>Loads everything, repairs wrong copies and takes older layouts over.</summary>
    /// <param name="values">One for each item; overwritten.</param>
    public SettingsState Load(Span<long> values)
    {
        SettingsState worst = SettingsState.Good;
        foreach (SettingsRecord record in _layout.Records)
        {
            SettingsState state = Load(record, values);
            worst = state > worst ? state : worst;
        }

        return worst;
    }

    /// <summary>Saves everything; what is already so is not written.</summary>
    public void Save(ReadOnlySpan<long> values)
    {
        foreach (SettingsRecord record in _layout.Records)
        {
            Save(record, values);
        }
    }

    /// <summary>Puts factory values into memory.</summary>
    /// <param name="values">One for each item; overwritten with them.</param>
    public void Restore(Span<long> values)
    {
        _layout.FactoryValues(values);
        Save(values);
    }

    /// <summary>Loads one record.</summary>
    public SettingsState Load(SettingsRecord record, Span<long> values)
    {
        (SettingsForm? form, int copy) = Believed(record);
        SettingsState state = Take(record, form, copy, values);
        if (form is null)
        {
            return state;
        }

        if (ReferenceEquals(form, record.Form))
        {
            return Repair(form, copy) && state == SettingsState.Good ? SettingsState.Repaired : state;
        }

        // The copy that was read comes last, so that it is there until another one is whole.
        Pack(record.Form, values.Slice(record.First, record.Form.Items.Length), _image);
        WriteCopies(record.Form, copy + 1);
        return state;
    }

    /// <summary>What a load makes of a copy; nothing is written.</summary>
    /// <param name="form">Null for factory values.</param>
    internal SettingsState Take(SettingsRecord record, SettingsForm? form, int copy, Span<long> values)
    {
        Span<long> own = values.Slice(record.First, record.Form.Items.Length);
        SettingsState state = SettingsState.Factory;
        if (form is null)
        {
            for (int i = 0; i < own.Length; i++)
            {
                own[i] = record.Form.Items[i].Factory;
            }
        }
        else if (ReferenceEquals(form, record.Form))
        {
            Unpack(form, copy, own);
            state = SettingsState.Good;
        }
        else
        {
            Span<long> old = stackalloc long[form.Items.Length];
            Unpack(form, copy, old);
            SettingsLayout.Migrate(record, form, old, own);
            state = SettingsState.Migrated;
        }

        for (int i = 0; i < own.Length; i++)
        {
            SettingsItem item = record.Form.Items[i];
            if (!item.Accepts(own[i]))
            {
                own[i] = item.Factory;
                state = SettingsState.Factory;
            }
        }

        return state;
    }

    public void Save(SettingsRecord record, ReadOnlySpan<long> values)
    {
        Pack(record.Form, values.Slice(record.First, record.Form.Items.Length), _image);
        WriteCopies(record.Form, 0);
    }

    /// <summary>Whether a copy is believed.</summary>
    public bool IsGood(SettingsForm form, int copy)
    {
        int start = form.Starts[copy];
        if (form.Version is { } version && _memory.Read(start) != version)
        {
            return false;
        }

        if (form.Guard.Bits == 0)
        {
            // Without a guard a copy is believed when another one says the same, a single one always.
            bool isBelieved = form.Starts.Length == 1;
            for (int other = 0; other < form.Starts.Length && !isBelieved; other++)
            {
                isBelieved = other != copy && AreEqual(form, copy, other);
            }

            return isBelieved;
        }

        return form.Guard.Compute(_memory.Bytes.AsSpan(start, form.GuardOffset)) == StoredGuard(form, copy);
    }

    internal uint StoredGuard(SettingsForm form, int copy) => (uint)ReadWord(form.Starts[copy] + form.GuardOffset, form.Guard.Bytes);

    /// <summary>Puts a record's bytes together.</summary>
    public void Pack(SettingsForm form, ReadOnlySpan<long> values, Span<byte> image)
    {
        if (form.Version is { } version)
        {
            image[0] = (byte)version;
        }

        for (int i = 0; i < form.Items.Length; i++)
        {
            PutWord(image, form.Items[i].Offset, form.Items[i].Bytes, (ulong)values[i]);
        }

        PutWord(image, form.GuardOffset, form.Guard.Bytes, form.Guard.Compute(image[..form.GuardOffset]));
    }

    /// <summary>The first copy that is believed, of the newest layout; null for none.</summary>
    private (SettingsForm? Form, int Copy) Believed(SettingsRecord record)
    {
        for (int layout = -1; layout < record.Older.Length; layout++)
        {
            SettingsForm form = layout < 0 ? record.Form : record.Older[layout];
            for (int copy = 0; copy < form.Starts.Length; copy++)
            {
                if (IsGood(form, copy))
                {
                    return (form, copy);
                }
            }
        }

        return (null, 0);
    }

    /// <summary>Writes the other copies again where they differ; says whether one did.</summary>
    private bool Repair(SettingsForm form, int good)
    {
        _memory.Bytes.AsSpan(form.Starts[good], form.Length).CopyTo(_image);
        bool differed = false;
        for (int copy = 0; copy < form.Starts.Length; copy++)
        {
            if (copy != good && !AreEqual(form, good, copy))
            {
                differed = true;
                WriteCopy(form, copy);
            }
        }

        return differed;
    }

    private void WriteCopies(SettingsForm form, int first)
    {
        if (_layout.Section.Order == CopyOrder.SideBySide)
        {
            WriteSideBySide(form);
            return;
        }

        for (int i = 0; i < form.Starts.Length; i++)
        {
            WriteCopy(form, (first + i) % form.Starts.Length);
        }
    }

    private bool HoldsImage(SettingsForm form, int copy) =>
        _memory.Bytes.AsSpan(form.Starts[copy], form.Length).SequenceEqual(_image.AsSpan(0, form.Length));

    private void WriteCopy(SettingsForm form, int copy)
    {
        if (HoldsImage(form, copy))
        {
            return;
        }

        int start = form.Starts[copy];
        bool isMarked = _layout.Section.IsMarked;
        if (isMarked)
        {
            Put(start, 0);
        }

        for (int i = isMarked ? 1 : 0; i < form.Length; i++)
        {
            Put(start + i, _image[i]);
        }

        if (isMarked)
        {
            Put(start, _image[0]);
        }
    }

    private void WriteSideBySide(SettingsForm form)
    {
        bool isThere = true;
        for (int copy = 0; copy < form.Starts.Length; copy++)
        {
            isThere &= HoldsImage(form, copy);
        }

        if (isThere)
        {
            return;
        }

        bool isMarked = _layout.Section.IsMarked;
        if (isMarked)
        {
            foreach (int start in form.Starts)
            {
                Put(start, 0);
            }
        }

        for (int i = isMarked ? 1 : 0; i < form.Length; i++)
        {
            foreach (int start in form.Starts)
            {
                Put(start + i, _image[i]);
            }
        }

        if (isMarked)
        {
            foreach (int start in form.Starts)
            {
                Put(start, _image[0]);
            }
        }
    }

    private void Put(int address, byte value)
    {
        if (_memory.Read(address) != value)
        {
            _memory.Write(address, value);
        }
    }

    private bool AreEqual(SettingsForm form, int one, int other) =>
        _memory.Bytes.AsSpan(form.Starts[one], form.Length).SequenceEqual(_memory.Bytes.AsSpan(form.Starts[other], form.Length));

    private void Unpack(SettingsForm form, int copy, Span<long> values)
    {
        for (int i = 0; i < form.Items.Length; i++)
        {
            SettingsItem item = form.Items[i];
            ulong raw = ReadWord(form.Starts[copy] + item.Offset, item.Bytes);
            int unused = 64 - item.Word.Bits;
            values[i] = item.Word.IsSigned ? (long)(raw << unused) >> unused : (long)raw;
        }
    }

    private ulong ReadWord(int address, int bytes)
    {
        ulong value = 0;
        for (int i = 0; i < bytes; i++)
        {
            value = (value << 8) | _memory.Read(address + (_layout.Section.IsBigEndian ? i : bytes - 1 - i));
        }

        return value;
    }

    private void PutWord(Span<byte> image, int offset, int bytes, ulong value)
    {
        for (int i = 0; i < bytes; i++)
        {
            image[offset + (_layout.Section.IsBigEndian ? bytes - 1 - i : i)] = (byte)value;
            value >>= 8;
        }
    }
}
