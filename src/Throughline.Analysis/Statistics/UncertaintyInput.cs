namespace Throughline.Analysis;

/// <summary>One input of a measurement: its estimate and how well it is known. The unit is that of the quantity.</summary>
/// <param name="Name">Unique within a budget.</param>
/// <param name="Estimate">Finite.</param>
/// <param name="StandardUncertainty">Finite, not negative.</param>
/// <param name="DegreesOfFreedom">Positive; infinite when the uncertainty itself is known exactly.</param>
/// <param name="Distribution">The shape, where one is known; a rectangle that dominates changes the coverage factor.</param>
public sealed record UncertaintyInput(
    string Name, double Estimate, double StandardUncertainty, double DegreesOfFreedom = double.PositiveInfinity, Distribution? Distribution = null)
{
    public double Estimate { get; init; } = double.IsFinite(Estimate) ? Estimate : throw new ArgumentOutOfRangeException(nameof(Estimate), Estimate, "Finite.");

    public double StandardUncertainty { get; init; } = double.IsFinite(StandardUncertainty) && StandardUncertainty >= 0 ? StandardUncertainty
        : throw new ArgumentOutOfRangeException(nameof(StandardUncertainty), StandardUncertainty, "Finite and not negative.");

    public double DegreesOfFreedom { get; init; } = DegreesOfFreedom > 0 ? DegreesOfFreedom
        : throw new ArgumentOutOfRangeException(nameof(DegreesOfFreedom), DegreesOfFreedom, "Positive, infinity allowed.");

    /// <summary>An input of known shape: type B of the GUM.</summary>
    public static UncertaintyInput From(string name, Distribution distribution, double degreesOfFreedom = double.PositiveInfinity) =>
        new(name, distribution.Mean, distribution.StandardUncertainty, degreesOfFreedom, distribution);

    /// <summary>An expanded uncertainty with its coverage factor, as a certificate states it.</summary>
    public static UncertaintyInput FromExpanded(string name, double estimate, double expandedUncertainty, double coverageFactor, double degreesOfFreedom = double.PositiveInfinity) =>
        From(name, NormalDistribution.FromExpanded(estimate, expandedUncertainty, coverageFactor), degreesOfFreedom);

    /// <summary>The mean of repeated readings: type A, u = s/√n with n − 1 degrees of freedom (JCGM 100:2008, 4.2).</summary>
    /// <param name="readings">At least two.</param>
    public static UncertaintyInput FromReadings(string name, IReadOnlyList<double> readings)
    {
        if (readings.Count < 2)
        {
            throw new ArgumentException("A spread needs at least two readings.", nameof(readings));
        }

        double mean = readings.Average();
        double variance = readings.Sum(x => (x - mean) * (x - mean)) / (readings.Count - 1);
        double u = Math.Sqrt(variance / readings.Count);
        return new(name, mean, u, readings.Count - 1, new StudentDistribution(mean, u, readings.Count - 1));
    }
}
