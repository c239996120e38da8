using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Parts;

/// <summary>One condition of the operating point over its rated range.</summary>
/// <param name="Word">In addresses and ids.</param>
/// <param name="Text">A value as it is shown.</param>
/// <param name="With">The conditions with another value of it.</param>
internal sealed record ConditionScale(string Word, string Name, double Low, double High, double Value, Func<double, string> Text, Func<Conditions, double, Conditions> With)
{
    /// <summary>Those that can differ in an instrument.</summary>
    public static IEnumerable<ConditionScale> Of(Instrument instrument, Conditions at)
    {
        Specification s = instrument.Specification;
        if (s.Ambient.Width > 0)
        {
            yield return new ConditionScale("ambient", "Ambient", s.Ambient.Low, s.Ambient.High, at.Ambient, v => Engineering.Fixed(v, 1, "°C"), (c, v) => c with { Ambient = v });
        }

        // What measures the temperature of the process has no other one beside it.
        if (s.Process.Width > 0 && s.Unit is not ("°C" or "K"))
        {
            yield return new ConditionScale("process", "Process", s.Process.Low, s.Process.High, at.Process, v => Engineering.Fixed(v, 1, "°C"), (c, v) => c with { Process = v });
        }

        yield return new ConditionScale("supply", "Supply", -1, 1, at.SupplyShift, v => SupplyText(instrument, v), (c, v) => c with { SupplyShift = v });
        if (instrument.Loop?.Load is { Width: > 0 } load)
        {
            yield return new ConditionScale("load", "Load", load.Low, load.High, at.Load, v => Engineering.Format(v, "Ω", 3), (c, v) => c with { Load = v });
        }

        if (s.CalibrationInterval is { Value: > 0 } interval)
        {
            yield return new ConditionScale("age", "Sensor age", 0, interval.Value, at.AgeSeconds, v => v == 0 ? "new" : Engineering.Duration(v, 2), (c, v) => c with { AgeSeconds = v });
        }
    }

    /// <summary>The outside supply's own volts where there is one, else how far between its limits.</summary>
    private static string SupplyText(Instrument instrument, double shift)
    {
        Quantity? volts = instrument.Loop?.Supply?.Quantity ?? instrument.Supplies.FirstOrDefault(s => s.From is null)?.Voltage.Quantity;
        return volts is { } q
            ? Engineering.Fixed(q.Value + (Math.Abs(shift) * ((shift >= 0 ? q.High : q.Low) - q.Value)), 1, "V")
            : Engineering.Percent(shift, signed: true);
    }
}
