namespace Throughline.Analysis;

/// <summary>What the trim of the output takes away: straight sums of the loop's error at reference conditions, A, after adjustment and, where there is one, calibration.</summary>
/// <param name="Without">Of the same instrument without a trim, at the worst point of the range.</param>
/// <param name="With">With it, at the worst point of the range.</param>
/// <param name="Measurand">Where <paramref name="With"/> stands, in the specification's unit.</param>
/// <param name="OfMeter">What of it the meter and the step of the entry make at the worse end of the scale.</param>
public sealed record OutputTrimEffect(double Without, double With, double Measurand, double OfMeter);
