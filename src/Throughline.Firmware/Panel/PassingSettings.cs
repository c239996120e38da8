namespace Throughline.Firmware;

/// <summary>The settings of an instrument without a settings memory: they last as long as the power does.</summary>
internal sealed class PassingSettings : ISettingsKeeper
{
    private KeptSettings _kept;

    public bool Load(out KeptSettings settings)
    {
        settings = _kept = default;
        return true;
    }

    public bool IsSound() => true;

    public void Save(in KeptSettings settings) => _kept = settings;

    public long? Standard(int standard) => null;

    public void SetStandard(int standard, long steps)
    {
        // Nothing outlives the calibration but what readings are made with.
    }

    public void Restore(out KeptSettings settings) => settings = _kept = default;
}
