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

    public static string Of(LoopHarm harm) => harm switch
    {
        LoopHarm.None => "none",
        LoopHarm.Overheated => "■ overheated",
        _ => "no limit stated",
    };

    /// <summary>With its sign.</summary>
    public static string Of(FaultEffect effect) => effect switch
    {
        FaultEffect.Hidden => "■ hidden",
        FaultEffect.Undefined => "▲ left open",
        FaultEffect.AtLimit => "▲ at an end",
        FaultEffect.Signalled => "· signalled",
        _ => "· harmless",
    };

    /// <summary>A figure with its unit; a dash for none.</summary>
    public static string Figure(double value, string unit, int digits = 3, bool isSigned = false) => double.IsFinite(value) ? Engineering.Format(value, unit, digits, isSigned) : "—";

    /// <summary>What errs, in the unit that data sheets and files state it in: a ratio per kelvin in ppm/K, a small ratio of a bridge in µV/V, a drift per second by the week.</summary>
    public static string Contribution(double value, string unit) => unit switch
    {
        "1/K" => Figure(value * 1e6, "ppm/K"),
        "V/V" when Math.Abs(value) < 1e-3 => Figure(value * 1e6, "µV/V"),
        _ when unit.EndsWith("/s", StringComparison.Ordinal) && Math.Abs(value) < 1e-4 => Figure(value * SecondsOfWeek, unit[..^1] + "week"),
        _ => Figure(value, unit),
    };

    /// <summary>The yield that a batch without a bad unit proves at 95 %: the exact one-sided binomial limit, 0.05^(1/n); about 1 − 3/n.</summary>
    /// <param name="units">How many were good; at least 1.</param>
    public static double LeastYield(long units) => Math.Pow(0.05, 1.0 / units);

    /// <summary>An error, or none where it is less than a millionth of what is allowed: that is rounding of the computation.</summary>
    public static double Noticed(double error, double allowed) => Math.Abs(error) < 1e-6 * allowed ? 0 : error;

    /// <summary>What an instrument puts out; a current where it has no output.</summary>
    public static OutputSignal SignalOf(Instrument instrument) => instrument.Loop?.Signal ?? OutputSignal.Current;

    /// <summary>A value of the output in mA or V, where a person looks for a state and not for the last digit; a dash for none.</summary>
    public static string Output(Instrument instrument, double value) =>
        SignalOf(instrument) is var signal && double.IsFinite(value) ? Engineering.Fixed(value / signal.ShownScale, signal.ShownDecimals + 1, signal.ShownUnit) : "—";
}
