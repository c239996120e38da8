namespace Throughline.Instruments.Physics;

/// <summary>
/// A tolerance class of platinum thermometers, IEC 60751:2008 table 3: ±(a + b |t|), each with the range in which it holds. The class letters of the
/// 1995 edition went to higher temperatures with the same formula; its ranges are not used here. The film range of class C is from memory.
/// </summary>
/// <param name="Name">AA, A, B or C.</param>
/// <param name="Constant">a, K.</param>
/// <param name="PerKelvin">b, K/K.</param>
/// <param name="WireLow">Least temperature for wire-wound elements, °C.</param>
/// <param name="WireHigh">Greatest temperature for wire-wound elements, °C.</param>
/// <param name="FilmLow">Least temperature for film elements, °C.</param>
/// <param name="FilmHigh">Greatest temperature for film elements, °C.</param>
public sealed record PlatinumClass(
    string Name, double Constant, double PerKelvin, double WireLow, double WireHigh, double FilmLow, double FilmHigh)
{
    /// <summary>From the finest.</summary>
    public static IReadOnlyList<PlatinumClass> All { get; } =
    [
        new("AA", 0.10, 0.0017, -50, 250, 0, 150),
        new("A", 0.15, 0.002, -100, 450, -30, 300),
        new("B", 0.30, 0.005, -196, 600, -50, 500),
        new("C", 0.60, 0.01, -196, 600, -50, 600),
    ];

    /// <summary>The class of that name, null when there is none.</summary>
    public static PlatinumClass? Named(string name) => All.FirstOrDefault(c => c.Name == name);

    /// <summary>Half width of the tolerance, K, whether or not the class holds there.</summary>
    public double Tolerance(double celsius) => Constant + PerKelvin * Math.Abs(celsius);

    /// <summary>Whether the class holds at a temperature for a wire-wound element.</summary>
    public bool HoldsForWire(double celsius) => celsius >= WireLow && celsius <= WireHigh;

    /// <summary>Whether the class holds at a temperature for a film element.</summary>
    public bool HoldsForFilm(double celsius) => celsius >= FilmLow && celsius <= FilmHigh;
}
