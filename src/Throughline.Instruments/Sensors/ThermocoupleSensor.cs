using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

/// <summary>How the temperature of a thermocouple's terminals enters the reading.</summary>
public enum ColdJunction
{
    /// <summary>It is assumed to be fixed.</summary>
    Assumed,

    /// <summary>It is measured and its emf added, as it should be.</summary>
    Measured,

    /// <summary>It is measured and added as a temperature, as it should not be.</summary>
    TemperaturesAdded,
}

internal sealed class ThermocoupleKind : SensorKind
{
    private static readonly EitherShape FlagOrError = new(
        Shapes.Flag, Shapes.Quantity(UnitSets.TemperatureDifference, f => f.OnlyTolerance()));

    private static readonly MapShape ColdJunctionShape = new(
        "cold junction",
        "How the temperature of the terminals enters the reading.",
        Key.Optional("measured", FlagOrError, "It is measured and its emf added: `true`, or within an error such as ±0.5 K."),
        Key.Optional("assumed", Shapes.Quantity(UnitSets.Temperature, f => f.WithSign()), "It is assumed to have this temperature."),
        Key.Optional("add temperatures", FlagOrError, "It is measured and added as a temperature: `true`, or within an error such as ±0.5 K."))
    {
        ExactlyOneOf = [["measured"], ["assumed"], ["add temperatures"]],
        Example = "{ measured: ±0.5 K }",
    };

    public override MapShape Shape { get; } = new(
        "thermocouple",
        "A thermocouple by IEC 60584-1. The measurand is a temperature in °C.",
        Key.Kind("thermocouple"),
        SensorReading.ResponseKey,
        Key.Required("type", new WordShape("B", "E", "J", "K", "N", "R", "S", "T"), "Letter of the type."),
        Key.Optional("class", new WordShape("1", "2", "3"), "Tolerance class of the wire.", "ideal wire"),
        Key.Optional("resistance", Shapes.ResistanceOrRange, "Of the whole loop of wire.", "0 Ω"),
        Key.Required("cold junction", ColdJunctionShape, "How the temperature of the terminals enters the reading."),
        Key.Optional(
            "terminals", Shapes.Quantity(UnitSets.Temperature, f => f.WithTolerance().WithSign().OrRange()), "Temperature of the terminals.", "the ambient temperature"),
        Key.Required("between", Shapes.Pair, "The nodes of the positive and the negative wire."))
    {
        Example = "{ kind: thermocouple, type: K, class: 1, cold junction: { measured: ±0.5 K }, between: [tc+, tc-] }",
    };

    public override Sensor? Read(MapView map)
    {
        if (!SensorReading.Measures(map, Dimension.Temperature) || map.Word("type") is not { } letter || map.Pair("between") is not var (plus, minus)
            || map.Inner("cold junction") is not { } junction)
        {
            return null;
        }

        Thermocouple type = Thermocouple.ByType[letter.Value[0]];
        SensorReading.RangeWithin(map, type.LowestInvertible, type.HighestCelsius, $"A temperature follows from the emf of type {letter.Value}");
        int? toleranceClass = map.Word("class") is { } word ? word.Value[0] - '0' : null;
        if (toleranceClass is { } c)
        {
            if (ThermocoupleTolerance.Range(type.Type, c) is var (low, high))
            {
                SensorReading.RangeWithin(map, low, high, FormattableString.Invariant($"Class {c} of type {letter.Value} holds"), "choose another class or type");
            }
            else
            {
                map.Report(
                    Codes.Contradiction, map.PlaceOf("class"), FormattableString.Invariant($"Type {letter.Value} has no class {c} in IEC 60584-1."), "another class", $"`{c}`");
                toleranceClass = null;
            }
        }

        ColdJunction kind = junction.Has("assumed") ? ColdJunction.Assumed : junction.Has("measured") ? ColdJunction.Measured : ColdJunction.TemperaturesAdded;
        string key = kind == ColdJunction.Measured ? "measured" : "add temperatures";
        if (kind == ColdJunction.Assumed ? junction.Quantity("assumed") is null : junction.Flag(key) is null && junction.Quantity(key) is null)
        {
            return null;
        }

        if (junction.Flag(key) == false)
        {
            map.Report(
                Codes.Contradiction, junction.PlaceOf(key), "What the instrument does not do, it does not say.", "`true` or an error such as ±0.5 K", "`false`", "write `assumed: 25 °C`");
        }

        return new ThermocoupleSensor
        {
            Span = map.Span,
            Type = type,
            Class = toleranceClass,
            ClassPosition = toleranceClass is null ? null : SensorParts.Symmetric("position in its class", Dimension.Ratio, 1, map.PlaceOf("class"), "±1"),
            Resistance = SensorReading.Range(map, "resistance", SensorParts.Middle),
            ColdJunction = kind,
            AssumedCelsius = junction.Quantity("assumed")?.Value ?? 25,
            ColdJunctionError = junction.Quantity(key) is { } error ? new Parameter(SensorParts.Owner, "error of the cold junction", error) : null,
            TerminalTemperature = SensorReading.Range(map, "terminals", (_, range) => SensorParts.Middle("temperature of the terminals", range)),
            ColdJunctionSpan = map.PlaceOf("cold junction"),
            Plus = plus,
            Minus = minus,
        };
    }
}

/// <summary>
/// A thermocouple: the difference of the emf at what it measures and at its terminals. The measurand is a temperature in °C.
/// </summary>
public sealed record ThermocoupleSensor : Sensor
{
    public override string Kind => "thermocouple";

    public required Thermocouple Type { get; init; }

    /// <summary>Tolerance class of IEC 60584-1; null for ideal wire.</summary>
    public int? Class { get; init; }

    /// <summary>Where in its class this couple lies, from −1 to 1; null without a class.</summary>
    public Parameter? ClassPosition { get; init; }

    /// <summary>Of the whole loop of wire, Ω; null when not said.</summary>
    public Parameter? Resistance { get; init; }

    public required ColdJunction ColdJunction { get; init; }

    /// <summary>Temperature that the code assumes at the terminals, °C, with <see cref="ColdJunction.Assumed"/>.</summary>
    public double AssumedCelsius { get; init; } = 25;

    /// <summary>Error of the measured temperature of the terminals, K about 0; null when it is assumed or without error.</summary>
    public Parameter? ColdJunctionError { get; init; }

    /// <summary>Temperature of the terminals, °C; null when they have the ambient temperature.</summary>
    public Parameter? TerminalTemperature { get; init; }

    /// <summary>Where the cold junction is said.</summary>
    public SourceSpan ColdJunctionSpan { get; init; }

    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    public override ImmutableArray<Terminal> Terminals => SensorParts.Pair(Plus, Minus);

    public override ImmutableArray<Parameter> Parameters =>
        [.. new[] { ClassPosition, Resistance, ColdJunctionError, TerminalTemperature }.OfType<Parameter>()];

    public override SignalKind SignalKind => SignalKind.Voltage;

    /// <summary>Outside the range of its type the emf stays at that of the range's end.</summary>
    public override double Signal(IUnitState state)
    {
        double celsius = state.Measurand;
        if (ClassPosition is not null)
        {
            celsius += state.Value(ClassPosition) * ThermocoupleTolerance.Extended(Type.Type, Class!.Value, celsius);
        }

        return Emf(celsius) - Emf(TerminalCelsius(state));
    }

    /// <summary>With the terminals at the temperature that the code takes them to have: the assumed one, or the nominal one when it is measured.</summary>
    public override double NominalSignal(double measurand, double processCelsius) => ColdJunction == ColdJunction.TemperaturesAdded
        ? Type.Emf(measurand - NominalTerminal)
        : Type.Emf(measurand) - Type.Emf(NominalTerminal);

    public override double MeasurandOf(double signal, double processCelsius) => ReadingAt(signal, NominalTerminal);

    /// <summary>With the temperature of the terminals as this unit measures it.</summary>
    public override double Reading(double signal, double processCelsius, IUnitState state) => ColdJunction == ColdJunction.Assumed
        ? ReadingAt(signal, AssumedCelsius)
        : ReadingAt(signal, TerminalCelsius(state) + (ColdJunctionError is null ? 0 : state.Value(ColdJunctionError)));

    public override double SourceResistance(IUnitState state) => Resistance is null ? 0 : state.Value(Resistance);

    public override void Describe(INetworkSink sink) => SensorParts.Source(sink, Plus, Minus, Signal, Resistance is null ? null : SourceResistance);

    public override void DescribeSimulated(INetworkSink sink, Law signal) => SensorParts.Source(sink, Plus, Minus, signal, null);

    public override ImmutableArray<SensorInfluence> Influences(Instrument instrument)
    {
        (double low, double high) = TerminalTemperature is { Quantity: var t } ? (t.Low, t.High) : (instrument.Specification.Ambient.Low, instrument.Specification.Ambient.High);
        string terminals = $"terminals at {SensorParts.Say(low, high)} °C";
        double error = ColdJunctionError?.Quantity.Tolerance ?? 0;

        // What the instrument shows with the terminals at one temperature, taken to be at another.
        double Shift(double x, double actual, double taken) => ReadingAt(Emf(x) - Emf(actual), taken) - x;
        double Over(double x, Func<double, double, double> at) => SensorParts.Worst(at(x, low), at(x, high));
        return ColdJunction switch
        {
            ColdJunction.Assumed when low != AssumedCelsius || high != AssumedCelsius =>
            [
                new SensorInfluence(
                    "terminal temperature",
                    x => Over(x, (x, t) => Shift(x, t, AssumedCelsius)),
                    $"{terminals}, {SensorParts.Say(AssumedCelsius)} °C assumed",
                    null,
                    "Measure the temperature of the terminals and add its emf (cold junction: measured).",
                    ColdJunctionSpan),
            ],
            ColdJunction.Measured when error > 0 =>
            [
                new SensorInfluence(
                    "terminal temperature",
                    x => SensorParts.Worst(Over(x, (x, t) => Shift(x, t, t + error)), Over(x, (x, t) => Shift(x, t, t - error))),
                    $"{terminals}, measured within {SensorParts.Say(error)} K",
                    null,
                    "Measure the temperature of the terminals more closely, in good thermal contact with them.",
                    ColdJunctionSpan),
            ],
            ColdJunction.TemperaturesAdded =>
            [
                new SensorInfluence(
                    "temperatures added",
                    x => SensorParts.Worst(Over(x, (x, t) => Shift(x, t, t + error)), Over(x, (x, t) => Shift(x, t, t - error))),
                    $"{terminals}, added as a temperature",
                    null,
                    "Add the terminals' emf to the measured voltage and convert the sum, not the terminals' temperature to the converted voltage.",
                    ColdJunctionSpan),
            ],
            _ => [],
        };
    }

    private double NominalTerminal => ColdJunction == ColdJunction.Assumed ? AssumedCelsius : TerminalTemperature?.Quantity.Value ?? 25;

    private double TerminalCelsius(IUnitState state) => TerminalTemperature is null ? state.AmbientCelsius : state.Value(TerminalTemperature);

    private double ReadingAt(double volts, double terminalCelsius) => ColdJunction == ColdJunction.TemperaturesAdded
        ? Type.Celsius(volts) + terminalCelsius
        : Type.Celsius(volts + Emf(terminalCelsius));

    private double Emf(double celsius) => Type.Emf(Math.Clamp(celsius, Type.LowestCelsius, Type.HighestCelsius));
}
