namespace Throughline.Instruments.Physics;

/// <summary>
/// Tolerance classes of new thermocouple wire, IEC 60584-1:2013 table 12: the greater of a fixed and a proportional deviation. Wire that has been
/// hot drifts out of its class.
/// </summary>
public static class ThermocoupleTolerance
{
    // Class 1 of R and S is 1 K + 0.003 (t − 1100 °C) above 1100 °C: the knee is where the proportional part starts.
    private static readonly (string Types, int Class, double Low, double High, double Fixed, double Relative, double? Knee)[] Table =
    [
        ("T", 1, -40, 350, 0.5, 0.004, null),
        ("T", 2, -40, 350, 1.0, 0.0075, null),
        ("T", 3, -200, 40, 1.0, 0.015, null),
        ("E", 1, -40, 800, 1.5, 0.004, null),
        ("E", 2, -40, 900, 2.5, 0.0075, null),
        ("J", 1, -40, 750, 1.5, 0.004, null),
        ("J", 2, -40, 750, 2.5, 0.0075, null),
        ("KN", 1, -40, 1000, 1.5, 0.004, null),
        ("KN", 2, -40, 1200, 2.5, 0.0075, null),
        ("EKN", 3, -200, 40, 2.5, 0.015, null),
        ("RS", 1, 0, 1600, 1.0, 0.003, 1100),
        ("RS", 2, 0, 1600, 1.5, 0.0025, null),
        ("B", 2, 600, 1700, 0, 0.0025, null),
        ("B", 3, 600, 1700, 4.0, 0.005, null),
    ];

    /// <summary>Half width of the tolerance, K; NaN where the class does not hold or the type has no such class.</summary>
    public static double At(char type, int toleranceClass, double celsius) =>
        Find(type, toleranceClass) is { } row && celsius >= row.Low && celsius <= row.High ? Width(row.Fixed, row.Relative, row.Knee, celsius) : double.NaN;

    /// <summary>Half width of the tolerance, K, held on beyond the ends of the range in which the class holds; NaN when the type has no such class.</summary>
    public static double Extended(char type, int toleranceClass, double celsius) =>
        Find(type, toleranceClass) is { } row ? Width(row.Fixed, row.Relative, row.Knee, celsius) : double.NaN;

    /// <summary>The range in which a class holds, °C; null when the type has no such class.</summary>
    public static (double Low, double High)? Range(char type, int toleranceClass) =>
        Find(type, toleranceClass) is { } row ? (row.Low, row.High) : null;

    private static double Width(double constant, double relative, double? knee, double celsius) =>
        knee is double k ? constant + relative * Math.Max(0, celsius - k) : Math.Max(constant, relative * Math.Abs(celsius));

    private static (double Low, double High, double Fixed, double Relative, double? Knee)? Find(char type, int toleranceClass)
    {
        foreach (var row in Table)
        {
            if (row.Class == toleranceClass && row.Types.Contains(type))
            {
                return (row.Low, row.High, row.Fixed, row.Relative, row.Knee);
            }
        }

        return null;
    }
}
