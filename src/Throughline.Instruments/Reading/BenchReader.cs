namespace Throughline.Instruments;

/// <summary>Reads what the bench adjusts with.</summary>
internal static class BenchReader
{
    /// <summary>The owner of the bench's errors.</summary>
    public const string Owner = "bench";

    private static readonly Key Error = Key.Optional(
        "error", Shapes.Quantity(UnitSets.Percent, f => f.OnlyTolerance()), "Limit of its error as a share of the value.", "±0 %");

    private static readonly Key Counts = Key.Optional(
        "counts", new NumberShape(0, 1000), "Steps of the last digit that it may be wrong by besides; what a step is follows from the `meter` of the adjustment step.", "1");

    private static readonly MapShape Meter = new(
        "bench meter",
        "Limits of error of the meter at test points and nodes.",
        Error,
        Key.Optional("fixed", Shapes.Quantity(UnitSets.Voltage, f => f.OnlyTolerance()), "Limit of its error at every value.", "±0 V"),
        Counts);

    private static readonly MapShape Ammeter = new(
        "bench ammeter",
        "Limits of error of the meter in the loop.",
        Error,
        Key.Optional("fixed", Shapes.Quantity(UnitSets.Current, f => f.OnlyTolerance()), "Limit of its error at every value.", "±0 A"),
        Counts);

    private static readonly MapShape Source = new(
        "bench source",
        "Limits of error of what the bench sets in the sensor's place or at a node.",
        Error,
        Key.Optional("fixed", Shapes.Quantity(UnitSets.Signal, f => f.OnlyTolerance()), "Limit of its error at every value; counts where the source gives this kind of quantity.", "±0"));

    public static readonly MapShape Shape = new(
        "bench",
        "What the bench adjusts with: by how much its meters and its source may be wrong.",
        Key.Optional("meter", Meter, "The meter at test points and nodes.", "wrong by its last digit only"),
        Key.Optional("ammeter", Ammeter, "The meter in the loop.", "wrong by its last digit only"),
        Key.Optional("source", Source, "What the bench sets in the sensor's place or at a node.", "exact"))
    {
        Example = "bench: { meter: { error: ±0.05 %, fixed: ±0.2 mV, counts: 2 }, ammeter: { error: ±0.1 % }, source: { error: ±0.02 %, fixed: ±20 µV } }",
    };

    public static BenchSection Read(MapView map) => new()
    {
        Meter = Device(map, "meter"),
        Ammeter = Device(map, "ammeter"),
        Source = Device(map, "source"),
        Span = map.Span,
    };

    private static BenchDevice Device(MapView map, string key) =>
        map.Inner(key) is { } device
            ? new BenchDevice(
                device.Parameter(Owner, "error", $"{key} error"),
                device.Parameter(Owner, "fixed", $"{key} fixed error"),
                device.Shape["counts"] is null ? 0 : device.Number("counts") ?? BenchDevice.Exact.Counts)
            : BenchDevice.Exact;
}
