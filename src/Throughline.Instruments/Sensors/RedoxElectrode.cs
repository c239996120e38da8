using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class RedoxElectrodeKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "redox electrode",
        "A redox electrode: its potential is the measurand.",
        Key.Kind("redox electrode"),
        SensorReading.ResponseKey,
        Key.Optional("offset", Shapes.Quantity(UnitSets.Voltage, f => f.WithDrift().OrToleranceAlone().WithSign()), "What it gives at a redox potential of zero.", "0 V"),
        Key.Required("resistance", SensorReading.PositiveResistance, "One value or the range of good electrodes."),
        Key.Optional("drift", Shapes.Quantity(UnitSets.VoltageRate, f => f.OrToleranceAlone()), "How far the offset may move with time, in either direction.", "none"),
        Key.Required("between", Shapes.Pair, "The nodes of the metal and of the reference."))
    {
        Example = "{ kind: redox electrode, offset: ±5 mV, resistance: 1 .. 50 MΩ, drift: 1 mV/week, between: [probe, probe-return] }",
    };

    public override Sensor? Read(MapView map) =>
        SensorReading.Measures(map, Dimension.Voltage) && SensorReading.Spread(map, "resistance") is { } resistance && map.Pair("between") is var (plus, minus)
            ? new RedoxElectrode
            {
                Span = map.Span,
                Offset = map.Parameter(SensorParts.Owner, "offset") ?? SensorParts.Exact("offset", Dimension.Voltage, 0),
                Resistance = resistance,
                OffsetDrift = SensorReading.About(map, "drift"),
                UnitFactor = map.Context.Measurand!.Factor,
                Plus = plus,
                Minus = minus,
            }
            : null;
}

/// <summary>
/// A redox electrode with its reference: the potential itself is the measurand, no temperature enters it (common practice). The measurand is a voltage.
/// </summary>
public sealed record RedoxElectrode : Sensor
{
    public override string Kind => "redox electrode";

    /// <summary>What it gives at a redox potential of 0, V.</summary>
    public required Parameter Offset { get; init; }

    /// <summary>Ω.</summary>
    public required Parameter Resistance { get; init; }

    /// <summary>Shift of the offset with time, V/s, about 0; null when not said.</summary>
    public Parameter? OffsetDrift { get; init; }

    /// <summary>Volts per unit of the measurand: 0.001 when it is in mV.</summary>
    public double UnitFactor { get; init; } = 1;

    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    public override double? ZeroSignal => Offset.Quantity.Value;

    public override ImmutableArray<Terminal> Terminals => SensorParts.Pair(Plus, Minus);

    public override ImmutableArray<Parameter> Parameters => OffsetDrift is null ? [Offset, Resistance] : [Offset, Resistance, OffsetDrift];

    public override SignalKind SignalKind => SignalKind.Voltage;

    public override double Signal(IUnitState state) =>
        state.Measurand * UnitFactor + state.Value(Offset) + (OffsetDrift is null ? 0 : state.Value(OffsetDrift) * state.AgeSeconds);

    public override double NominalSignal(double measurand, double processCelsius) => measurand * UnitFactor + Offset.Quantity.Value;

    public override double MeasurandOf(double signal, double processCelsius) => (signal - Offset.Quantity.Value) / UnitFactor;

    public override double SourceResistance(IUnitState state) => state.Value(Resistance);

    public override void Describe(INetworkSink sink) => SensorParts.Source(sink, Plus, Minus, Signal, SourceResistance);

    public override void DescribeSimulated(INetworkSink sink, Law signal) => SensorParts.Source(sink, Plus, Minus, signal, null);

    public override ImmutableArray<SensorInfluence> Influences(Instrument instrument) =>
        SensorParts.Drift(instrument, OffsetDrift, (_, seconds) => OffsetDrift!.Quantity.Tolerance * seconds / UnitFactor);
}
