using Throughline.Analysis;

namespace Throughline.Output;

/// <summary>Moments in words.</summary>
internal static class MomentWords
{
    public static string Word(Moment moment) => moment switch
    {
        Moment.AsBuilt => "as built",
        Moment.Adjusted => "after adjustment",
        Moment.Calibrated => "after calibration",
        Moment.Rated => "at the ends of the rated conditions",
        _ => "in use",
    };

    public static string Word(CalibrationVerdict verdict) => verdict switch
    {
        CalibrationVerdict.Accepted => "accepted",
        CalibrationVerdict.ZeroRefused => "zero refused",
        CalibrationVerdict.SlopeRefused => "slope refused",
        CalibrationVerdict.BothRefused => "zero and slope refused",
        _ => "impossible",
    };
}
