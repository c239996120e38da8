using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>How values stand in fields of a display, and how far they go.</summary>
public static class PanelValues
{
    private const double Milli = 1000;
    private const double Percent = 100;

    /// <summary>A value in its field, right-aligned; dashes where there is none or where it has no room.</summary>
    public static string Text(PanelField field, double value)
    {
        string text = Unbounded(field, value);
        return double.IsFinite(value) && text.Length <= field.Width ? text.PadLeft(field.Width) : Dashes(field);
    }

    /// <summary>The same in whatever width it takes.</summary>
    public static string Unbounded(PanelField field, double value)
    {
        // Half away from zero, as the code rounds: from the decimal digits, so that 7.005 is what is written.
        string text = Math.Abs(value) < 1e12
            ? Math.Round((decimal)value, field.Decimals, MidpointRounding.AwayFromZero).ToString("F" + field.Decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture)
            : value.ToString("F0", CultureInfo.InvariantCulture);
        return text[0] == '-' && !text.AsSpan().ContainsAnyInRange('1', '9') ? text[1..] : text;
    }

    /// <summary>How many times what is shown the value in SI, or in the specification's, unit is.</summary>
    public static double Scale(Instrument instrument, PanelSource source) => source switch
    {
        PanelSource.LoopCurrent or PanelSource.TestCurrent or PanelSource.OutputTrimLow or PanelSource.OutputTrimHigh => 1 / instrument.Output.ShownScale,
        PanelSource.Signal => instrument.Sensor.SignalKind == SignalKind.Resistance ? 1 : Milli,
        PanelSource.Slope => Percent,
        PanelSource.Zero => IsZeroInVolts(instrument) ? Milli : 1,
        _ => 1,
    };

    /// <summary>The least and the greatest value that a field has to show, as shown; null where nothing bounds it or there is none.</summary>
    public static (double Low, double High)? Range(Instrument instrument, PanelScreen screen, PanelSource source)
    {
        (double, double)? range = source switch
        {
            PanelSource.Measurand => Measurands(instrument),
            PanelSource.Temperature => Temperatures(instrument),
            PanelSource.LoopCurrent => Outputs(instrument.Loop),
            PanelSource.Signal => SimulatedUnit.SignalLimits(instrument),
            PanelSource.Slope => instrument.Calibration?.AcceptSlope is { } slope ? (slope.Low, slope.High) : null,
            PanelSource.Zero => instrument.Calibration?.AcceptZero is { } zero ? (-zero.Tolerance, zero.Tolerance) : null,
            PanelSource.SecondsLeft => screen.After is { } after ? (0, after.Time.Value) : null,
            PanelSource.SecondsSteady => instrument.Calibration?.SteadyFor is { } time ? (0, time.Value) : null,
            _ => EntryOf(instrument, source) is { } entry ? (entry.Low, entry.High) : null,
        };
        double scale = Scale(instrument, source);
        return range is ({ } low, { } high) && double.IsFinite(low) && double.IsFinite(high) ? (low * scale, high * scale) : null;
    }

    /// <summary>How a value is entered: least, greatest, one step and where it begins, in the specification's unit, or A or V; null when there is no such value.</summary>
    public static PanelEntryRange? EntryOf(Instrument instrument, PanelSource source)
    {
        PanelEntry? stated = instrument.Panel?.Entries.FirstOrDefault(e => e.Source.Value == source);
        if (source == PanelSource.TestCurrent)
        {
            (double low, double high)? values = stated is not null ? (stated.Range.Low, stated.Range.High) : instrument.Loop?.Test is { } test ? (test.Low, test.High) : Outputs(instrument.Loop);
            return values is var (least, greatest) && least < greatest
                ? new PanelEntryRange(least, greatest, stated?.Step.Value ?? instrument.Output.Preset, Math.Clamp(instrument.Loop?.Scale.Min(p => p.To.Value) ?? least, least, greatest))
                : null;
        }

        if (PanelWords.TrimOf(source) is { } end)
        {
            // Twice as far as is accepted, so that what is too far can be entered and is refused, and not entered as something else.
            return instrument.Loop?.Trim is { } trim && (end == 0 ? trim.Low : trim.High).Value is var asked
                ? new PanelEntryRange(Math.Max(Math.Min(0, asked), asked - (2 * trim.Accept.Tolerance)), asked + (2 * trim.Accept.Tolerance), trim.Step, asked)
                : null;
        }

        if (PanelWords.StandardOf(source) is not { } index || instrument.Calibration is not { } calibration || index >= calibration.Standards.Length)
        {
            return null;
        }

        const double Tenth = 0.1;
        double value = calibration.Standards[index].Value.Quantity.Value;
        double reach = Tenth * instrument.Specification.Range.Width;
        double step = stated?.Step.Value ?? instrument.Specification.DisplayStep?.Value ?? reach / Percent;
        (double from, double to) = stated is not null ? (stated.Range.Low, stated.Range.High) : calibration.Settable ? (value - reach, value + reach) : (value, value);
        return from <= to ? new PanelEntryRange(from, to, step, Math.Clamp(value, from, to)) : null;
    }

    private static string Dashes(PanelField field) =>
        field.Decimals == 0 ? new string('-', field.Width) : new string('-', field.Width - field.Decimals - 1) + "." + new string('-', field.Decimals);

    private static bool IsZeroInVolts(Instrument instrument) =>
        instrument.Calibration?.AcceptZero is { } zero
            ? zero.Dimension == Dimension.Voltage && instrument.Specification.Dimension != Dimension.Voltage
            : instrument.Sensor.ZeroSignal is not null;

    /// <summary>Readings that the code believes: the plausible range, or else what the ends of the converter make.</summary>
    private static (double, double)? Measurands(Instrument instrument)
    {
        Specification s = instrument.Specification;
        if (instrument.Stages.OfType<ArithmeticStage>().FirstOrDefault()?.Plausible is { } plausible)
        {
            return (plausible.Low, plausible.High);
        }

        (double low, double high) = SimulatedUnit.SignalLimits(instrument);
        List<double> values = [s.Range.Low, s.Range.High];
        foreach (double signal in new[] { low, high })
        {
            values.AddRange(new[] { s.Process.Low, s.Process.High }.Select(t => instrument.Sensor.MeasurandOf(signal, t)).Where(double.IsFinite));
        }

        return (values.Min(), values.Max());
    }

    private static (double, double) Temperatures(Instrument instrument)
    {
        Specification s = instrument.Specification;
        double error = instrument.Stages.OfType<ArithmeticStage>().FirstOrDefault()?.TemperatureError?.Quantity.Tolerance ?? 0;
        QuantityRange? standards = instrument.Calibration?.Temperature;
        return (Math.Min(s.Process.Low, standards?.Low ?? s.Process.Low) - error, Math.Max(s.Process.High, standards?.High ?? s.Process.High) + error);
    }


    private static (double, double)? Outputs(Loop? loop)
    {
        if (loop is null)
        {
            return null;
        }

        double?[] all = [loop.Under?.Value, loop.Over?.Value, loop.Failure?.Value, loop.Test?.Low, loop.Test?.High, .. loop.Scale.Select(p => (double?)p.To.Value)];
        return (all.Min() ?? 0, all.Max() ?? 0);
    }
}

/// <summary>How a value is entered, in the specification's unit, or A or V.</summary>
public readonly record struct PanelEntryRange(double Low, double High, double Step, double Start)
{
    /// <summary>Some steps up or down, within the ends.</summary>
    public double Moved(double from, int steps) => Math.Clamp(Math.Round((from + (steps * Step)) / Step) * Step, Low, High);

    public EntryClass ClassOf(double value)
    {
        double near = Step / 1000;
        return value >= High - near ? EntryClass.Greatest : value <= Low + near ? EntryClass.Least : EntryClass.Between;
    }
}
