using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

internal sealed class GlassElectrodeKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "glass electrode",
        "A pH electrode: Nernst's slope at the process temperature, positive in acid. The measurand is pH.",
        Key.Kind("glass electrode"),
        SensorReading.ResponseKey,
        Key.Optional(
            "zero", Shapes.Quantity(UnitSets.Acidity, f => f.WithTolerance().OrBare().OrRange().Between(0, 14)), "pH at which it gives 0 V at 25 °C.", "7.00 pH"),
        SensorReading.SlopeKey,
        Key.Optional(
            "isopotential", Shapes.Quantity(UnitSets.Acidity, f => f.WithTolerance().OrBare().OrRange().Between(0, 14)),
            "pH at which its potential does not move with temperature.", "7.00 pH"),
        Key.Required("resistance", SensorReading.PositiveResistance, "Resistance of the glass at 25 °C, one value or the range of good electrodes."),
        Key.Optional(
            "resistance halves every", Shapes.Quantity(UnitSets.TemperatureDifference, f => f.WithTolerance().Positive()),
            "Rise of temperature that halves the resistance.", "7.5 K"),
        Key.Optional("drift", Shapes.Quantity(UnitSets.AcidityRate, f => f.OrToleranceAlone()), "How far the zero may move with time, in either direction.", "none"),
        Key.Required("between", Shapes.Pair, "The nodes of the membrane and of the reference."))
    {
        Example = "{ kind: glass electrode, zero: 7.00 ±0.40 pH, slope: 94 .. 101 %, resistance: 50 .. 600 MΩ, drift: 0.02 pH/week, between: [probe, probe-return] }",
    };

    public override Sensor? Read(MapView map) =>
        SensorReading.Measures(map, Dimension.Acidity) && SensorReading.Spread(map, "resistance") is { } resistance && map.Pair("between") is var (plus, minus)
            ? new GlassElectrode
            {
                Span = map.Span,
                Zero = SensorReading.Within(map, "zero", Dimension.Acidity, 7),
                Slope = SensorReading.Within(map, "slope", Dimension.Ratio, 1),
                Isopotential = SensorReading.Within(map, "isopotential", Dimension.Acidity, 7),
                Resistance = resistance,
                HalvesEvery = map.Parameter(SensorParts.Owner, "resistance halves every")
                    ?? SensorParts.Exact("resistance halves every", Dimension.TemperatureDifference, 7.5),
                ZeroDrift = SensorReading.About(map, "drift"),
                Plus = plus,
                Minus = minus,
            }
            : null;
}

/// <summary>
/// A glass electrode with its reference: a voltage that falls as the pH rises, behind hundreds of megohms that rise in the cold. The measurand is pH.
/// </summary>
public sealed record GlassElectrode : Sensor
{
    public override string Kind => "glass electrode";

    /// <summary>pH at which it gives 0 V at 25 °C.</summary>
    public required Parameter Zero { get; init; }

    /// <summary>Slope over the theoretical one.</summary>
    public required Parameter Slope { get; init; }

    /// <summary>pH at which its potential does not move with temperature.</summary>
    public required Parameter Isopotential { get; init; }

    /// <summary>At 25 °C, Ω.</summary>
    public required Parameter Resistance { get; init; }

    /// <summary>Rise of temperature that halves the resistance, K.</summary>
    public required Parameter HalvesEvery { get; init; }

    /// <summary>Shift of the zero with time, pH/s, about 0; null when not said.</summary>
    public Parameter? ZeroDrift { get; init; }

    /// <summary>The membrane's side.</summary>
    public required Located<string> Plus { get; init; }

    /// <summary>The reference's side.</summary>
    public required Located<string> Minus { get; init; }

    public override double? ZeroSignal => 0;

    public override double NominalSlope => Slope.Quantity.Value;

    public override ImmutableArray<Terminal> Terminals => SensorParts.Pair(Plus, Minus);

    public override ImmutableArray<Parameter> Parameters =>
        ZeroDrift is null ? [Zero, Slope, Isopotential, Resistance, HalvesEvery] : [Zero, Slope, Isopotential, Resistance, HalvesEvery, ZeroDrift];

    public override SignalKind SignalKind => SignalKind.Voltage;

    public override double Signal(IUnitState state)
    {
        double zero = state.Value(Zero) + (ZeroDrift is null ? 0 : state.Value(ZeroDrift) * state.AgeSeconds);
        return GlassElectrodeLaw.Potential(state.Measurand, state.ProcessCelsius, zero, state.Value(Slope), state.Value(Isopotential));
    }

    public override double NominalSignal(double measurand, double processCelsius) =>
        GlassElectrodeLaw.Potential(measurand, processCelsius, Zero.Quantity.Value, Slope.Quantity.Value, Isopotential.Quantity.Value);

    public override double MeasurandOf(double signal, double processCelsius) =>
        GlassElectrodeLaw.Ph(signal, processCelsius, Zero.Quantity.Value, Slope.Quantity.Value, Isopotential.Quantity.Value);

    public override double SourceResistance(IUnitState state) =>
        GlassElectrodeLaw.Resistance(state.Value(Resistance), state.ProcessCelsius, state.Value(HalvesEvery));

    public override void Describe(INetworkSink sink) => SensorParts.Source(sink, Plus, Minus, Signal, SourceResistance);

    public override void DescribeSimulated(INetworkSink sink, Law signal) => SensorParts.Source(sink, Plus, Minus, signal, null);

    public override ImmutableArray<SensorInfluence> Influences(Instrument instrument) =>
    [
        .. SensorParts.WithoutCompensation(instrument, this),
        .. SensorParts.Drift(instrument, ZeroDrift, (_, seconds) => ZeroDrift!.Quantity.Tolerance * seconds),
    ];
}
