using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

internal sealed class PlatinumSensorKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "platinum resistance",
        "A platinum resistance thermometer by IEC 60751. The measurand is a temperature in °C.",
        Key.Kind("platinum resistance"),
        SensorReading.ResponseKey,
        Key.Required("element", new WordShape("Pt100", "Pt500", "Pt1000"), "Resistance at 0 °C."),
        Key.Optional("class", new WordShape("AA", "A", "B", "C"), "Tolerance class of the element.", "an ideal element"),
        Key.Required("wires", new WordShape("2", "3", "4"), "Wires to the element; they say which of the keys below name its terminals."),
        Key.Optional(
            "lead resistance", Shapes.Quantity(UnitSets.Resistance, f => f.WithDrift().OrRange().Between(0, double.PositiveInfinity)),
            "Resistance of one wire, one value or a range.", "none"),
        Key.Optional("lead mismatch", Shapes.Quantity(UnitSets.Percent, f => f.OnlyTolerance().Between(-0.99, 0.99)), "How far each wire may differ from the others.", "none"),
        SensorReading.SelfHeatingKey,
        Key.Optional("between", Shapes.Pair, "Two wires: the terminals of the upper and the lower end."),
        Key.Optional("force", Shapes.Pair, "Four wires: the terminals that carry the current, upper and lower end."),
        Key.Optional("sense", Shapes.Pair, "Four wires: the terminals that carry the voltage. Three wires: the terminals of the upper and the lower end."),
        Key.Optional("return", Shapes.Node, "Three wires: the terminal of the second wire of the lower end."))
    {
        Example = "{ kind: platinum resistance, element: Pt100, class: A, wires: 4, lead resistance: 0 .. 5 Ω, force: [f1, f2], sense: [s1, s2] }",
    };

    public override Sensor? Read(MapView map)
    {
        if (!SensorReading.Measures(map, Dimension.Temperature) || map.Word("element") is not { } element || map.Word("wires") is not { } wires)
        {
            return null;
        }

        ImmutableArray<Located<string>> leads = Leads(map, wires);
        SensorReading.RangeWithin(
            map, PlatinumResistance.LowestCelsius, PlatinumResistance.HighestCelsius, "IEC 60751 gives platinum's resistance");
        PlatinumClass? toleranceClass = map.Word("class") is { } word ? PlatinumClass.Named(word.Value) : null;
        if (toleranceClass is not null)
        {
            SensorReading.RangeWithin(map, toleranceClass.WireLow, toleranceClass.WireHigh, $"Class {toleranceClass.Name} of IEC 60751 holds", "choose a class that reaches further");
        }

        Quantity? mismatch = map.Quantity("lead mismatch");
        int count = leads.Length;
        return leads.IsEmpty
            ? null
            : new PlatinumSensor
            {
                Span = map.Span,
                NominalOhms = element.Value switch { "Pt100" => 100, "Pt500" => 500, _ => 1000 },
                Class = toleranceClass,
                ClassPosition = toleranceClass is null ? null : SensorParts.Symmetric("position in its class", Dimension.Ratio, 1, map.PlaceOf("class"), "±1"),
                Lead = SensorReading.Range(map, "lead resistance", SensorParts.Middle),
                LeadMismatch = mismatch is null
                    ? []
                    : [.. Enumerable.Range(1, count).Select(i => new Parameter(SensorParts.Owner, FormattableString.Invariant($"mismatch of lead {i}"), mismatch))],
                SelfHeating = map.Quantity("self-heating"),
                Leads = leads,
                ConnectionSpan = wires.Span,
            };
    }

    private static ImmutableArray<Located<string>> Leads(MapView map, Located<string> wires)
    {
        string[] needed = wires.Value switch { "2" => ["between"], "3" => ["sense", "return"], _ => ["force", "sense"] };
        bool complete = true;
        foreach (string key in new[] { "between", "force", "sense", "return" })
        {
            if (needed.Contains(key) && !map.Has(key))
            {
                complete = false;
                map.Report(Codes.Missing, wires.Span, $"With {wires.Value} wires the key `{key}` names terminals.", $"`{key}`", "no such key");
            }
            else if (!needed.Contains(key) && map.Has(key))
            {
                map.Report(
                    Codes.Contradiction, map.PlaceOf(key), $"With {wires.Value} wires there is no `{key}`.", string.Join(" and ", needed.Select(k => $"`{k}`")), $"`{key}`");
            }
        }

        return !complete
            ? []
            : wires.Value switch
            {
                "2" when map.Pair("between") is var (a, b) => [a, b],
                "3" when map.Pair("sense") is var (a, b) && map.Node("return") is { } c => [a, b, c],
                "4" when map.Pair("force") is var (f1, f2) && map.Pair("sense") is var (s1, s2) => [f1, f2, s1, s2],
                _ => [],
            };
    }
}

/// <summary>
/// A platinum resistance with its leads, two, three or four of them: each lead is a resistor between the element and a terminal. The measurand is a
/// temperature in °C.
/// </summary>
/// <remarks>
/// Two wires: one from each end. Three: two from one end, the third lets the circuit measure one lead. Four: two from each end, a pair for the current
/// and a pair for the voltage. All cores of a cable are alike; what one differs from the others is its mismatch.
/// </remarks>
public sealed record PlatinumSensor : Sensor
{
    private const string Upper = SensorParts.Owner + ".upper";
    private const string Lower = SensorParts.Owner + ".lower";

    public override string Kind => "platinum resistance";

    /// <summary>Resistance at 0 °C, Ω: 100 for a Pt100.</summary>
    public required double NominalOhms { get; init; }

    /// <summary>Tolerance class of IEC 60751; null for an ideal element.</summary>
    public PlatinumClass? Class { get; init; }

    /// <summary>Where in its class this element lies, from −1 to 1: the curve is read that part of the class's tolerance higher. Null without a class.</summary>
    public Parameter? ClassPosition { get; init; }

    /// <summary>Resistance of one lead, Ω; null when the leads are not said.</summary>
    public Parameter? Lead { get; init; }

    /// <summary>What each lead's resistance differs from the others' by, a ratio about 0; one for each lead, empty when not said.</summary>
    public ImmutableArray<Parameter> LeadMismatch { get; init; } = [];

    /// <summary>As said under <c>self-heating</c>.</summary>
    public Quantity? SelfHeating { get; init; }

    public override Quantity? ThermalResistance => SelfHeating;

    /// <summary>The terminals in the order of the leads. Two: upper, lower. Three: upper, lower, lower's second. Four: force upper, force lower, sense upper,
    /// sense lower.</summary>
    public required ImmutableArray<Located<string>> Leads { get; init; }

    /// <summary>Where the connection is said.</summary>
    public SourceSpan ConnectionSpan { get; init; }

    public override ImmutableArray<Terminal> Terminals => Leads.Length switch
    {
        2 => [new("upper", Leads[0]), new("lower", Leads[1])],
        3 => [new("upper", Leads[0]), new("lower", Leads[1]), new("return", Leads[2])],
        _ => [new("force upper", Leads[0]), new("force lower", Leads[1]), new("sense upper", Leads[2]), new("sense lower", Leads[3])],
    };

    public override ImmutableArray<Parameter> Parameters =>
    [
        .. ClassPosition is null ? ImmutableArray<Parameter>.Empty : [ClassPosition],
        .. Lead is null ? ImmutableArray<Parameter>.Empty : [Lead],
        .. LeadMismatch,
    ];

    public override SignalKind SignalKind => SignalKind.Resistance;

    /// <summary>Outside −200 to 850 °C the resistance stays at that of the range's end.</summary>
    public override double Signal(IUnitState state)
    {
        double celsius = state.Measurand;
        if (ClassPosition is not null)
        {
            celsius += state.Value(ClassPosition) * Class!.Tolerance(celsius);
        }

        return NominalOhms * PlatinumResistance.Ratio(Math.Clamp(celsius, PlatinumResistance.LowestCelsius, PlatinumResistance.HighestCelsius));
    }

    public override double NominalSignal(double measurand, double processCelsius) => NominalOhms * PlatinumResistance.Ratio(measurand);

    public override double MeasurandOf(double signal, double processCelsius) => PlatinumResistance.Celsius(signal / NominalOhms);

    public override double SourceResistance(IUnitState state) => 0;

    public override void Describe(INetworkSink sink)
    {
        if (Lead is null)
        {
            sink.Resistor(SensorParts.Owner, Leads[0].Value, Leads[1].Value, Signal);
            Join(sink);
            return;
        }

        // The lower end of a three-wire element carries two leads, each end of a four-wire element carries two.
        sink.Resistor(SensorParts.Owner, Upper, Lower, Signal);
        for (int i = 0; i < Leads.Length; i++)
        {
            string end = (Leads.Length, i) is (_, 0) or (4, 2) ? Upper : Lower;
            Parameter? mismatch = LeadMismatch.IsEmpty ? null : LeadMismatch[i];
            sink.Resistor(
                FormattableString.Invariant($"{SensorParts.Owner}.lead{i + 1}"),
                Leads[i].Value,
                end,
                s => Math.Max(SensorParts.LeastOhms, s.Value(Lead) * (1 + (mismatch is null ? 0 : s.Value(mismatch)))));
        }
    }

    /// <summary>The bench's resistance takes the place of element and leads at the terminals.</summary>
    public override void DescribeSimulated(INetworkSink sink, Law signal)
    {
        sink.Resistor(SensorParts.Owner, Leads[0].Value, Leads[1].Value, signal);
        Join(sink);
    }

    public override ImmutableArray<SensorInfluence> Influences(Instrument instrument)
    {
        if (Lead is null)
        {
            return [];
        }

        double low = instrument.Specification.Range.Low;
        double greatest = Math.Max(Lead.Quantity.Value, double.IsFinite(Lead.Quantity.High) ? Lead.Quantity.High : 0);
        double Error(double celsius, double ohms) => MeasurandOf(NominalSignal(celsius, 0) + ohms, 0) - celsius;
        switch (Leads.Length)
        {
            case 2 when greatest > 0:
                double loop = 2 * greatest;
                return
                [
                    new SensorInfluence(
                        "lead resistance",
                        x => Error(x, loop),
                        $"two wires, {SensorParts.Say(loop)} Ω of wire in the loop",
                        null,
                        "Connect it with three or four wires, use an element of higher resistance, or put the converter at the sensor.",
                        ConnectionSpan,
                        ($"a fixed subtraction set at {SensorParts.Say(low)} °C", x => Error(x, loop) - Error(low, loop))),
                ];
            case 3 when greatest > 0 && LeadMismatch.Length == 3:
                // The circuit takes one lead for the other: what is left is the difference of the two.
                double difference = greatest * (LeadMismatch[0].Quantity.Tolerance + LeadMismatch[1].Quantity.Tolerance);
                return
                [
                    new SensorInfluence(
                        "lead mismatch",
                        x => Error(x, difference),
                        $"three wires of {SensorParts.Say(greatest)} Ω that differ by up to {SensorParts.Say(difference)} Ω",
                        null,
                        "Connect it with four wires, or use cores of one cable cut to the same length.",
                        ConnectionSpan),
                ];
            default:
                return [];
        }
    }

    private void Join(INetworkSink sink)
    {
        if (Leads.Length == 3)
        {
            sink.Link(SensorParts.Owner + ".lead3", Leads[1].Value, Leads[2].Value);
        }
        else if (Leads.Length == 4)
        {
            sink.Link(SensorParts.Owner + ".lead3", Leads[0].Value, Leads[2].Value);
            sink.Link(SensorParts.Owner + ".lead4", Leads[1].Value, Leads[3].Value);
        }
    }
}
