namespace Throughline.Instruments;

/// <summary>What the bench adjusts with: by how much its meters and its source may be wrong. A limit not stated is none.</summary>
public sealed record BenchSection
{
    /// <summary>Nothing is said: meters are wrong by a digit of their last place, the source is right.</summary>
    public static BenchSection None { get; } = new();

    /// <summary>The meter at test points and nodes, which reads voltages.</summary>
    public BenchDevice Meter { get; init; } = BenchDevice.Exact;

    /// <summary>The meter in the loop, which reads a current.</summary>
    public BenchDevice Ammeter { get; init; } = BenchDevice.Exact;

    /// <summary>What the bench sets in the sensor's place or at a node.</summary>
    public BenchDevice Source { get; init; } = BenchDevice.Exact;

    public SourceSpan Span { get; init; }

    /// <summary>The meter of a step.</summary>
    public BenchDevice MeterOf(Dimension target) => target == Dimension.Current ? Ammeter : Meter;
}

/// <summary>A meter or a source of the bench. Its errors are the same in every step that uses it, except for the digits.</summary>
/// <param name="Error">As a share of what it reads or gives; null when it is right.</param>
/// <param name="Fixed">What is added at every value, in the unit of what it reads or gives; null when nothing is.</param>
/// <param name="Counts">Steps of the last digit that a reading may be wrong by; of no meaning for a source.</param>
public sealed record BenchDevice(Parameter? Error, Parameter? Fixed, double Counts)
{
    /// <summary>Wrong by no more than one step of the last digit.</summary>
    public static BenchDevice Exact { get; } = new(null, null, 1);
}

/// <summary>What digits of a meter mean. Common practice, no source.</summary>
public static class DigitalMeter
{
    /// <summary>Meters have no range below 100 mV …</summary>
    private const double LeastVolts = 0.1;

    /// <summary>… and none below 1 mA.</summary>
    private const double LeastAmperes = 1e-3;

    /// <summary>One step of the last digit in the smallest decimal range that shows a value.</summary>
    /// <param name="digits">From 2 to 9: 4 counts to 9999, 4.5 to 19999, 4.75 to 39999.</param>
    /// <param name="value">V, or A when <paramref name="dimension"/> says current; either sign.</param>
    /// <returns>A power of ten, in the unit of <paramref name="value"/>.</returns>
    public static double CountOf(double digits, double value, Dimension dimension)
    {
        double whole = Math.Floor(digits);
        int first = (digits - whole) switch
        {
            >= 0.75 => 4,
            >= 0.5 => 2,
            _ => 1,
        };
        double range = first * Math.Pow(10, whole);
        double least = dimension == Dimension.Current ? LeastAmperes : LeastVolts;

        // A target such as 1.9999 V is the last that its range shows; rounding must not send it to the next.
        const double Slack = 1 - 1e-9;
        int exponent = -12;
        while (Power(exponent) * (range - 1) < Math.Abs(value) * Slack || Power(exponent) * range < least * Slack)
        {
            exponent++;
        }

        return Power(exponent);
    }

    private static double Power(int exponent) => exponent < 0 ? 1 / Math.Pow(10, -exponent) : Math.Pow(10, exponent);
}
