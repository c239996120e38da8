using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>How a record lies in memory: the version, the items, the guard; and where its copies begin.</summary>
public sealed record SettingsForm
{
    /// <summary>The first byte of a whole copy; null where none is stored.</summary>
    public int? Version { get; init; }

    public required ImmutableArray<SettingsItem> Items { get; init; }

    public required GuardCode Guard { get; init; }

    /// <summary>Where its copies begin.</summary>
    public ImmutableArray<int> Starts { get; init; } = [];

    /// <summary>Bytes of a copy in front of the guard.</summary>
    public int GuardOffset { get; init; }

    /// <summary>Bytes of a copy.</summary>
    public int Length => GuardOffset + Guard.Bytes;

    /// <summary>For every item of the record as it is now, the item here that it comes from; −1 for a new one. Empty for the record as it is now.</summary>
    public ImmutableArray<SettingsMove> Moves { get; init; } = [];
}

/// <summary>Where an item comes from when an older layout is taken over.</summary>
/// <param name="From">Index in the older layout; −1 where it takes its factory value.</param>
/// <param name="Multiply">New counts are old ones times this…</param>
/// <param name="Divide">…divided by this, to the nearest.</param>
public readonly record struct SettingsMove(int From, long Multiply, long Divide)
{
    public static SettingsMove Factory { get; } = new(-1, 1, 1);

    /// <summary>The new value of an old one, to the nearest, a half away from zero.</summary>
    public long Scale(long old)
    {
        long product = old * Multiply;
        long size = Math.Abs(product);
        long quotient = (size / Divide) + (size % Divide >= Divide - (size % Divide) ? 1 : 0);
        return product < 0 ? -quotient : quotient;
    }
}
