namespace Throughline.Instruments;

/// <summary>Reads what isolation is asked for, and what the parts that cross it state.</summary>
internal static class IsolationReader
{
    public const string Withstands = "withstands";

    private static readonly QuantityShape Volts = Shapes.Quantity(UnitSets.Voltage, f => f.Positive());

    private static readonly QuantityShape Metres = Shapes.Quantity(UnitSets.Length, f => f.Positive());

    private static readonly Key WorkingVoltage = Key.Optional("working voltage", Volts, "Voltage between its two sides for all time.");

    private static readonly Key Creepage = Key.Optional("creepage", Metres, "Shortest way along a surface between its two sides.");

    private static readonly Key Clearance = Key.Optional("clearance", Metres, "Shortest way through air between its two sides.");

    /// <summary>What a part that crosses may state.</summary>
    public static readonly Key[] PartKeys =
    [
        Key.Optional(Withstands, Volts, "Isolation voltage."),
        WorkingVoltage,
        Creepage,
        Clearance,
        Key.Optional("insulation", Shapes.Quantity(UnitSets.Resistance, f => f.WithBounds().Positive()), "Resistance between its two sides.", "infinite"),
        Key.Optional("coupling", Shapes.Quantity(UnitSets.Capacitance, f => f.WithBounds().Positive()), "Capacitance between its two sides.", "0 F"),
    ];

    public static readonly MapShape Shape = new(
        "isolation",
        "What every part that crosses between isolated domains has to state at least, and the grounds that the isolation keeps apart. Which figures are needed is the "
            + "user's to say, from the standard that applies; local codes and licensed practice decide.",
        Key.Optional(Withstands, Volts, "Isolation voltage needed."),
        Key.Optional("working voltage", Volts, "Working voltage needed."),
        Key.Optional("creepage", Metres, "Creepage distance needed."),
        Key.Optional("clearance", Metres, "Clearance needed."),
        Key.Optional("grounded", Shapes.Pair, "The node that stands on ground in the process, and the one that stands on ground at the receiver."),
        Key.Optional("ground difference", Volts, "Voltage between the two grounds.", "none"),
        Key.Optional("ground frequency", Shapes.Quantity(UnitSets.Frequency, f => f.Positive()), "Its frequency.", "direct current"))
    {
        Example = "isolation: { withstands: 1 kV, creepage: 3 mm, grounded: [probe-return, loop-], ground difference: 5 V, ground frequency: 50 Hz }",
    };

    public static IsolationNeeds Read(MapView map) => new()
    {
        Withstands = map.Quantity(Withstands),
        WorkingVoltage = map.Quantity("working voltage"),
        Creepage = map.Quantity("creepage"),
        Clearance = map.Quantity("clearance"),
        Grounded = map.Pair("grounded"),
        GroundDifference = map.Quantity("ground difference"),
        GroundHertz = map.Quantity("ground frequency")?.Value ?? 0,
        Span = map.Span,
    };

    /// <summary>What a part states under <see cref="PartKeys"/>, its withstand voltage apart.</summary>
    /// <param name="grade">What its grade states of it; null for a part without one.</param>
    public static Insulation ReadPart(MapView map, MapView? grade = null)
    {
        return new Insulation
        {
            WorkingVoltage = Of("working voltage"),
            Creepage = Of("creepage"),
            Clearance = Of("clearance"),
            Resistance = Of("insulation"),
            Capacitance = Of("coupling"),
        };

        Quantity? Of(string key) => map.Quantity(key) ?? grade?.Quantity(key);
    }
}
