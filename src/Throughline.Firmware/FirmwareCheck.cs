using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>One check of the firmware. A new check is one class and one line in <see cref="FirmwareChecks"/>.</summary>
internal abstract class FirmwareCheck
{
    /// <summary>What it is, for people.</summary>
    public abstract CheckDescription Description { get; }

    /// <summary>Where it applies, runs it; nothing where the instrument has nothing of the kind.</summary>
    public abstract IEnumerable<Finding> Run(Instrument instrument);
}
