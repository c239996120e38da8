namespace Throughline.Circuits;

/// <summary>The exponential law of a junction, I = Is (exp(v / nVT) − 1), and how far one Newton step may move along it.</summary>
internal static class Junction
{
    /// <summary>Current and its derivative; none when there is no saturation current.</summary>
    public static double Current(double saturation, double thermal, double volts, out double conductance)
    {
        if (!(saturation > 0))
        {
            conductance = 0;
            return 0;
        }

        double power = Math.Exp(Math.Min(volts / thermal, MaximumExponent));
        conductance = saturation * power / thermal;
        return saturation * (power - 1);
    }

    /// <summary>
    /// Where to linearise next after a step along the tangent to <paramref name="volts"/>. Above the voltage of sharpest bend the tangent
    /// says the current well and the voltage badly, so the point on the curve that has the tangent's current is taken; below it the
    /// voltage is. Upward steps only: on the convex curve a downward step never overshoots.
    /// </summary>
    /// <param name="saturation">Is, A.</param>
    /// <param name="thermal">n kT/q, V.</param>
    /// <param name="volts">Voltage that the linear equations gave.</param>
    /// <param name="previous">Voltage of the point they were linearised at.</param>
    public static double Limit(double saturation, double thermal, double volts, double previous)
    {
        double bend = Bend(saturation, thermal);
        if (!(volts > bend) || volts <= previous)
            return volts;
        double current = Current(saturation, thermal, previous, out double conductance);
        current += conductance * (volts - previous);
        double ofCurrent = current > 0 ? thermal * Math.Log(1 + (current / saturation)) : bend;
        return Math.Min(volts, Math.Max(ofCurrent, bend));
    }

    /// <summary>The same for many units at once; current over saturation current, and that over the thermal voltage.</summary>
    public static (Expr Current, Expr Conductance) Current(BatchEquations e, Expr saturation, Expr thermal, Expr volts)
    {
        if (saturation.IsConstant && !(saturation.Nominal > 0))
            return (e.Constant(0), e.Constant(0));
        Expr power = e.Exp(volts * (1 / thermal));
        return (e.Tape.MultiplyAdd(saturation, power, -saturation), saturation / thermal * power);
    }

    /// <summary>
    /// The same for many units at once. On the exponential the point that has the tangent's current is VT ln(1 + step/VT) above the last one, whatever the
    /// saturation current; a step of less than a twentieth of VT is not worth shortening.
    /// </summary>
    public static Expr Limit(BatchEquations e, Expr saturation, Expr thermal, Expr volts, Expr previous)
    {
        if (saturation.IsConstant && !(saturation.Nominal > 0))
            return volts;
        Expr bend = thermal * e.RoughLog(thermal / (saturation * Math.Sqrt(2)));
        Expr relative = (volts - previous) * (1 / thermal);
        Expr point = e.Tape.MultiplyAdd(thermal, e.RoughLog(relative.AtLeast(0) + 1), previous);
        return e.Select((relative > 0.05) & (volts > bend), point.AtLeast(bend).AtMost(volts), volts);
    }

    /// <summary>
    /// The same for many units at once. Newton's step from a point this near ends within the square of the distance: a current is then right to 5e-13 of itself.
    /// </summary>
    public static Expr IsAt(Expr volts, Expr point, Expr thermal) => (volts - point).Abs() <= thermal * 1e-6;

    /// <summary>Voltage at which the curve bends most sharply: nVT ln(nVT / (√2 Is)), for conductances in siemens.</summary>
    public static double Bend(double saturation, double thermal) =>
        saturation > 0 ? thermal * Math.Log(thermal / (Math.Sqrt(2) * saturation)) : double.PositiveInfinity;

    /// <summary>Whether a law linearised at <paramref name="point"/> holds at <paramref name="volts"/> as well as it can be said.</summary>
    public static bool IsAt(double volts, double point, double thermal, double magnitude) =>
        Math.Abs(volts - point) <= (1e-9 * thermal) + (1e-13 * magnitude);

    // Beyond this the exponential is a line in all but name; it keeps a wild iterate finite.
    private const double MaximumExponent = 600;
}
