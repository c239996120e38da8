using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>What the trim of the output takes away, in words.</summary>
internal static class TrimWords
{
    /// <summary>Before, after, and what of the rest the trim itself brings.</summary>
    public static string Of(OutputTrimEffect effect, Instrument instrument)
    {
        string at = Engineering.WithUnit(Engineering.Number(effect.Measurand), instrument.Specification.Unit);
        LoopTrim trim = instrument.Loop!.Trim!;
        return $"Trimmed at {Engineering.Format(trim.Low.Value, "A")} and {Engineering.Format(trim.High.Value, "A")}: the worst error of the loop goes from {Engineering.Format(effect.Without, "A", 3)} to "
            + $"{Engineering.Format(effect.With, "A", 3)}, at {at}; meter and entry make up to {Engineering.Format(effect.OfMeter, "A", 2)} of it.";
    }
}
