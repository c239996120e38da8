using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Items that are stored together, placed.</summary>
public sealed record SettingsRecord
{
    public required MemoryRecord Source { get; init; }

    public required string CodeName { get; init; }

    /// <summary>Index of its first item among those of all records.</summary>
    public required int First { get; init; }

    public required SettingsForm Form { get; init; }

    /// <summary>The newest first.</summary>
    public ImmutableArray<SettingsForm> Older { get; init; } = [];

    public string Name => Source.Name.Value;

    public int Copies => Form.Starts.Length;

    /// <summary>Bytes that every copy keeps free for itself: the longest of its layouts.</summary>
    public int Room => Older.Where(o => o.Starts.SequenceEqual(Form.Starts)).Select(o => o.Length).Append(Form.Length).Max();

    /// <summary>Seconds between two writes.</summary>
    public double Interval { get; init; }
}
