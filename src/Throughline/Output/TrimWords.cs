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
        OutputSignal signal = instrument.Loop!.Signal;
        string unit = signal.Unit;
        LoopTrim trim = instrument.Loop.Trim!;
        return $"Trimmed at {Engineering.Format(trim.Low.Value, unit)} and {Engineering.Format(trim.High.Value, unit)}: the worst error of the {signal.Place} goes from {Engineering.Format(effect.Without, unit, 3)} to "
            + $"{Engineering.Format(effect.With, unit, 3)}, at {at}; meter and entry make up to {Engineering.Format(effect.OfMeter, unit, 2)} of it.";
    }
}
