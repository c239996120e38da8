using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Workbench.Parts;

/// <summary>Moments of a unit, verdicts, states and effects in words.</summary>
internal static class ResultWords
{
    private const double SecondsOfWeek = 604_800;

    public static string Of(Moment moment) => moment switch
    {
        Moment.AsBuilt => "as built",
        Moment.Adjusted => "adjusted",
        Moment.Calibrated => "calibrated",
        Moment.Rated => "ends of the rated conditions",
        _ => "in use",
    };

    public static string Of(CalibrationVerdict verdict) => verdict switch
    {
        CalibrationVerdict.Accepted => "accepted",
        CalibrationVerdict.ZeroRefused => "zero refused",
        CalibrationVerdict.SlopeRefused => "slope refused",
        CalibrationVerdict.BothRefused => "zero and slope refused",
        _ => "impossible",
    };

    public static string Of(LoopState state) => state switch
    {
        LoopState.FailureLow => "failure, low",
        LoopState.UnderRange => "below the range",
        LoopState.Measuring => "measuring",
        LoopState.OverRange => "above the range",
        LoopState.FailureHigh => "failure, high",
        _ => "no meaning",
    };

    /// <summary>With its sign, a lesser one where no finding asks for it.</summary>
    public static string HarmOf(LoopCondition condition) => condition.Harm switch
    {
        LoopHarm.None => "none",
        LoopHarm.Overheated => condition.IsAskedFor ? "■ overheated" : "▲ would overheat",
        _ => "no limit stated",
    };

    /// <summary>With its sign.</summary>
    public static string Of(FaultEffect effect) => effect switch
    {
        FaultEffect.Hidden => "■ hidden",
        FaultEffect.Undefined => "▲ not decided",
        FaultEffect.AtLimit => "▲ at an end",
        FaultEffect.Signalled => "· signalled",
        _ => "· harmless",
    };

    /// <summary>A figure with its unit; a dash for none.</summary>
    public static string Figure(double value, string unit, int digits = 3, bool isSigned = false) => double.IsFinite(value) ? Engineering.Format(value, unit, digits, isSigned) : "—";

    /// <summary>An error with the digits that its limit leaves to be told apart, a thousandth of it: figures of one column then have their points below each other.</summary>
    /// <param name="allowed">In the same unit; where it is no number the error has three digits of its own.</param>
    public static string Error(double value, double allowed, string unit, bool isSigned = false)
    {
        if (!double.IsFinite(value))
        {
            return "—";
        }

        if (!double.IsFinite(allowed) || !(allowed > 0))
        {
            return Figure(value, unit, 3, isSigned);
        }

        // The current of a loop is told in µA, as its error is stated; so is nothing else.
        (double scale, string shown) = unit == "A" ? (1e-6, "µA") : (1.0, unit);
        int decimals = Math.Clamp(2 - (int)Math.Floor(Math.Log10(allowed / scale)) + 1, 0, 6);
        string text = Engineering.Fixed(value / scale, decimals, shown);
        return isSigned && value > 0 && text.Any(c => c is >= '1' and <= '9') ? "+" + text : text;
    }

    /// <summary>A value of the measurand with the decimals of the display.</summary>
    public static string Shown(Instruments.Instrument instrument, double value)
    {
        if (!double.IsFinite(value))
        {
            return "—";
        }

        Instruments.Specification s = instrument.Specification;
        return s.DisplayStep is { Value: > 0 and var step } ? Engineering.Fixed(value, Math.Clamp((int)Math.Ceiling(-Math.Log10(step) - 1e-9), 0, 6), s.Unit) : Engineering.Format(value, s.Unit, 4);
    }

    /// <summary>Digits of a meter as the trade writes them: 4½ for 4.5.</summary>
    public static string MeterDigits(double digits) => digits % 1 == 0.5 ? Engineering.Fixed(Math.Floor(digits), 0) + "½" : digits % 1 == 0.75 ? Engineering.Fixed(Math.Floor(digits), 0) + "¾" : Engineering.Number(digits);

    /// <summary>A time as a clock says it: minutes and seconds above a minute.</summary>
    public static string Clock(double seconds)
    {
        double whole = Math.Floor(seconds);
        return seconds < 60 ? Engineering.Duration(Math.Round(seconds, 1))
            : seconds < 3600 ? $"{Engineering.Fixed(Math.Floor(whole / 60), 0, "min")} {Engineering.Fixed(whole % 60, 0, "s")}"
            : $"{Engineering.Fixed(Math.Floor(whole / 3600), 0, "h")} {Engineering.Fixed(Math.Floor(whole / 60) % 60, 0, "min")}";
    }

    /// <summary>What was drawn, in the same units with five digits.</summary>
    public static string Drawn(double value, string unit) => unit switch
    {
        "1/K" => Figure(value * 1e6, "ppm/K", 5),
        _ when unit.EndsWith("/s", StringComparison.Ordinal) && Math.Abs(value) < 1e-4 => Figure(value * SecondsOfWeek, unit[..^1] + "week", 5),
        _ => Figure(value, unit, 5),
    };

    /// <summary>What errs, in the unit that data sheets and files state it in: a ratio per kelvin in ppm/K, a small ratio of a bridge in µV/V, a drift per second by the week.</summary>
    public static string Contribution(double value, string unit) => unit switch
    {
        "1/K" => Figure(value * 1e6, "ppm/K"),
        // A distance between temperatures is no temperature.
        "°C" => Figure(value, "K"),
        "" when Math.Abs(value) < 1 => double.IsFinite(value) ? Engineering.Percent(value, 3) : "—",
        "V/V" when Math.Abs(value) < 1e-3 => Figure(value * 1e6, "µV/V"),
        _ when unit.EndsWith("/s", StringComparison.Ordinal) && Math.Abs(value) < 1e-4 => Figure(value * SecondsOfWeek, unit[..^1] + "week"),
        _ => Figure(value, unit),
    };

    /// <summary>The yield that a batch without a bad unit proves at 95 %: the exact one-sided binomial limit, 0.05^(1/n); about 1 − 3/n.</summary>
    /// <param name="units">How many were good; at least 1.</param>
    public static double LeastYield(long units) => Math.Pow(0.05, 1.0 / units);

    /// <summary>An error, or none where it is less than a millionth of what is allowed: that is rounding of the computation.</summary>
    public static double Noticed(double error, double allowed) => Math.Abs(error) < 1e-6 * allowed ? 0 : error;


    /// <summary>A value of the output in mA or V, where a person looks for a state and not for the last digit; a dash for none.</summary>
    public static string Output(Instrument instrument, double value) =>
        instrument.Output is var signal && double.IsFinite(value) ? Engineering.Fixed(value / signal.ShownScale, signal.ShownDecimals + 1, signal.ShownUnit) : "—";
}
