using System.Collections.Immutable;
using System.Security.Cryptography;
using System.Text;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>A virtual batch, or a part of one: run it, keep it in a file, put parts together, report it.</summary>
public sealed class Batch
{
    private const string Magic = "throughline batch";
    private const int Version = 2;

    /// <summary>Far more than any part needs: a file that is longer is none.</summary>
    private const int MostBytes = 1 << 28;

    private readonly LifePlan _plan;
    private readonly BatchTally _tally;
    private readonly CauseTally _causes;
    private readonly ImmutableSortedSet<int> _shards;

    private Batch(LifePlan plan, BatchOptions options, BatchTally tally, CauseTally causes, long units, ImmutableSortedSet<int> shards) =>
        (_plan, Options, _tally, _causes, Units, _shards) = (plan, options, tally, causes, units, shards);

    public BatchOptions Options { get; }

    /// <summary>Units lived.</summary>
    public long Units { get; }

    /// <summary>The shards that are in it; of a whole run, 1 alone.</summary>
    public IReadOnlyCollection<int> Shards => _shards;

    /// <summary>Runs a batch, or the shard of it that the options name. When it is cancelled, what is done so far comes back.</summary>
    public static Batch Run(Instrument instrument, BatchOptions options, BatchProgress? progress = null, CancellationToken cancel = default)
    {
        LifePlan plan = LifePlan.Create(Model.Compile(instrument));
        (BatchTally tally, CauseTally causes, long units) = BatchRunner.Run(plan, options, progress, cancel);
        return new Batch(plan, options, tally, causes, units, [options.Shard]);
    }

    /// <summary>One unit of a batch by itself: the same unit, whatever the size of the batch.</summary>
    public static UnitReport RunUnit(Instrument instrument, BatchOptions options, long unit) =>
        UnitReportBuilder.Build(LifePlan.Create(Model.Compile(instrument)), options, unit);

    /// <summary>Puts this and another part of the same batch together.</summary>
    /// <exception cref="ArgumentException">They are not of the same batch, or share a shard; the message says which.</exception>
    public Batch Merge(Batch other)
    {
        if (Options with { Shard = 1, Threads = 1 } != other.Options with { Shard = 1, Threads = 1 })
        {
            throw new ArgumentException("The parts are not of one batch: units, seed, number of shards or kind of draw differ.");
        }

        if (_shards.Overlaps(other._shards))
        {
            throw new ArgumentException($"Shard {_shards.Intersect(other._shards).First()} is in both.");
        }

        BatchTally tally = new(_plan);
        tally.Add(_tally);
        tally.Add(other._tally);
        CauseTally causes = new(_plan);
        causes.Add(_causes);
        causes.Add(other._causes);
        return new Batch(_plan, Options, tally, causes, Units + other.Units, _shards.Union(other._shards));
    }

    /// <summary>Writes it, with a digest behind it so that no spoilt byte passes; equal parts write equal bytes.</summary>
    public void Write(Stream stream)
    {
        using MemoryStream body = new();
        using (BinaryWriter writer = new(body, Encoding.UTF8, leaveOpen: true))
        {
            WriteBody(writer);
        }

        ReadOnlySpan<byte> bytes = body.GetBuffer().AsSpan(0, (int)body.Length);
        stream.Write(bytes);
        stream.Write(SHA256.HashData(bytes));
    }

    private void WriteBody(BinaryWriter writer)
    {
        writer.Write(Magic);
        writer.Write(Version);
        writer.Write(Fingerprint(_plan.Model.Instrument));
        writer.Write(Options.Units);
        writer.Write(Options.Seed);
        writer.Write(Options.Shards);
        writer.Write(Options.IsEven);
        writer.Write(Options.CauseUnits);
        writer.Write(Units);
        writer.Write(_shards.Count);
        foreach (int shard in _shards)
        {
            writer.Write(shard);
        }

        _tally.Write(writer);
        _causes.Write(writer);
    }

    /// <summary>Reads a part that <see cref="Write"/> wrote for the same instrument.</summary>
    /// <exception cref="InvalidDataException">It is not a part of a batch, or of another instrument or revision; the message says which.</exception>
    public static Batch Read(Instrument instrument, Stream stream)
    {
        try
        {
            byte[] bytes = Sound(stream);
            using BinaryReader reader = new(new MemoryStream(bytes, writable: false), Encoding.UTF8);
            if (reader.ReadString() != Magic)
            {
                throw new InvalidDataException("This is no part of a batch.");
            }

            int version = reader.ReadInt32();
            if (version != Version)
            {
                throw new InvalidDataException(FormattableString.Invariant($"It was written by another version of the tool (form {version}, this one reads {Version})."));
            }

            if (reader.ReadString() != Fingerprint(instrument))
            {
                throw new InvalidDataException("It is of another instrument file, or of another revision of it.");
            }

            LifePlan plan = LifePlan.Create(Model.Compile(instrument));
            BatchOptions options = new()
            {
                Units = reader.ReadInt64(),
                Seed = reader.ReadUInt64(),
                Shards = reader.ReadInt32(),
                IsEven = reader.ReadBoolean(),
                CauseUnits = reader.ReadInt32(),
            };
            long units = reader.ReadInt64();
            int count = reader.ReadInt32();
            if (count < 1 || count > options.Shards)
            {
                throw new InvalidDataException("Its list of shards is spoilt.");
            }

            ImmutableSortedSet<int> shards = [.. Enumerable.Range(0, count).Select(_ => reader.ReadInt32())];
            BatchTally tally = BatchTally.Read(plan, reader);
            CauseTally causes = CauseTally.Read(plan, reader);
            return new Batch(plan, options with { Shard = shards[0] }, tally, causes, units, shards);
        }
        catch (Exception e) when (e is EndOfStreamException or FormatException or ArgumentException or OverflowException)
        {
            throw new InvalidDataException("The part is spoilt or was cut short.", e);
        }
    }

    /// <summary>Everything before the digest, which must be that of what stands before it.</summary>
    private static byte[] Sound(Stream stream)
    {
        using MemoryStream all = new();
        byte[] piece = new byte[1 << 16];
        for (int read; (read = stream.Read(piece)) > 0;)
        {
            all.Write(piece, 0, read);
            if (all.Length > MostBytes)
            {
                throw new InvalidDataException("This is no part of a batch.");
            }
        }

        ReadOnlySpan<byte> bytes = all.GetBuffer().AsSpan(0, (int)all.Length);
        int end = bytes.Length - SHA256.HashSizeInBytes;
        return end > 0 && SHA256.HashData(bytes[..end]).AsSpan().SequenceEqual(bytes[end..])
            ? bytes[..end].ToArray()
            : throw new InvalidDataException("This is no part of a batch, or it is spoilt or was cut short.");
    }

    public BatchReport Report() => BatchReportBuilder.Build(_plan, Options, _tally, _causes, Units, IsWhole());

    private bool IsWhole() => _shards.Count == Options.Shards && Units == Options.Units;

    /// <summary>Of the text of the file and everything that was read beside it: units of another text are other units.</summary>
    private static string Fingerprint(Instrument instrument) =>
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(instrument.Source.Content + "\n" + Drawn(instrument))));

    /// <summary>What is drawn, which also tells another parts library beside the same file.</summary>
    private static string Drawn(Instrument instrument) =>
        string.Join('\n', Model.Compile(instrument).Parameters.All.Select(p => FormattableString.Invariant(
            $"{p} {p.Quantity.Value:R} {p.Quantity.Low:R} {p.Quantity.High:R} {p.Quantity.Drift:R} {p.Quantity.SignedDrift:R}")));
}
