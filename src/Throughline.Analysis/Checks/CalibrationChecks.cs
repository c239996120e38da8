using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The user's calibration accepts every good sensor and no dead one.</summary>
internal sealed class CalibrationAcceptanceCheck : Check
{
    public override string Name => "calibration acceptance";

    public override string MustHold => "The user's calibration accepts every sensor within its stated limits, in standards within their tolerances and temperatures, and refuses dead ones.";

    public override string Formula => "The code's own fit on sensors at every corner of zero, slope, standards and temperatures. Dead: the same signal everywhere, no signal, a slope below 80 % "
        + "or beyond twice the stated deviation, a zero beyond three times the stated deviation and ±65 mV (electrodes) or a sixth of the range, and an accepted sensor that drives the converter out of its range. "
        + "Margin: room of the good sensors within the accepted window. Mistakes of the user are played through and the worst that slips through is stated.";

    public override string Source => "Zero and slope as in IEC 60746-2; limits of dead electrodes: common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Calibration is not { } report)
        {
            yield break;
        }

        Calibration calibration = context.Instrument.Calibration!;
        DeadSensor? dead = report.Dead.FirstOrDefault(d => d.Verdict == CalibrationVerdict.Accepted);
        double good = GoodMargin(report);
        double margin = dead is not null || report.OutOfRange is not null ? Math.Min(good, -0.5) : good;
        string zeros = Engineering.Range(report.LeastZero, report.GreatestZero, report.ZeroUnit, 3);
        string slopes = report.Points > 1 ? $" and slopes of {Percents(report.LeastSlope, report.GreatestSlope)}" : "";
        string statement = $"Good sensors give zeros of {zeros}{slopes}; {Accepted(report)}.";
        if (report.Refused is { } refused)
        {
            statement += " " + RefusedSentence(report, refused);
        }

        statement += dead is not null ? $" A sensor {dead.Name} is accepted."
            : report.OutOfRange is { } beyond
                ? $" A sensor at the edge of what is accepted puts {Engineering.Format(beyond.Volts, "V", 3)} on the converter at {context.At(beyond.Measurand)}, beyond its range."
            : "";
        statement += report.WorstMistake is { } worst
            ? $" Worst mistake that slips through: {worst.Name}, off by {context.Difference(worst.Error, signed: true)} at {context.At(worst.At)}."
            : report.Mistakes.IsEmpty ? "" : " No mistake slips through.";
        yield return CheckContext.Finding(
            this,
            "user's calibration",
            context.Model.Arithmetic?.Name.Value ?? "instrument",
            margin,
            statement,
            [
                new Figure("least zero", report.LeastZero, report.ZeroUnit),
                new Figure("greatest zero", report.GreatestZero, report.ZeroUnit),
                new Figure("accepted zero", report.AcceptedZero, report.ZeroUnit),
                new Figure("least slope", report.LeastSlope, ""),
                new Figure("greatest slope", report.GreatestSlope, ""),
                new Figure("accepted least slope", report.AcceptedLeastSlope, ""),
                new Figure("accepted greatest slope", report.AcceptedGreatestSlope, ""),
                new Figure("error of the worst mistake", report.WorstMistake?.Error ?? double.NaN, context.Specification.Unit),
            ],
            Mend(report, dead),
            calibration.AcceptZero?.Span ?? calibration.AcceptSlope?.Span ?? calibration.Span);
    }

    private static double GoodMargin(CalibrationReport report)
    {
        if (report.Refused is { Verdict: CalibrationVerdict.Impossible })
        {
            return -1;
        }

        double zero = double.IsFinite(report.AcceptedZero)
            ? CheckContext.MarginOf(Math.Max(Math.Abs(report.LeastZero), Math.Abs(report.GreatestZero)), report.AcceptedZero)
            : 1;
        double half = (report.AcceptedGreatestSlope - report.AcceptedLeastSlope) / 2;
        double slope = report.Points > 1 && double.IsFinite(half)
            ? Math.Min(report.LeastSlope - report.AcceptedLeastSlope, report.AcceptedGreatestSlope - report.GreatestSlope) / half
            : 1;
        return Math.Min(zero, slope);
    }

    private static string Accepted(CalibrationReport report)
    {
        List<string> limits = [];
        if (double.IsFinite(report.AcceptedZero))
        {
            limits.Add($"±{Engineering.Format(report.AcceptedZero, report.ZeroUnit, 3)}");
        }

        if (double.IsFinite(report.AcceptedLeastSlope))
        {
            limits.Add(Percents(report.AcceptedLeastSlope, report.AcceptedGreatestSlope));
        }

        return limits.Count == 0 ? "every zero and slope is accepted" : $"accepted {(limits.Count == 1 ? "is" : "are")} {string.Join(" and ", limits)}";
    }

    private static string RefusedSentence(CalibrationReport report, CalibrationOutcome refused)
    {
        string zero = Engineering.Format(refused.Zero, report.ZeroUnit, 3, signed: true);
        string slope = Engineering.Percent(refused.Slope);
        return refused.Verdict switch
        {
            CalibrationVerdict.ZeroRefused => $"A good sensor's zero of {zero} is refused" + (report.Points > 1 ? $" although its slope of {slope} is good." : "."),
            CalibrationVerdict.SlopeRefused => $"A good sensor's slope of {slope} is refused although its zero of {zero} is good.",
            CalibrationVerdict.BothRefused => $"A good sensor of zero {zero} and slope {slope} is refused for both.",
            _ => "With a good sensor no line can be made.",
        };
    }

    private static string Percents(double low, double high) =>
        Engineering.Percent(low) == Engineering.Percent(high) ? Engineering.Percent(low) : $"{Engineering.Percent(low)} .. {Engineering.Percent(high)}";

    private static string Mend(CalibrationReport report, DeadSensor? dead)
    {
        double zero = 1.2 * Math.Max(Math.Abs(report.LeastZero), Math.Abs(report.GreatestZero));
        string window = $"Accept a zero of ±{Engineering.Format(zero, report.ZeroUnit, 2)}"
            + (report.Points > 1 ? $" and slopes of {Engineering.Percent(report.LeastSlope - 0.04, 2)} .. {Engineering.Percent(report.GreatestSlope + 0.02, 3)}" : "");
        return report.Refused is { Verdict: CalibrationVerdict.Impossible } ? "Take standards that are farther apart."
            : dead is not null && report.Points < 2 ? window + ", or calibrate in two points, which also shows a sensor that no longer moves."
            : report.OutOfRange is not null && dead is null && report.Refused is null ? window + ", or leave the converter more room."
            : window + ".";
    }
}

/// <summary>The error limit holds until the next calibration.</summary>
internal sealed class CalibrationIntervalCheck : Check
{
    public override string Name => "calibration interval";

    public override string MustHold => "From one calibration to the next the sensor's drift, with what the standards and temperatures leave after a calibration, stays below the error limit.";

    public override string Formula => "Sensors at every corner of their limits are calibrated by the code in standards at the ends of their tolerances and temperatures and read over the measuring "
        + "range and the process temperatures when the interval ends, the drift at its limit; the longest interval by bisection. What the electronics adds is not in it.";

    public override string Source => "Arithmetic worst case; common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Calibration is not { } report || context.Specification.CalibrationInterval is not { } interval)
        {
            yield break;
        }

        double allowed = context.AllowedError;
        string first = context.Difference(Math.Abs(report.ErrorAtFirst));
        string end = context.Difference(Math.Abs(report.ErrorAtEnd));
        string longest = double.IsInfinity(report.LongestInterval) ? "nothing drifts" : report.LongestInterval <= 0
            ? "no interval keeps the limit" : $"{Days(report.LongestInterval)} keep the limit";
        yield return CheckContext.Finding(
            this,
            "until the next calibration",
            "sensor",
            CheckContext.MarginOf(report.ErrorAtEnd, allowed),
            $"Off by up to {first} after a calibration and {end} after {Days(interval.Value)}, worst at {context.At(report.WorstAt)}; {context.Difference(allowed)} are allowed: {longest}.",
            [
                new Figure("error after a calibration", report.ErrorAtFirst, context.Specification.Unit),
                new Figure("error at the end of the interval", report.ErrorAtEnd, context.Specification.Unit),
                new Figure("worst at", report.WorstAt, context.Specification.Unit),
                new Figure("allowed", allowed, context.Specification.Unit),
                new Figure("longest interval", report.LongestInterval, "s"),
            ],
            report.LongestInterval > 0 && double.IsFinite(report.LongestInterval)
                ? $"Calibrate at least every {Days(report.LongestInterval)}, or choose a sensor that drifts less."
                : "Take standards with a narrower tolerance, let the code follow their temperature and measure the process temperature.",
            interval.Span);
    }

    /// <summary>Whole days rounded down, so that what is advised still holds; hours below two days.</summary>
    private static string Days(double seconds) =>
        seconds >= 2 * 86400 ? Engineering.WithUnit(Engineering.Number(Math.Floor(seconds / 86400 * (1 + 1e-6)), 6), "days")
        : Engineering.WithUnit(Engineering.Number(seconds / 3600, 2), "h");
}
