using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Every kind of sensor. A new kind is one file and one line here.</summary>
internal static class SensorKinds
{
    public static readonly ImmutableArray<SensorKind> All =
    [
        new GlassElectrodeKind(),
        new RedoxElectrodeKind(),
        new IonSelectiveElectrodeKind(),
        new PlatinumSensorKind(),
        new ThermocoupleKind(),
        new StrainGaugeBridgeKind(),
        new ThermistorKind(),
        new TableSensorKind(),
        new PolynomialSensorKind(),
    ];

    public static readonly KindShape Shape = new("sensor", "kind", [.. All.Select(k => (k.Word, k.Shape))]);

    /// <summary>Builds the sensor under a key; null when it can't be.</summary>
    public static Sensor? Read(MapView parent, string key) =>
        parent.Inner(key) is { } map && All.First(k => k.Shape == map.Shape).Read(map) is { } sensor ? sensor with { Response = map.Quantity("response") } : null;
}
