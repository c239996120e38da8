using Throughline.Analysis;

namespace Throughline.Workbench.Parts;

/// <summary>Moments of a unit, verdicts, states and effects in words.</summary>
internal static class ResultWords
{
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

    /// <summary>A loop's current in mA, where a person looks for a state and not for the last digit; a dash for none.</summary>
    public static string Milliamperes(double amperes) => double.IsFinite(amperes) ? Engineering.Fixed(amperes * 1e3, 3, "mA") : "—";
}
