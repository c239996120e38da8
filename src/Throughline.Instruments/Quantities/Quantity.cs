namespace Throughline.Instruments;

/// <summary>
/// A quantity as it stands on a drawing: a value with what the maker leaves open. Immutable; equal when all is equal, its place included.
/// </summary>
/// <param name="Dimension">The kind of quantity; it fixes the unit of every number here.</param>
/// <param name="Value">The stated, typical or nominal value at 25 °C; finite.</param>
/// <param name="Low">The least value a good unit has at 25 °C; equal to <paramref name="Value"/> without a tolerance; −∞ when only a maximum was stated.</param>
/// <param name="High">The greatest value a good unit has at 25 °C; +∞ when only a minimum was stated.</param>
/// <param name="Drift">Bound on the change per kelvin of ambient temperature, in the quantity's own unit per kelvin, not negative.
/// <c>10 kΩ ±25 ppm/K</c> has 0.25.</param>
/// <param name="SignedDrift">The change per kelvin where its sign is stated (<c>−2 mV/K</c>); it is known, not a bound. 0 otherwise.</param>
/// <param name="Span">Where it is said.</param>
/// <param name="Text">As the user wrote it.</param>
public sealed record Quantity(
    Dimension Dimension,
    double Value,
    double Low,
    double High,
    double Drift,
    double SignedDrift,
    SourceSpan Span,
    string Text)
{
    /// <summary>An exact quantity said nowhere in a file, for defaults and tests.</summary>
    public static Quantity Exact(Dimension dimension, double value) =>
        new(dimension, value, value, value, 0, 0, default, "");

    /// <summary>Whether every good unit has the same value at every temperature.</summary>
    public bool IsExact => Low == Value && High == Value && Drift == 0 && SignedDrift == 0;

    /// <summary>The greater of the two distances from the value to its limits at 25 °C, in the quantity's unit.</summary>
    public double Tolerance => Math.Max(High - Value, Value - Low);
}

/// <summary>A stretch of a quantity, from a low to a high value, ends included, as in <c>5 .. 45 °C</c>.</summary>
public sealed record QuantityRange(Dimension Dimension, double Low, double High, SourceSpan Span, string Text)
{
    public double Width => High - Low;

    public double Middle => (Low + High) / 2;

    public bool Contains(double value) => value >= Low && value <= High;
}
