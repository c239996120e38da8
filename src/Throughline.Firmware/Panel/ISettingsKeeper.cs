namespace Throughline.Firmware;

/// <summary>Where an instrument at work keeps what it must not forget.</summary>
public interface ISettingsKeeper
{
    /// <summary>Reads the settings.</summary>
    /// <returns>False when they were not to be had: then they are factory values.</returns>
    bool Load(out KeptSettings settings);

    /// <summary>Whether what is kept is still what was written; mends what can be mended.</summary>
    bool IsSound();

    void Save(in KeptSettings settings);

    /// <summary>The value of a standard in steps of its entry, as loaded or set; null where none is kept.</summary>
    long? Standard(int standard);

    /// <summary>Sets it; the next saving keeps it.</summary>
    void SetStandard(int standard, long steps);

    /// <summary>Puts factory values back.</summary>
    void Restore(out KeptSettings settings);
}

/// <summary>What an instrument must not forget, as the arithmetic and the panel have it.</summary>
/// <param name="TrimOffset">Of the output's trim; 0 where it has none.</param>
/// <param name="TrimGain">What its gain has above one.</param>
public readonly record struct KeptSettings(long Zero, long Gain, int Language, long TrimOffset, long TrimGain);
