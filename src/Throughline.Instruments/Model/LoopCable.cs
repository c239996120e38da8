using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

/// <summary>The cable between the instrument's terminals and the receiver: two cores of plain copper.</summary>
public sealed record LoopCable
{
    /// <summary>Greatest length, one way, m.</summary>
    public required Quantity Length { get; init; }

    /// <summary>Nominal cross section of a core, m²; one that <see cref="CopperWire.StandardSections"/> has.</summary>
    public required Quantity Area { get; init; }

    /// <summary>Class of the conductor by IEC 60228: 1 solid, 2 stranded, 5 flexible, 6 very flexible.</summary>
    public required int Class { get; init; }

    /// <summary>Temperature along the way, °C; 20 °C alone when nothing is said.</summary>
    public required QuantityRange Temperature { get; init; }

    public SourceSpan Span { get; init; }

    /// <summary>Greatest resistance of one metre of one core at 20 °C, Ω/m (IEC 60228).</summary>
    public double OhmsPerMetre => CopperWire.MaximumPerMetre(CopperWire.NearestSection(Area.Value * 1e6), Class >= 5);

    /// <summary>Greatest resistance of both cores together over their whole length, Ω.</summary>
    /// <param name="celsius">Temperature of the copper.</param>
    public double Resistance(double celsius) => 2 * Length.Value * OhmsPerMetre * CopperWire.TemperatureFactor(celsius);

    /// <summary>Greatest resistance of both cores over the stated temperatures, Ω.</summary>
    public double GreatestResistance => Resistance(Temperature.High);
}
