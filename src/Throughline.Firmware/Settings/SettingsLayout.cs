using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Where every byte of the settings stands: derived from the file, with what the instrument itself says of the items it keeps.</summary>
public sealed class SettingsLayout
{
    private static readonly ConditionalWeakTable<Instrument, SettingsLayout> Known = [];

    private SettingsLayout(Instrument instrument, MemorySection section) => (Instrument, Section) = (instrument, section);

    public Instrument Instrument { get; }

    public MemorySection Section { get; }

    /// <summary>In the order of the file.</summary>
    public ImmutableArray<SettingsRecord> Records { get; private set; } = [];

    /// <summary>Items of all records, in their order.</summary>
    public ImmutableArray<SettingsItem> Items { get; private set; } = [];

    /// <summary>Bytes of the memory as stated.</summary>
    public long Size => (long)Section.Size.Value;

    /// <summary>One past the last byte that anything uses.</summary>
    public int End => Records.SelectMany(r => r.Older.Prepend(r.Form).SelectMany(f => f.Starts.Select(s => s + f.Length))).Max();

    /// <summary>Why no code can be written of it; null when it can.</summary>
    public string? Trouble =>
        Items.FirstOrDefault(i => i.Trouble is not null) is { } item ? $"{item.Name}: {item.Trouble}"
        : End > Size ? $"The settings end at byte {End} of a memory of {Size}."
        : Overlaps().Select(o => $"{o.One} and {o.Other} lie over each other.").FirstOrDefault();

    /// <summary>The layout of an instrument; null when its file names no items.</summary>
    public static SettingsLayout? Of(Instrument instrument)
    {
        if (instrument.Memory is not { Records.IsEmpty: false } section || section.Records.Any(r => r.Items.IsEmpty))
        {
            return null;
        }

        if (!Known.TryGetValue(instrument, out SettingsLayout? known))
        {
            known = new SettingsLayout(instrument, section);
            known.Build();
            Known.AddOrUpdate(instrument, known);
        }

        return known;
    }

    public void FactoryValues(Span<long> values)
    {
        for (int i = 0; i < Items.Length; i++)
        {
            values[i] = Items[i].Factory;
        }
    }

    /// <summary>What an older layout's values become.</summary>
    public static void Migrate(SettingsRecord record, SettingsForm older, ReadOnlySpan<long> old, Span<long> values)
    {
        for (int i = 0; i < record.Form.Items.Length; i++)
        {
            SettingsItem item = record.Form.Items[i];
            SettingsMove move = older.Moves[i];
            long value = move.From < 0 ? item.Factory : move.Multiply == move.Divide ? old[move.From] : move.Scale(old[move.From]);
            values[i] = (item.IsFloat || item.Word.Holds(value, value)) && item.Accepts(value) ? value : item.Factory;
        }
    }

    /// <summary>Copies that share bytes: those of different records, and of one record in the same layout.</summary>
    public IEnumerable<(string One, string Other, int Address, SettingsRecord Record)> Overlaps()
    {
        List<(SettingsRecord Record, int Start, int End, string Name)> taken = [];
        foreach (SettingsRecord record in Records)
        {
            for (int copy = 0; copy < record.Copies; copy++)
            {
                int start = record.Form.Starts[copy];
                string name = record.Copies == 1 ? record.Name : FormattableString.Invariant($"copy {copy + 1} of {record.Name}");
                foreach ((SettingsRecord _, int from, int to, string other) in taken)
                {
                    if (start < to && from < start + record.Form.Length)
                    {
                        yield return (other, name, Math.Max(start, from), record);
                    }
                }

                taken.Add((record, start, start + record.Form.Length, name));
            }
        }
    }

    private void Build()
    {
        SettingsItems items = new(Instrument);
        ImmutableArray<SettingsRecord>.Builder records = ImmutableArray.CreateBuilder<SettingsRecord>();
        HashSet<string> names = [];
        int next = 0;
        int first = 0;
        foreach (MemoryRecord source in Section.Records)
        {
            int? version = source.Version?.Value ?? (Section.IsMarked ? 1 : null);
            SettingsForm form = Placed(new SettingsForm { Version = version, Items = [.. source.Items.Select(i => items.Current(i))], Guard = GuardCode.Of(Section.GuardKind) });
            ImmutableArray<SettingsForm> older =
            [
                .. source.Older.OrderByDescending(o => o.Version.Value).Select(o => Placed(new SettingsForm
                {
                    Version = o.Version.Value,
                    Items = [.. o.Items.Select(i => SettingsItems.Older(i, form.Items))],
                    Guard = GuardCode.Of(o.Guard ?? Section.GuardKind),
                }) with
                {
                    Moves = [.. form.Items.Select(i => SettingsItems.Move(i, o.Items, o.Items.Select(x => SettingsItems.Older(x, form.Items))))],
                }),
            ];
            int room = older.Select(o => o.Length).Append(form.Length).Max();
            if (source.Addresses.IsEmpty)
            {
                int copies = source.Copies ?? Section.Copies;
                int place = next;
                form = form with { Starts = [.. Enumerable.Range(0, copies).Select(c => place + (c * room))] };
            }
            else
            {
                form = form with { Starts = [.. source.Addresses.Select(a => a.Value)] };
            }

            older = [.. older.Zip(source.Older.OrderByDescending(o => o.Version.Value), (o, s) => o with { Starts = s.Addresses.IsEmpty ? form.Starts : [.. s.Addresses.Select(a => a.Value)] })];
            next = Math.Max(next, form.Starts.Max() + room);
            records.Add(new SettingsRecord
            {
                Source = source,
                CodeName = CodeNames.Unique(source.Name.Value, names),
                First = first,
                Form = form,
                Older = older,
                Interval = IntervalOf(source.Written),
            });
            first += form.Items.Length;
        }

        Records = records.ToImmutable();
        Items = [.. Records.SelectMany(r => r.Form.Items)];
    }

    private static SettingsForm Placed(SettingsForm form)
    {
        int offset = form.Version is null ? 0 : 1;
        ImmutableArray<SettingsItem>.Builder placed = ImmutableArray.CreateBuilder<SettingsItem>();
        foreach (SettingsItem item in form.Items)
        {
            placed.Add(item with { Offset = offset });
            offset += item.Bytes;
        }

        return form with { Items = placed.ToImmutable(), GuardOffset = offset };
    }

    /// <summary>Seconds between two writes. A user who is told to calibrate every so often does; one who is told nothing is taken to do it daily.</summary>
    private double IntervalOf(WritingUse use)
    {
        const double Day = 86_400;
        ConverterStage? converter = Instrument.Stages.OfType<ConverterStage>().FirstOrDefault();
        return use.Occasion switch
        {
            WritingOccasion.AtTheFactory => double.PositiveInfinity,
            WritingOccasion.AtCalibration => Instrument.Specification.CalibrationInterval?.Value ?? Day,
            WritingOccasion.AtEveryReading => Math.Max(1, converter?.Average ?? 1) * (converter?.Every?.Value ?? 1),
            _ => use.Seconds,
        };
    }
}
