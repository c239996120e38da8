namespace Throughline.Instruments;

/// <summary>A kind of sensor: what may be written and how it becomes a <see cref="Sensor"/>. One file per kind, registered in <see cref="SensorKinds"/>.</summary>
internal abstract class SensorKind
{
    /// <summary>What may be written; its title is the trade's word for the kind and its first key is <see cref="Key.Kind"/> of that word.</summary>
    public abstract MapShape Shape { get; }

    public string Word => Shape.Title;

    /// <summary>Builds the sensor from a map whose shape was checked. Null when something it can't do without is missing or wrong: that is reported
    /// by the shape already. Mistakes of meaning are reported to the view. The specification is in <see cref="MapView.Context"/>.</summary>
    public abstract Sensor? Read(MapView map);
}
