using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

/// <summary>Reads how the user calibrates.</summary>
internal static class CalibrationReader
{
    private const double DefaultCelsius = 25;

    private static readonly string[] Ordinals = ["first", "second", "third", "fourth", "fifth"];

    private static readonly Dictionary<string, BufferFamily> Families = new()
    {
        ["primary"] = BufferFamily.Iupac,
        ["technical at 20"] = BufferFamily.Technical20,
        ["technical at 25"] = BufferFamily.Technical25,
    };

    private const string NoFamily = "constant";

    private const string KeptApart = "kept apart";
    private const string UsedAtOnce = "used at once";

    private static readonly QuantityShape Value = Shapes.Quantity(UnitSets.Measurand, f => f.WithTolerance().WithSign().OrBare());

    private static readonly EitherShape Standard = new(
        Value,
        new MapShape(
            "standard",
            "A standard whose value goes with its temperature.",
            Key.Required("value", Value, "The stated value."),
            Key.Required(
                "temperatures",
                new DictionaryShape(
                    "two or more points such as { 10 °C: 7.06, 25 °C: 7.00 }",
                    Shapes.Quantity(UnitSets.Temperature, f => f.WithSign()),
                    Shapes.Measurand,
                    2),
                "Its value against its temperature, straight between the points.")));

    private static readonly MapShape Standards = new("standards", "The standards in the order asked for.", Keys("standard"));

    private static readonly MapShape Buffers = new(
        "buffers",
        "The buffers in the order asked for.",
        [
            .. Keys("buffer"),
            Key.Optional(
                "family",
                new WordShape([.. Families.Keys, NoFamily]),
                "Whose table of temperatures the buffers follow where none is written: `primary` standards (IUPAC), `technical at 25` or `technical at 20` for technical "
                + "buffers true to their label there, `constant` for none.",
                "the family that the labels belong to"),
        ]);

    public static readonly MapShape Shape = new(
        "calibration",
        "How the user calibrates.",
        Key.Optional("buffers", Buffers, "The buffers, stated at 25 °C unless their family says otherwise, in the order asked for."),
        Key.Optional("standards", Standards, "The standards in the order asked for."),
        Key.Optional(
            "at", Shapes.Quantity(UnitSets.Temperature, f => f.WithSign().OrRange()), "Temperature of the standards when the user calibrates, one value or a range.", "25 °C"),
        Key.Optional(
            "accept",
            new MapShape(
                "acceptance",
                "What a good sensor gives.",
                Key.Optional("slope", Shapes.Quantity(UnitSets.Percent, f => f.AsRange("85 .. 105 %")), "Slope as a share of the nominal one."),
                Key.Optional(
                    "zero",
                    Shapes.Quantity(UnitSets.VoltageOrMeasurand, f => f.OrBare().OnlyTolerance().Saying("a limit such as ±60 mV")),
                    "How far the zero may be from the nominal one: in volts, or in the measurand's unit.")),
            "What a good sensor gives."),
        Key.Optional(
            "steady",
            new MapShape(
                "steadiness",
                "When a reading counts as steady: since it last moved, the least and the greatest of all readings lie no farther apart than the band, and the time has gone by. A reading that makes them wider begins anew.",
                Key.Required("within", Shapes.Quantity(UnitSets.VoltageOrMeasurand, f => f.OrBare().Positive().Saying("a band such as 0.5 mV")), "Band that it stays in: in volts, or in the measurand's unit."),
                Key.Required("for", Shapes.Time, "How long.")),
            "When a reading counts as steady."),
        Key.Optional(
            "apart", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().Positive()),
            "How far the standards lie apart at least: the code refuses nearer ones before it divides by their distance.", "what follows from the ranges of the entries, or nothing"),
        Key.Optional(
            "entered values", new WordShape([KeptApart, UsedAtOnce]),
            "Whether the value of a standard that the user enters is kept apart until a calibration has succeeded, or counts for readings at once.", KeptApart),
        Key.Optional(
            "arithmetic",
            new MapShape(
                "arithmetic of the calibration",
                "What is fixed of the whole numbers of the calibration; the rest is chosen.",
                Key.Optional(
                    "product", StageReader.Word,
                    "The word of every product and of what is added up from them, wider than those of the arithmetic too: least squares of three or more standards need 64 bits as soon as readings are fine.", "that of the arithmetic"),
                Key.Optional("ratio places", new IntegerShape(2, 60), "Binary places of the ratio that the slope is found as.", "as many as fit"),
                Key.Optional(
                    "gain step", Shapes.Quantity(UnitSets.Percent, f => f.Positive() with { Greatest = 0.5 }), "One step of the gain that is kept, taken to the nearest whole part of one.",
                    "the finest that fits")),
            "What is fixed of the whole numbers of the calibration; the rest is chosen."))
    {
        ExactlyOneOf = [["buffers"], ["standards"]],
        Example = "calibration: { buffers: { first: 7.00 pH ±0.02, second: 4.00 pH ±0.02, settable: true, follows temperature: true }, at: 15 .. 30 °C, "
            + "accept: { slope: 85 .. 105 %, zero: ±60 mV }, steady: { within: 0.5 mV, for: 10 s } }",
    };

    public static Calibration Read(MapView map)
    {
        // Which of the two counts is not known when both are there: that is reported already.
        MapView? standards = map.Has("buffers") && map.Has("standards") ? null : map.Inner("buffers") ?? map.Inner("standards");
        MapView? accept = map.Inner("accept");
        MapView? steady = map.Inner("steady");
        MapView? arithmetic = map.Inner("arithmetic");
        QuantityRange temperature = map.Range("at") ?? new QuantityRange(Dimension.Temperature, DefaultCelsius, DefaultCelsius, default, "");
        return new Calibration
        {
            Standards = standards is null ? [] : ReadStandards(standards, temperature),
            Settable = standards?.Flag("settable") ?? false,
            FollowsTemperature = standards?.Flag("follows temperature") ?? false,
            Temperature = temperature,
            AcceptSlope = accept?.Range("slope"),
            AcceptZero = accept is null ? null : VoltageOrMeasurand(accept, "zero"),
            Apart = map.Measurand("apart"),
            EntriesCountAtOnce = map.Word("entered values") is { } entries ? new Located<bool>(entries.Value == UsedAtOnce, entries.Span) : null,
            GainStep = arithmetic?.Quantity("gain step"),
            ProductBits = arithmetic?.Word("product") is { } product ? new Located<int>(StageReader.BitsOf(product.Value), product.Span) : null,
            RatioPlaces = arithmetic?.Integer("ratio places") is { } places ? new Located<int>(places, arithmetic.PlaceOf("ratio places")) : null,
            SteadyWithin = steady is null ? null : VoltageOrMeasurand(steady, "within"),
            SteadyFor = steady?.Quantity("for"),
            Span = map.Span,
        };
    }

    private static Key[] Keys(string what) =>
    [
        .. Ordinals.Select((word, i) => i == 0
            ? Key.Required(word, Standard, $"The {word} {what}.")
            : Key.Optional(word, Standard, $"The {word} {what}.")),
        Key.Optional("settable", Shapes.Flag, "Whether the user may enter other values.", "false"),
        Key.Optional("follows temperature", Shapes.Flag, $"Whether the code knows the {what}s' tables of temperatures and takes the value at the measured one.", "false"),
    ];

    private static ImmutableArray<CalibrationStandard> ReadStandards(MapView map, QuantityRange temperature)
    {
        ImmutableArray<CalibrationStandard>.Builder standards = ImmutableArray.CreateBuilder<CalibrationStandard>();
        foreach (string key in Ordinals)
        {
            MapView? detailed = map.Inner(key);
            if ((detailed is null ? map.Measurand(key) : detailed.Measurand("value")) is not { } value)
            {
                continue;
            }

            if (standards.Any(s => s.Value.Quantity.Value == value.Value))
            {
                map.Report(Codes.Contradiction, value.Span, "Two standards have the same value.", "different values", $"`{value.Text}`");
                continue;
            }

            standards.Add(new CalibrationStandard
            {
                Value = new Parameter(Calibration.Owner, key + " standard", value),
                Table = detailed is null ? null : ReadTable(detailed, temperature),
                Buffer = detailed is null ? FindBuffer(map, value) : null,
            });
        }

        return standards.ToImmutable();
    }

    private static PhBuffer? FindBuffer(MapView map, Quantity value)
    {
        Located<string>? family = map.Shape == Buffers ? map.Word("family") : null;
        if (value.Dimension != Dimension.Acidity || family?.Value == NoFamily)
        {
            return null;
        }

        if (family is not { } named)
        {
            return PhBuffer.Find(value.Value);
        }

        PhBuffer? found = PhBuffer.Find(Families[named.Value], value.Value);
        if (found is null)
        {
            string labels = string.Join(", ", PhBuffer.All.Where(b => b.Family == Families[named.Value]).Select(b => QuantityText.Number(b.Label)));
            map.Report(
                Codes.Contradiction, value.Span, $"No buffer of the family `{named.Value}` has this value.", $"one of {labels}", $"`{ScalarNode.Short(value.Text)}`",
                "write its table: { value: …, temperatures: { 10 °C: …, 25 °C: … } }");
        }

        return found;
    }

    private static PiecewiseLinear? ReadTable(MapView map, QuantityRange temperature)
    {
        List<(double Celsius, double Value)> points = [];
        foreach ((ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) in map.Points("temperatures"))
        {
            double celsius = from.ToQuantity(fromNode.Span, fromNode.Text).Value;
            if (points.Exists(p => p.Celsius == celsius))
            {
                map.Report(Codes.Contradiction, fromNode.Span, "Two points have the same temperature.", "each temperature once", fromNode.Found);
            }
            else if (map.Context.Measurand?.Convert(to, toNode, map.Context.Sink) is { } value)
            {
                points.Add((celsius, value.Value));
            }
        }

        if (points.Count < 2)
        {
            return null;
        }

        PiecewiseLinear table = new(points);
        if (temperature.Low < table.LowestX || temperature.High > table.HighestX)
        {
            map.Report(
                Codes.Contradiction, map.PlaceOf("temperatures"), "The table does not hold the temperatures at which the user calibrates.",
                $"points from {QuantityText.Number(temperature.Low)} to {QuantityText.Number(temperature.High)} °C",
                $"points from {QuantityText.Number(table.LowestX)} to {QuantityText.Number(table.HighestX)} °C");
        }

        return table;
    }

    private static Quantity? VoltageOrMeasurand(MapView map, string key) =>
        map.Parsed(key) is var (parsed, node) && parsed is { Dimension: Dimension.Voltage, IsBare: false } && map.Context.Measurand?.Dimension != Dimension.Voltage
            ? parsed.ToQuantity(node.Span, node.Text)
            : map.Measurand(key);
}
