namespace Throughline.Instruments;

/// <summary>What a part may turn into heat.</summary>
/// <param name="Dissipation">Greatest power whatever the temperature, W; null when not said.</param>
/// <param name="Thermal">Junction to ambient, K/W; null when not said.</param>
/// <param name="JunctionLimit">Greatest temperature of the junction, °C; null when not said.</param>
public sealed record PowerRating(Quantity? Dissipation, Quantity? Thermal, Quantity? JunctionLimit)
{
    /// <summary>A power rating is stated at this ambient temperature, °C, unless its data sheet says otherwise.</summary>
    private const double StatedAt = 25;

    /// <summary>Junction to ambient, K/W: as stated, else what takes the junction from 25 °C to its limit at the stated power; null when neither is known.</summary>
    public double? KelvinPerWatt =>
        Thermal?.Value ?? (Dissipation is { } power && JunctionLimit is { } limit ? (limit.Value - StatedAt) / power.Value : null);

    /// <summary>Temperature of the junction, °C; null where the thermal resistance is not known.</summary>
    public double? JunctionCelsius(double watts, double ambient) => KelvinPerWatt is { } thermal ? ambient + (watts * thermal) : null;

    /// <summary>Power that the part stands at an ambient temperature, W; null when nothing limits it.</summary>
    public double? AllowedWatts(double ambient)
    {
        double? byJunction = JunctionLimit is { } limit && KelvinPerWatt is { } thermal ? Math.Max(0, (limit.Value - ambient) / thermal) : null;
        return Dissipation is not { } power ? byJunction : byJunction is { } hot ? Math.Min(power.Value, hot) : power.Value;
    }

    /// <summary>What a grade states; null when it states nothing of the kind.</summary>
    internal static PowerRating? Of(MapView grade) =>
        (grade.Quantity(Grades.Dissipation), grade.Quantity(Grades.Thermal), grade.Quantity(Grades.JunctionLimit)) is var (power, thermal, limit)
        && (power ?? thermal ?? limit) is not null
            ? new PowerRating(power, thermal, limit)
            : null;
}
