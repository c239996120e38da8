using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

internal sealed class IonSelectiveElectrodeKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "ion-selective electrode",
        "An ion-selective electrode: Nernst's slope for the charge of the ion, against the logarithm of the concentration.",
        Key.Kind("ion-selective electrode"),
        SensorReading.ResponseKey,
        Key.Required("charge", new WordShape("1", "-1", "2", "-2"), "Charge of the ion."),
        SensorReading.SlopeKey,
        Key.Required(
            "potential at",
            new DictionaryShape(
                "a concentration with the potential there such as { 1 mmol/L: 0 mV }", Shapes.Measurand, Shapes.Quantity(UnitSets.Voltage, f => f.WithDrift().WithSign()), 1, 1),
            "One point of its line; its potential there is taken not to move with temperature."),
        Key.Optional("detection limit", Shapes.Measurand, "Concentration at which the line levels off.", "none"),
        Key.Required("resistance", SensorReading.PositiveResistance, "One value or the range of good electrodes."),
        Key.Optional("drift", Shapes.Quantity(UnitSets.VoltageRate, f => f.OrToleranceAlone()), "How far the potential may move with time, in either direction.", "none"),
        Key.Required("between", Shapes.Pair, "The nodes of the membrane and of the reference."))
    {
        Example = "{ kind: ion-selective electrode, charge: -1, potential at: { 1 mmol/L: 120 mV ±10 mV }, resistance: 1 .. 5 MΩ, between: [probe, probe-return] }",
    };

    public override Sensor? Read(MapView map)
    {
        if (!SensorReading.Measures(map, Dimension.Concentration)
            || map.Word("charge") is not { } charge
            || SensorReading.Spread(map, "resistance") is not { } resistance
            || map.Pair("between") is not var (plus, minus)
            || map.Context.Measurand is not { } scale
            || !map.Points("potential at").Any())
        {
            return null;
        }

        (ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) = map.Points("potential at").First();
        Quantity? reference = SensorReading.Positive(map, scale.Convert(from, fromNode, map.Context.Sink));
        Quantity? limit = map.Has("detection limit") ? SensorReading.Positive(map, map.Measurand("detection limit")) : null;
        if (map.Context.Specification is { Range: { Low: <= 0 } range })
        {
            map.Report(
                Codes.OutOfRange, range.Span, "An ion-selective electrode has no reading at a concentration of zero: its potential goes with the logarithm.",
                "a range that begins above zero", $"`{range.Text}`");
        }

        return reference is null
            ? null
            : new IonSelectiveElectrode
            {
                Span = map.Span,
                Charge = charge.Value switch { "1" => 1, "-1" => -1, "2" => 2, _ => -2 },
                Slope = SensorReading.Within(map, "slope", Dimension.Ratio, 1),
                Potential = new Parameter(SensorParts.Owner, "potential", to.ToQuantity(toNode.Span, toNode.Text)),
                ReferenceConcentration = reference.Value,
                DetectionLimit = limit?.Value ?? 0,
                DetectionLimitSpan = limit?.Span ?? default,
                Resistance = resistance,
                PotentialDrift = SensorReading.About(map, "drift"),
                Plus = plus,
                Minus = minus,
            };
    }
}

/// <summary>
/// An ion-selective electrode with its reference: a voltage in proportion to the logarithm of the concentration. The code that reads it assumes the sloping
/// line; near the detection limit the electrode leaves it and the reading comes out high.
/// </summary>
public sealed record IonSelectiveElectrode : Sensor
{
    public override string Kind => "ion-selective electrode";

    /// <summary>Charge of the ion: 1, −1, 2 or −2.</summary>
    public required int Charge { get; init; }

    /// <summary>Slope over the theoretical one.</summary>
    public required Parameter Slope { get; init; }

    /// <summary>Potential at <see cref="ReferenceConcentration"/> at every temperature, V.</summary>
    public required Parameter Potential { get; init; }

    /// <summary>In the measurand's unit, positive.</summary>
    public required double ReferenceConcentration { get; init; }

    /// <summary>In the measurand's unit; 0 for none.</summary>
    public double DetectionLimit { get; init; }

    /// <summary>Where the detection limit is said.</summary>
    public SourceSpan DetectionLimitSpan { get; init; }

    /// <summary>Ω.</summary>
    public required Parameter Resistance { get; init; }

    /// <summary>Shift of the potential with time, V/s, about 0; null when not said.</summary>
    public Parameter? PotentialDrift { get; init; }

    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    public override double? ZeroSignal => Potential.Quantity.Value;

    public override double NominalSlope => Slope.Quantity.Value;

    public override ImmutableArray<Terminal> Terminals => SensorParts.Pair(Plus, Minus);

    public override ImmutableArray<Parameter> Parameters => PotentialDrift is null ? [Slope, Potential, Resistance] : [Slope, Potential, Resistance, PotentialDrift];

    public override SignalKind SignalKind => SignalKind.Voltage;

    /// <summary>A concentration that is not positive has no logarithm: it is taken as a trillionth of the reference.</summary>
    public override double Signal(IUnitState state) =>
        IonSelectiveLaw.Potential(
            Math.Max(state.Measurand, ReferenceConcentration * 1e-12), state.ProcessCelsius, Charge, ReferenceConcentration, state.Value(Potential), state.Value(Slope), DetectionLimit)
        + (PotentialDrift is null ? 0 : state.Value(PotentialDrift) * state.AgeSeconds);

    /// <summary>NaN for a concentration that is not positive.</summary>
    public override double NominalSignal(double measurand, double processCelsius) =>
        IonSelectiveLaw.Potential(measurand, processCelsius, Charge, ReferenceConcentration, Potential.Quantity.Value, Slope.Quantity.Value);

    public override double MeasurandOf(double signal, double processCelsius) =>
        IonSelectiveLaw.Concentration(signal, processCelsius, Charge, ReferenceConcentration, Potential.Quantity.Value, Slope.Quantity.Value);

    public override double SourceResistance(IUnitState state) => state.Value(Resistance);

    public override void Describe(INetworkSink sink) => SensorParts.Source(sink, Plus, Minus, Signal, SourceResistance);

    public override void DescribeSimulated(INetworkSink sink, Law signal) => SensorParts.Source(sink, Plus, Minus, signal, null);

    public override ImmutableArray<SensorInfluence> Influences(Instrument instrument)
    {
        double process = instrument.Specification.Process.Middle;
        return
        [
            .. SensorParts.WithoutCompensation(instrument, this),
            .. SensorParts.Drift(
                instrument,
                PotentialDrift,
                (x, seconds) => SensorParts.Worst(
                    MeasurandOf(NominalSignal(x, process) + PotentialDrift!.Quantity.Tolerance * seconds, process) - x,
                    MeasurandOf(NominalSignal(x, process) - PotentialDrift!.Quantity.Tolerance * seconds, process) - x)),
            .. DetectionLimit > 0
                ? [
                    new SensorInfluence(
                        "detection limit",
                        _ => DetectionLimit,
                        $"the electrode's line levels off at {SensorParts.Say(DetectionLimit)} {instrument.Specification.Unit}",
                        null,
                        "Begin the measuring range higher above the detection limit, or calibrate with more than two points.",
                        DetectionLimitSpan)]
                : ImmutableArray<SensorInfluence>.Empty,
        ];
    }
}
