namespace Throughline.Firmware;

/// <summary>How the settings were found. Of several records the worst counts.</summary>
public enum SettingsState
{
    /// <summary>Every copy is right.</summary>
    Good,

    /// <summary>A copy was wrong and has been written again from a right one.</summary>
    Repaired,

    /// <summary>An older layout was found and has been taken over.</summary>
    Migrated,

    /// <summary>Something was not to be had: factory values stand in. Nothing is written, so that every start says so until someone calibrates or restores.</summary>
    Factory,
}
