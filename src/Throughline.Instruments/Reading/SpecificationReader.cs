using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads the specification, which also says in which unit the measurand is kept.</summary>
internal static class SpecificationReader
{
    private static readonly QuantityForm UnitProbe = QuantityForm.Of(UnitSets.Measurand);

    public static readonly MapShape Shape = new(
        "specification",
        "What the instrument has to meet.",
        Key.Required("measurand", Shapes.Text, "What is measured: `pH`, `temperature`, `redox potential`, `mass`, `force`, …"),
        Key.Optional(
            "unit",
            new PatternShape("a unit such as pH, °C, mV, kg", UnitSets.Measurand.Pattern, IsUnit),
            "Unit in which the measurand is shown and computed.",
            "pH, °C and mV for pH, temperature and redox potential, else the unit of the range"),
        Key.Required("range", Shapes.Quantity(UnitSets.Measurand, f => f.WithSign().OrBare().AsRange("3.00 .. 9.00")), "Measuring range."),
        Key.Optional(
            "display",
            new MapShape(
                "display specification",
                "What the display has to meet.",
                Key.Required("step", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().Positive()), "Step of the display."),
                Key.Optional(
                    "error",
                    Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().OnlyTolerance().WithSuffix("of span").Saying("a limit of error such as ±0.05 or ±0.5 % of span")),
                    "Greatest allowed error.")),
            "What the display has to meet."),
        Key.Optional(
            "loop",
            new MapShape(
                "loop specification",
                "What the loop has to meet.",
                Key.Required(
                    "error",
                    Shapes.Quantity(UnitSets.CurrentOrPercent, f => f.OnlyTolerance().WithSuffix("of span").Saying("a limit of error such as ±0.6 % of span or ±0.1 mA")),
                    "Greatest allowed error.")),
            "What the loop has to meet."),
        Key.Optional(
            "output",
            new MapShape(
                "output specification",
                "What the output has to meet where it is a voltage.",
                Key.Required(
                    "error",
                    Shapes.Quantity(UnitSets.VoltageOrPercent, f => f.OnlyTolerance().WithSuffix("of span").Saying("a limit of error such as ±0.6 % of span or ±50 mV")),
                    "Greatest allowed error at the receiver.")),
            "What a `voltage output` has to meet."),
        Key.Optional("ambient", Temperatures(), "Rated ambient temperature.", "25 °C"),
        Key.Optional("process", Temperatures(), "Rated temperature of what is measured.", "25 °C"),
        Key.Optional("response", Shapes.Time, "Response time T90."),
        Key.Optional("calibrated", Shapes.Quantity(UnitSets.Time, f => f.Positive().WithPrefix("every").Saying("an interval such as every 30 days")), "Time between calibrations."),
        Key.Optional(
            "signals",
            new ListShape(new TextShape("a fault such as sensor open"), 1),
            "Faults that the loop, or the voltage output, has to signal, named as `throughline faults` lists them: `sensor open`, `R1 short`, `A5 missing`, …",
            "none"))
    {
        Example = "specification: { measurand: pH, range: 3.00 .. 9.00, display: { step: 0.01, error: ±0.05 }, ambient: 5 .. 45 °C }",
    };

    public static Specification? Read(MapView map)
    {
        if (map.Text("measurand") is not { } measurand || map.Parsed("range") is not var (range, rangeNode)
            || FindScale(map, measurand, range, rangeNode) is not { } scale)
        {
            return null;
        }

        map.Context.Measurand = scale;
        if (map.MeasurandRange("range") is not { } converted)
        {
            return null;
        }

        if (converted.Low == converted.High)
        {
            map.Report(Codes.OutOfRange, converted.Span, "The measuring range has no width.", "a lower and a higher value", rangeNode.Found);
        }

        MapView? display = map.Inner("display");
        Specification read = new()
        {
            Measurand = measurand,
            Unit = scale.Unit,
            UnitFactor = scale.Factor,
            Dimension = scale.Dimension,
            Range = converted,
            DisplayStep = display?.Measurand("step"),
            DisplayError = display is null ? null : ReadDisplayError(display, scale),
            LoopError = (map.Inner("loop") ?? map.Inner("output")) is { } output ? ReadOutputError(output) : null,
            Ambient = map.Range("ambient") ?? Reference,
            Process = map.Range("process") ?? Reference,
            Response = map.Quantity("response"),
            CalibrationInterval = map.Quantity("calibrated"),
            Signals = ReadSignals(map),
            Span = map.Span,
        };
        map.Context.Specification = read;
        return read;
    }

    /// <summary>Names of faults, each once. Whether a fault of that name exists is for the check to say, which knows the circuit.</summary>
    private static ImmutableArray<Located<string>> ReadSignals(MapView map)
    {
        ImmutableArray<Located<string>>.Builder signals = ImmutableArray.CreateBuilder<Located<string>>();
        if (map.Raw("signals") is ListNode list)
        {
            foreach (ScalarNode scalar in list.Items.OfType<ScalarNode>().Where(s => s.Type != ScalarType.Null))
            {
                if (signals.Any(s => s.Value == scalar.Text))
                {
                    map.Report(Codes.Contradiction, scalar.Span, "This fault stands in the list already.", "each fault once", scalar.Found);
                    continue;
                }

                signals.Add(new Located<string>(scalar.Text, scalar.Span));
            }
        }

        return signals.ToImmutable();
    }

    private static QuantityRange Reference => new(Dimension.Temperature, 25, 25, default, "");

    private static QuantityShape Temperatures() =>
        Shapes.Quantity(UnitSets.Temperature, f => f.WithSign().OrRange().Saying("a range of temperature such as 5 .. 45 °C"));

    private static MeasurandScale? FindScale(MapView map, Located<string> measurand, ParsedQuantity range, ScalarNode rangeNode)
    {
        string? said = map.Text("unit")?.Value;
        string? usual = measurand.Value switch
        {
            "pH" => "pH",
            "temperature" => "°C",
            "redox potential" => "mV",
            _ => null,
        };
        string? text = said ?? usual ?? UnitAtEnd(rangeNode.Text);
        if (text is null || !TryUnit(text, out Unit unit))
        {
            // An ill-written unit is reported by its shape.
            if (text is null)
            {
                map.Report(
                    Codes.UnknownUnit, measurand.Span, $"Nothing says the unit of the measurand `{ScalarNode.Short(measurand.Value)}`.",
                    "a unit behind the range, or the key `unit`", rangeNode.Found, "add the key `unit`");
            }

            return null;
        }

        if (unit.Dimension == Dimension.TemperatureDifference && measurand.Value == "temperature")
        {
            map.Report(Codes.WrongKind, map.PlaceOf("unit"), "A temperature is measured in °C; K is for differences.", "°C", $"`{ScalarNode.Short(text)}`", "write `°C`");
            return null;
        }

        return new MeasurandScale(text, unit.Dimension, unit.Factor);
    }

    private static ErrorLimit? ReadDisplayError(MapView display, MeasurandScale scale)
    {
        if (display.Parsed("error") is not var (parsed, node))
        {
            return null;
        }

        if (parsed.HasSuffix)
        {
            return ReadShare(display, parsed, node);
        }

        if (!parsed.IsBare && parsed.Dimension == Dimension.Ratio && scale.Dimension != Dimension.Ratio)
        {
            display.Report(Codes.WrongKind, node.Span, "A share of what?", "a limit such as ±0.5 % of span", node.Found, "add `of span`");
            return null;
        }

        return scale.Convert(parsed, node, display.Context.Sink) is { } absolute ? new ErrorLimit(absolute, false) : null;
    }

    private static ErrorLimit? ReadOutputError(MapView output)
    {
        if (output.Parsed("error") is not var (parsed, node))
        {
            return null;
        }

        if (parsed.HasSuffix)
        {
            return ReadShare(output, parsed, node);
        }

        if (parsed.Dimension == Dimension.Ratio)
        {
            output.Report(Codes.WrongKind, node.Span, "A share of what?", "a limit such as ±0.6 % of span", node.Found, "add `of span`");
            return null;
        }

        return new ErrorLimit(parsed.ToQuantity(node.Span, node.Text), false);
    }

    private static ErrorLimit? ReadShare(MapView map, ParsedQuantity parsed, ScalarNode node)
    {
        if (parsed.Dimension == Dimension.Ratio && !parsed.IsBare)
        {
            return new ErrorLimit(parsed.ToQuantity(node.Span, node.Text), true);
        }

        map.Report(Codes.WrongKind, node.Span, "What is of span is a percentage.", "a limit such as ±0.5 % of span", node.Found, "leave out `of span`");
        return null;
    }

    /// <summary>The unit that a quantity's text ends with.</summary>
    private static string? UnitAtEnd(string text)
    {
        text = text.Trim();
        for (int i = 0; i < text.Length; i++)
        {
            if (TryUnit(text[i..], out _))
            {
                return text[i..].Trim();
            }
        }

        return null;
    }

    private static bool TryUnit(string text, out Unit unit) =>
        UnitSets.Measurand.TryGet(string.Join(' ', text.Split([' ', '\u00A0', '\u2009', '\u202F'], StringSplitOptions.RemoveEmptyEntries)), out unit);

    private static bool IsUnit(string text) =>
        text.Length > 0 && !PatternText.IsBlank(text[0]) && !PatternText.IsBlank(text[^1]) && QuantityParser.Parse("1 " + text, UnitProbe) is not null;
}
