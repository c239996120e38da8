using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The settings of an instrument at work in its settings memory. What the file does not keep there lasts as long as the power does.</summary>
public sealed class StoredSettings : ISettingsKeeper
{
    private readonly SettingsStore _store;
    private readonly long[] _values;
    private readonly long[] _seen;
    private readonly int _zero;
    private readonly int _gain;
    private readonly int _language;
    private readonly int _trimOffset;
    private readonly int _trimGain;
    private readonly int[] _standards;

    public StoredSettings(SettingsLayout layout, SettingsMemory memory)
    {
        _store = new SettingsStore(layout, memory);
        _values = new long[layout.Items.Length];
        _seen = new long[layout.Items.Length];
        (_zero, _gain, _language) = (PlaceOf(MemoryKeeps.Zero), PlaceOf(MemoryKeeps.Gain), PlaceOf(MemoryKeeps.Language));
        (_trimOffset, _trimGain) = (PlaceOf(MemoryKeeps.OutputTrimOffset), PlaceOf(MemoryKeeps.OutputTrimGain));
        _standards = [.. Enumerable.Range(0, MemoryKeeps.FifthStandard - MemoryKeeps.FirstStandard + 1).Select(i => PlaceOf(MemoryKeeps.FirstStandard + i))];

        int PlaceOf(MemoryKeeps keeps)
        {
            for (int i = 0; i < layout.Items.Length; i++)
            {
                if (layout.Items[i].Source.Keeps == keeps)
                {
                    return i;
                }
            }

            return -1;
        }
    }

    public bool Load(out KeptSettings settings)
    {
        SettingsState state = _store.Load(_values);
        settings = Kept();
        return state != SettingsState.Factory;
    }

    public bool IsSound() => _store.Load(_seen) != SettingsState.Factory;

    public void Save(in KeptSettings settings)
    {
        Put(_zero, settings.Zero);
        Put(_gain, settings.Gain);
        Put(_language, settings.Language);
        Put(_trimOffset, settings.TrimOffset);
        Put(_trimGain, settings.TrimGain);
        _store.Save(_values);
    }

    public long? Standard(int standard) => _standards[standard] < 0 ? null : _values[_standards[standard]];

    public void SetStandard(int standard, long steps) => Put(_standards[standard], steps);

    public void Restore(out KeptSettings settings)
    {
        _store.Restore(_values);
        settings = Kept();
    }

    private KeptSettings Kept() => new(Get(_zero), Get(_gain), (int)Get(_language), Get(_trimOffset), Get(_trimGain));

    private long Get(int place) => place < 0 ? 0 : _values[place];

    private void Put(int place, long value)
    {
        if (place >= 0)
        {
            _values[place] = value;
        }
    }
}
