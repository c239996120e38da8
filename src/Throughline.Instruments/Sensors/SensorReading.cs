using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What the reading of several kinds of sensors has in common.</summary>
internal static class SensorReading
{
    public static readonly QuantityShape PositiveResistance = Shapes.Quantity(UnitSets.Resistance, f => f.WithDrift().OrRange().Positive());

    public static readonly Key SlopeKey = Key.Optional(
        "slope", Shapes.Quantity(UnitSets.Percent, f => f.WithTolerance().OrRange().Between(0.05, 2)), "Slope over the theoretical one.", "100 %");

    public static readonly Key ResponseKey = Key.Optional(
        "response", Shapes.Time, "T90 of the sensor itself, a first-order lag: part of the step response, and how long the user has to wait in a standard when calibrating.", "at once");

    public static readonly Key SelfHeatingKey = Key.Optional(
        "self-heating", Shapes.Quantity(UnitSets.ThermalResistance, f => f.WithTolerance().Positive()), "Thermal resistance from the element to what it measures.", "none");

    public static readonly Key SignalKey = Key.Required(
        "signal", new WordShape([.. Signals.Select(s => s.Word)]), "What it gives: a voltage, a resistance, a current or a ratio to the excitation.");

    public static readonly Key CurveResistanceKey = Key.Optional(
        "resistance", Shapes.ResistanceOrRange, "In series with a voltage, in parallel with a current; of the arms of a ratio.", "none");

    public static readonly Key CurveErrorKey = Key.Optional(
        "error", Shapes.Quantity(UnitSets.Signal, f => f.WithDrift().OnlyTolerance()), "How far a good sensor's signal may be from the curve.", "none");

    public static readonly Key CurveExcitationKey = Key.Optional("excitation", Shapes.Pair, "The nodes of the excitation that a ratio refers to.");

    private static ImmutableArray<(string Word, SignalKind Kind, Dimension Dimension, double Factor)> Signals =>
    [
        ("V", SignalKind.Voltage, Dimension.Voltage, 1),
        ("mV", SignalKind.Voltage, Dimension.Voltage, 1e-3),
        ("Ω", SignalKind.Resistance, Dimension.Resistance, 1),
        ("A", SignalKind.Current, Dimension.Current, 1),
        ("mA", SignalKind.Current, Dimension.Current, 1e-3),
        ("V/V", SignalKind.Ratio, Dimension.Ratio, 1),
        ("mV/V", SignalKind.Ratio, Dimension.Ratio, 1e-3),
    ];

    /// <summary>Whether the specification's unit is of the kind that the sensor measures; reported when not.</summary>
    public static bool Measures(MapView map, Dimension dimension)
    {
        if (map.Context.Measurand is not { } measurand)
        {
            return false;
        }

        if (measurand.Dimension == dimension)
        {
            return true;
        }

        map.Report(
            Codes.WrongKind,
            map.PlaceOf("kind"),
            $"{MapShape.Capital(MapShape.Article(map.Shape.Title))} measures {UnitSets.Noun(dimension)}, the specification's unit is {measurand.Unit}.",
            $"a sensor for {measurand.Unit}",
            $"`{map.Shape.Title}`");
        return false;
    }

    /// <summary>Reports a measuring range that goes beyond what the sensor is known for.</summary>
    public static void RangeWithin(MapView map, double low, double high, string what, string? mend = null)
    {
        if (map.Context.Specification is { Range: var range } && (range.Low < low || range.High > high))
        {
            string unit = map.Context.Measurand!.Unit;
            map.Report(
                Codes.OutOfRange, range.Span, $"{what} from {SensorParts.Say(low)} to {SensorParts.Say(high)} {unit}; the measuring range goes beyond.",
                $"a range within {SensorParts.Say(low)} .. {SensorParts.Say(high)} {unit}", $"`{range.Text}`", mend);
        }
    }

    /// <summary>A quantity that has to be above zero; null, and reported, when it is not.</summary>
    public static Quantity? Positive(MapView map, Quantity? quantity)
    {
        if (quantity is null or { Value: > 0 })
        {
            return quantity;
        }

        map.Report(Codes.OutOfRange, quantity.Span, "It has to be above zero.", "a value above zero", $"`{quantity.Text}`");
        return null;
    }

    /// <summary>A parameter whose ideal value is nominal when a stretch of good values holds it; the ideal itself when nothing is said.</summary>
    public static Parameter Within(MapView map, string key, Dimension dimension, double ideal) =>
        Range(map, key, (name, range) => SensorParts.Within(name, range, ideal)) ?? SensorParts.Exact(key, dimension, ideal);

    /// <summary>A parameter that spreads over decades: the geometric mean of a stretch is nominal.</summary>
    public static Parameter? Spread(MapView map, string key) => Range(map, key, SensorParts.Spread);

    /// <summary>A parameter of a value or of a stretch.</summary>
    public static Parameter? Range(MapView map, string key, Func<string, QuantityRange, Parameter> ofRange) => map.Parsed(key) is var (parsed, node)
        ? parsed.IsRange ? ofRange(key, parsed.ToRange(node.Span, node.Text)) : new Parameter(SensorParts.Owner, key, parsed.ToQuantity(node.Span, node.Text))
        : null;

    /// <summary>A parameter about zero whose size is said, with or without a sign; null when nothing is said.</summary>
    public static Parameter? About(MapView map, string key) => map.Quantity(key) is { } q
        ? SensorParts.Symmetric(key, q.Dimension, Math.Max(Math.Abs(q.Low), Math.Abs(q.High)), q.Span, q.Text)
        : null;

    /// <summary>The numbers of a list; empty when it is not one of numbers.</summary>
    public static double[] Numbers(MapView map, string key) =>
        map.Raw(key) is ListNode list && list.Items.All(i => i is ScalarNode { Type: ScalarType.Number })
            ? [.. list.Items.Select(i => ((ScalarNode)i).Number)]
            : [];

    /// <summary>What a table and a polynomial share; null when something it can't do without is missing.</summary>
    public static CurveParts? Curve(MapView map)
    {
        if (map.Word("signal") is not { } word || map.Pair("between") is not var (plus, minus))
        {
            return null;
        }

        (_, SignalKind kind, Dimension dimension, double factor) = Signals.First(s => s.Word == word.Value);
        Parameter? error = map.Parameter(SensorParts.Owner, "error");
        if (error is not null && error.Quantity.Dimension != dimension)
        {
            map.Report(
                Codes.WrongKind, error.Quantity.Span, $"The signal is {UnitSets.Noun(dimension)}, the error is {UnitSets.Noun(error.Quantity.Dimension)}.",
                UnitSets.Noun(dimension), $"`{error.Quantity.Text}`");
            error = null;
        }

        Parameter? resistance = Range(map, "resistance", SensorParts.Middle);
        (Located<string>, Located<string>)? excitation = map.Pair("excitation");
        if (kind == SignalKind.Ratio)
        {
            foreach (string key in new[] { "excitation", "resistance" })
            {
                if (!map.Has(key))
                {
                    map.Report(Codes.Missing, word.Span, $"A ratio needs the key `{key}`: it is a bridge or a divider between the excitation's nodes.", $"`{key}`", "no such key");
                }
            }

            if (excitation is null || resistance is null)
            {
                return null;
            }
        }
        else if (map.Has("excitation"))
        {
            map.Report(Codes.Contradiction, map.PlaceOf("excitation"), "Only a ratio has an excitation.", "`signal: V/V` or `signal: mV/V`", $"`signal: {word.Value}`");
            excitation = null;
        }

        return new CurveParts(kind, dimension, factor, plus, minus, resistance, error, excitation);
    }
}

/// <summary>What a table and a polynomial share.</summary>
/// <param name="Factor">How many of the dimension's own unit the signal's unit is.</param>
internal sealed record CurveParts(
    SignalKind Signal,
    Dimension Dimension,
    double Factor,
    Located<string> Plus,
    Located<string> Minus,
    Parameter? Resistance,
    Parameter? Error,
    (Located<string> Plus, Located<string> Minus)? Excitation);
