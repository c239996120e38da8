using System.Collections.Immutable;

namespace Throughline.Firmware;

/// <summary>What the store is asked to do while a fault comes.</summary>
public enum SettingsOperation
{
    /// <summary>New values over old ones.</summary>
    Save,

    /// <summary>The first values into never-written memory.</summary>
    FirstSave,

    /// <summary>Factory values over what a user has set.</summary>
    Restore,

    /// <summary>Loading, with a copy that has to be written again.</summary>
    Repair,

    /// <summary>Loading what an older revision has left.</summary>
    Migrate,
}

/// <summary>A fault that leaves what it must not: everything that is needed to run it again.</summary>
/// <param name="Record">Index of the record.</param>
/// <param name="Before">Memory before the operation.</param>
/// <param name="New">What is saved; for a repair and a migration what has to come out.</param>
/// <param name="Old">What has to come out of it while nothing new is there.</param>
/// <param name="Write">The write at which the power fails, counted from 0.</param>
/// <param name="Torn">What the byte holds that was being written.</param>
/// <param name="Address">That byte.</param>
/// <param name="Found">What is loaded afterwards.</param>
public sealed record SettingsCut(
    SettingsOperation Operation, int Record, ImmutableArray<byte> Before, ImmutableArray<long> New, ImmutableArray<long> Old, int Write, byte Torn, int Address,
    SettingsState State, ImmutableArray<long> Found);

/// <summary>One wrong byte that is taken for a setting.</summary>
public sealed record SettingsSpoilt(int Record, ImmutableArray<byte> Before, int Address, byte Value, ImmutableArray<long> Saved, ImmutableArray<long> Found);
