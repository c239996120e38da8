using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads the stages of the signal chain.</summary>
internal static class StageReader
{
    private const string ReferenceAges = "reference ages";

    private static readonly QuantityShape Positive = Shapes.Quantity(UnitSets.Gain, f => f.OrBare().Positive());
    private static readonly QuantityShape Steps = Shapes.Quantity(UnitSets.ConverterStep, f => f.WithBounds().OrToleranceAlone());
    private static readonly QuantityShape OffsetError = Shapes.Quantity(UnitSets.Voltage, f => f.AsInDataSheet().WithSign());
    private static readonly QuantityShape GainError = Shapes.Quantity(UnitSets.Percent, f => f.AsInDataSheet().WithSign());
    internal static readonly WordShape Word = new("8 bit", "16 bit", "32 bit", "64 bit");
    private static readonly EitherShape Reference = new(Shapes.Quantity(UnitSets.Voltage, f => f.WithDrift().Positive()), Shapes.Node, Shapes.Pair);

    public static readonly MapShape Circuit = new(
        "circuit",
        "Parts between nodes.",
        Key.Optional("kind", new WordShape("circuit"), "`circuit`; may be left out where `parts` stands."),
        Key.Required("parts", new DictionaryShape("parts by name", new NameShape("a part's name"), PartKinds.Shape), "Parts by name, such as `R1`."),
        Key.Optional("from", Shapes.NodeOrPair, "Where the signal comes in: a node, or a pair."),
        Key.Optional("to", Shapes.NodeOrPair, "Where it goes out: a node, a pair, or `loop` for the loop's current. The stage that drives a `voltage output` goes out at its terminals."),
        Key.Optional(
            "intent",
            new DictionaryShape(
                "two or more points such as { 0 mV: 1.25 V, 250 mV: 2.03 V }",
                Shapes.Quantity(UnitSets.Signal, f => f.WithSign()),
                Shapes.Quantity(UnitSets.VoltageOrCurrent, f => f.WithTolerance().WithSign()),
                2),
            "What the stage is meant to do: what goes in against what comes out."),
        Key.Optional(
            "test points",
            new DictionaryShape("test points such as { TP1: amp }", new NameShape("a test point's name"), Shapes.NodeOrPair),
            "Places for a meter: a node, measured against the return of its island, or a pair."))
    {
        Example = "input: { parts: { R1: { resistor: 10 kΩ ±1 %, between: [in, out] } }, from: in, to: out, intent: { 0 V: 0 V, 1 V: 1 V } }",
    };

    public static readonly MapShape Converter = new(
        "adc",
        "Voltage to code.",
        Key.Kind("adc"),
        Key.Required("input", Shapes.NodeOrPair, "Input: a node, or a pair."),
        Key.Required("bits", new IntegerShape(8, 32), "Bits of the code."),
        Key.Required("reference", Reference, "Its own reference, or the nodes that it is taken from."),
        Key.Optional(ReferenceAges, Shapes.Ageing, "How far its own reference may drift with time after the calibration, in either direction.", "not at all"),
        Key.Optional("bipolar", Shapes.Flag, "Whether codes run from −2^(bits−1).", "false"),
        Key.Optional("gain", Positive, "Gain before the converter.", "1"),
        Key.Optional("inl", Steps, "Integral nonlinearity."),
        Key.Optional("offset", OffsetError, "Offset error at the input."),
        Key.Optional("gain error", GainError, "Gain error."),
        Key.Optional("input current", Shapes.Quantity(UnitSets.Current, f => f.AsInDataSheet().WithSign().OrRange()), "Current into the input."),
        Key.Optional("input resistance", Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().WithBounds().Positive()), "Resistance from the input to its return.", "infinite"),
        Key.Optional("linear", Shapes.Quantity(UnitSets.Voltage, f => f.WithSign().AsRange("0.05 .. 2.45 V")), "Voltages over which it is linear.", "its whole range"),
        Key.Optional(
            "absolute", Shapes.Quantity(UnitSets.Voltage, f => f.WithSign().WithBounds().OrRange().Saying("voltages such as −0.3 .. 3.6 V or 3.6 V max")), "Voltages that its pins survive."),
        Key.Optional("noise", Shapes.Quantity(UnitSets.ConverterStep), "Noise of one reading, root mean square.", "none"),
        Key.Optional("average", new IntegerShape(1, 1_000_000), "Readings averaged into one.", "1"),
        Key.Optional("every", Shapes.Time, "Time between readings."))
    {
        Example = "reading: { kind: adc, input: adc, bits: 12, reference: 2.5 V ±0.2 % ±50 ppm/K, inl: ±2 LSB, average: 64, every: 5 ms }",
    };

    public static readonly MapShape Arithmetic = new(
        "arithmetic",
        "Codes to measurand, and measurand to output code.",
        Key.Optional("kind", new WordShape("arithmetic"), "`arithmetic`; may be left out where no `parts` stand."),
        Key.Optional("from", Shapes.Text, "The converter stage whose codes it reads.", "the one before it"),
        Key.Optional("to", Shapes.Text, "What it computes: `measurand`.", "measurand"),
        Key.Optional(
            "scaling",
            new DictionaryShape(
                "two or more points such as { 2048: 0 mV, 3326: 250 mV }",
                Shapes.Quantity(UnitSets.CodeOrVoltage, f => f.WithSign().OrBare()),
                Shapes.Quantity(UnitSets.Signal, f => f.WithSign()),
                2),
            "Constants that the code holds: converter code, or voltage at the converter, against the sensor's signal.",
            "what follows from the intents"),
        Key.Optional(
            "output scaling",
            new DictionaryShape(
                "two or more points such as { 4 mA: 655, 20 mA: 3277 }",
                Shapes.Quantity(UnitSets.VoltageOrCurrent, f => f.WithSign()),
                Shapes.Quantity(UnitSets.CodeOrVoltage, f => f.WithSign().OrBare()),
                2),
            "Constants that the code holds for the output: its current, or its voltage, against output code, or voltage at the converter.",
            "what follows from the intents"),
        Key.Optional("calibration", new WordShape("one-point", "two-point", "n-point"), "How the user calibrates.", "not at all"),
        Key.Optional(
            "compensation",
            new EitherShape(
                new WordShape("measured"),
                new MapShape("fixed compensation", "A fixed process temperature.", Key.Required("fixed", Shapes.Quantity(UnitSets.Temperature, f => f.WithSign()), "The temperature assumed."))),
            "Where the process temperature comes from.",
            "measured"),
        Key.Optional(
            "temperature error", Shapes.Quantity(UnitSets.TemperatureDifference, f => f.OnlyTolerance()), "How far the measured process temperature may be from the true one.", "none"),
        Key.Optional(
            "plausible",
            Shapes.Quantity(UnitSets.Measurand, f => f.WithSign().OrBare().AsRange("2.00 .. 11.00")),
            "Values outside of which the code takes the reading for a failure and sends the failure current or voltage. Holds the measuring range.",
            "every value"),
        Key.Optional("starts in", Shapes.Time, "Time from the processor's leaving reset to the first code that it writes.", "at once"),
        Key.Optional("resets below", Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Supply voltage below which the processor is in reset.", "never"),
        Key.Optional("words", Word, "The widest word that the code computes with.", "32 bit"),
        Key.Optional("sum", Word, "The word that the readings are summed in.", "the narrowest that holds the sum"),
        Key.Optional("product", Word, "The word of every product.", "the narrowest that holds the product"),
        Key.Optional("divisions", new WordShape("nearest", "truncate"), "Whether divisions and shifts go to the nearest whole number or cut off towards zero.", "nearest"),
        Key.Optional(
            "rounding", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().OnlyTolerance()),
            "What the integer arithmetic may add to the error of a reading.", "a tenth of the display's step"),
        Key.Optional(
            "resolution", Shapes.Quantity(UnitSets.Measurand, f => f.OrBare().Positive()), "One step of the measurand inside the code.", "chosen for the least error"),
        Key.Optional(
            "fraction",
            new MapShape(
                "fraction",
                "A fraction of whole numbers that takes a code to the sensor's signal: code × multiply / divide is a number of steps.",
                Key.Required("multiply", new IntegerShape(1, int.MaxValue), "The multiplier."),
                Key.Required("divide", new IntegerShape(1, int.MaxValue), "The divisor."),
                Key.Required("step", Shapes.Quantity(UnitSets.Signal, f => f.Positive()), "One step of the signal."),
                Key.Optional(
                    "first", new WordShape("multiply", "divide"),
                    "Which comes first: the product with the code, or the quotient of the two constants, of which only the whole number stays.", "multiply"))
            {
                Example = "fraction: { multiply: 5000, divide: 1023, step: 1 mV }",
            },
            "How the code takes a converter's code to the sensor's signal.",
            "chosen for the least error"))
    {
        Example = "arithmetic: { from: reading, to: measurand, calibration: two-point, words: 32 bit }",
    };

    public static readonly MapShape OutputConverter = new(
        "dac",
        "Code to voltage.",
        Key.Kind("dac"),
        Key.Required("output", Shapes.NodeOrPair, "Output: a node, or a pair."),
        Key.Required("bits", new IntegerShape(8, 32), "Bits of the code."),
        Key.Required("reference", Reference, "Its own reference, or the nodes that it is taken from."),
        Key.Optional(ReferenceAges, Shapes.Ageing, "How far its own reference may drift with time after the calibration, in either direction.", "not at all"),
        Key.Optional("gain", Positive, "Gain behind the converter.", "1"),
        Key.Optional("inl", Steps, "Integral nonlinearity."),
        Key.Optional("offset", OffsetError, "Offset error at the output."),
        Key.Optional("gain error", GainError, "Gain error."),
        Key.Optional("output resistance", Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().WithBounds()), "Resistance in series with the output.", "0 Ω"),
        Key.Optional(
            "link",
            new MapShape(
                "link",
                "How the codes get to it.",
                [Key.Required("kind", new WordShape("digital isolator", "plain"), "`digital isolator` or `plain` wires."), .. IsolationReader.PartKeys]),
            "How the codes get to it.",
            "plain wires"),
        Key.Optional(
            "at reset", new WordShape("zero", "middle", "open"),
            "What it gives from the moment it has its supply until the processor writes the first code: code 0, the middle code, or nothing through an open output.", "zero"),
        Key.Optional(
            "resets with processor", Shapes.Flag,
            "Whether its reset line is driven with the processor's: it then is at reset whenever the processor is in reset or without supply. Else it keeps its last code meanwhile.", "false"))
    {
        Example = "writing: { kind: dac, output: dac, bits: 12, reference: 2.5 V ±0.2 % ±50 ppm/K, link: { kind: digital isolator, withstands: 2.5 kV } }",
    };

    public static readonly MapShape PulseWidth = new(
        "pulse width",
        "Code to voltage by the width of pulses: on the average the part of the level that the code is of a whole period. A filter behind it makes a voltage of it.",
        Key.Kind("pulse width"),
        Key.Required("output", Shapes.NodeOrPair, "Output: a node, or a pair."),
        Key.Required("bits", new IntegerShape(6, 24), "Bits of the code: one period is 2^bits counts of the clock."),
        Key.Required("clock", Shapes.Quantity(UnitSets.Frequency, f => f.Positive()), "The clock that counts the width."),
        Key.Required("reference", Reference, "The level of a pulse: a voltage of its own, or the nodes that it is taken from, such as the rail of the gate that drives it."),
        Key.Optional(ReferenceAges, Shapes.Ageing, "How far a level of its own may drift with time after the calibration, in either direction.", "not at all"),
        Key.Optional("offset", OffsetError, "The level between pulses."),
        Key.Optional("gain error", GainError, "Error of the width in proportion to it, as unequal edges make it."),
        Key.Optional("output resistance", Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().WithBounds()), "Resistance of the switches, the same at both levels.", "0 Ω"),
        OutputConverter["link"]!,
        OutputConverter["at reset"]!)
    {
        Example = "writing: { kind: pulse width, output: pulses, bits: 10, clock: 8 MHz, reference: [A5, 0V], output resistance: 40 Ω }",
    };

    public static readonly KindShape Stage = new(
        "stage", "kind", [("circuit", Circuit), ("adc", Converter), ("arithmetic", Arithmetic), ("dac", OutputConverter), ("pulse width", PulseWidth)], Arithmetic, ("parts", Circuit));

    public static readonly ListShape Shape = new(new DictionaryShape("a stage such as `- input: { parts: { … } }`", new TextShape("a stage's name"), Stage, 1, 1));

    /// <summary>Reads what can be read.</summary>
    public static ImmutableArray<Stage> Read(ListNode list, ReadingContext context, HashSet<string> mentioned)
    {
        ImmutableArray<Stage>.Builder stages = ImmutableArray.CreateBuilder<Stage>();
        foreach (MapNode item in list.Items.OfType<MapNode>())
        {
            foreach (MapEntry entry in item.Entries)
            {
                if (Stage.Case(entry.Value) is not { } shape)
                {
                    continue;
                }

                Located<string> name = new(entry.Key.Text, entry.Key.Span);
                MapView view = new((MapNode)entry.Value, shape, context);
                Stage? stage = shape == Circuit ? ReadCircuit(name, view, mentioned)
                    : shape == Converter ? ReadConverter(name, view)
                    : shape == OutputConverter || shape == PulseWidth ? ReadOutputConverter(name, view, mentioned)
                    : ReadArithmetic(name, view);
                if (stage is not null)
                {
                    stages.Add(stage);
                }
            }
        }

        return stages.ToImmutable();
    }

    private static CircuitStage ReadCircuit(Located<string> name, MapView map, HashSet<string> mentioned)
    {
        List<Part> parts = [];
        if (map.Raw("parts") is MapNode node)
        {
            PartReader.Read(node, map.Context, BlockScope.Root, [], parts, mentioned);
        }

        (Located<string> First, Located<string>? Second)? from = map.Nodes("from");
        (Located<string> First, Located<string>? Second)? to = map.Nodes("to");
        return new CircuitStage
        {
            Name = name,
            Span = map.Span,
            Parts = [.. parts],
            From = from?.First,
            FromReturn = from?.Second,
            To = to?.First,
            ToReturn = to?.Second,
            Intent = ReadPoints(map, "intent"),
            TestPoints = ReadTestPoints(map),
        };
    }

    private static ImmutableArray<TestPoint> ReadTestPoints(MapView map)
    {
        ImmutableArray<TestPoint>.Builder points = ImmutableArray.CreateBuilder<TestPoint>();
        if (map.Raw("test points") is MapNode node)
        {
            foreach (MapEntry entry in node.Entries)
            {
                Located<string> name = new(entry.Key.Text, entry.Key.Span);
                switch (entry.Value)
                {
                    case ScalarNode { Type: not ScalarType.Null } single:
                        points.Add(new TestPoint(name, map.Scope.Node(single), null));
                        break;
                    case ListNode { Items: [ScalarNode a, ScalarNode b] }:
                        points.Add(new TestPoint(name, map.Scope.Node(a), map.Scope.Node(b)));
                        break;
                }
            }
        }

        return points.ToImmutable();
    }

    private static ConverterStage? ReadConverter(Located<string> name, MapView map)
    {
        if (map.Nodes("input") is not var (input, inputReturn) || map.Integer("bits") is not { } bits || !map.Has("reference"))
        {
            return null;
        }

        (Parameter? reference, (Located<string>, Located<string>?)? nodes) = ReadReference(name, map);
        return reference is null && nodes is null
            ? null
            : new ConverterStage
            {
                Name = name,
                Span = map.Span,
                Input = input,
                InputReturn = inputReturn,
                Bits = bits,
                Bipolar = map.Flag("bipolar") ?? false,
                Gain = map.Quantity("gain")?.Value ?? 1,
                Reference = reference,
                ReferenceAgeing = ReadReferenceAgeing(name, map, reference),
                ReferenceNodes = nodes,
                Nonlinearity = Laws.Make(map, name.Value, "inl", Laws.EitherSign, "nonlinearity"),
                Noise = map.Quantity("noise"),
                Offset = Laws.Make(map, name.Value, "offset", Laws.EitherSign),
                GainError = Laws.Make(map, name.Value, "gain error", Laws.EitherSign),
                InputCurrent = map.Parsed("input current") is var (current, node)
                    ? new Parameter(name.Value, "input current", Laws.TypicalOfEitherSign(current, current.ToQuantity(node.Span, node.Text)))
                    : null,
                InputResistance = Laws.Make(map, name.Value, "input resistance", Laws.Closed),
                Linear = map.Range("linear"),
                Absolute = ReadAbsolute(map),
                Average = map.Integer("average") ?? 1,
                Every = map.Quantity("every"),
            };
    }

    /// <summary>A single value is what the pins survive upwards; downwards nothing is said.</summary>
    private static QuantityRange? ReadAbsolute(MapView map) => map.Parsed("absolute") is var (parsed, node)
        ? parsed.IsRange
            ? parsed.ToRange(node.Span, node.Text)
            : new QuantityRange(parsed.Dimension, parsed.HasMinimum ? parsed.Low : double.NegativeInfinity, parsed.High, node.Span, node.Text)
        : null;

    private static OutputConverterStage? ReadOutputConverter(Located<string> name, MapView map, HashSet<string> mentioned)
    {
        if (map.Nodes("output") is var (first, second))
        {
            mentioned.Add(first.Value);
            if (second is { } other)
            {
                mentioned.Add(other.Value);
            }
        }

        if (map.Nodes("output") is not var (output, outputReturn) || map.Integer("bits") is not { } bits)
        {
            return null;
        }

        (Parameter? reference, (Located<string>, Located<string>?)? nodes) = ReadReference(name, map);
        MapView? link = map.Inner("link");
        return reference is null && nodes is null
            ? null
            : new OutputConverterStage
            {
                Name = name,
                Span = map.Span,
                Output = output,
                OutputReturn = outputReturn,
                Bits = bits,
                Clock = map.Quantity("clock"),
                Gain = map.Quantity("gain")?.Value ?? 1,
                Reference = reference,
                ReferenceAgeing = ReadReferenceAgeing(name, map, reference),
                ReferenceNodes = nodes,
                Nonlinearity = Laws.Make(map, name.Value, "inl", Laws.EitherSign, "nonlinearity"),
                Offset = Laws.Make(map, name.Value, "offset", Laws.EitherSign),
                GainError = Laws.Make(map, name.Value, "gain error", Laws.EitherSign),
                OutputResistance = Laws.Make(map, name.Value, "output resistance", Laws.Closed),
                Link = link?.Word("kind") is { } kind ? new DigitalLink(kind, link.Quantity(IsolationReader.Withstands), link.Span) { Insulation = IsolationReader.ReadPart(link) } : null,
                AtReset = map.Word("at reset")?.Value switch { "middle" => ResetOutput.Middle, "open" => ResetOutput.Open, _ => ResetOutput.Zero },
                ResetsWithProcessor = map.Quantity("clock") is not null || map.Flag("resets with processor") == true,
            };
    }

    private static (Parameter? Own, (Located<string>, Located<string>?)? Nodes) ReadReference(Located<string> name, MapView map) =>
        map.Raw("reference") is ScalarNode scalar && scalar.ReadAs(Reference.Find<QuantityShape>()!.Form) is not null
            ? (map.Parameter(name.Value, "reference"), null)
            : (null, map.Nodes("reference"));

    private static Parameter? ReadReferenceAgeing(Located<string> name, MapView map, Parameter? reference)
    {
        Parameter? ageing = Laws.Ageing(map, name.Value, ReferenceAges);
        if (ageing is not null && reference is null)
        {
            map.Report(
                Codes.Contradiction, ageing.Quantity.Span, "The reference is taken from nodes: the part that makes it says how it ages.", $"`{ReferenceAges}` beside a reference of its own",
                $"`{ageing.Quantity.Text}`", $"write `{Laws.AgeingKey}` at that part");
        }

        return ageing;
    }

    private static ArithmeticStage ReadArithmetic(Located<string> name, MapView map)
    {
        if (map.Text("to") is { } to && to.Value != "measurand" && to.Value != map.Context.Specification?.Measurand.Value)
        {
            map.Report(
                Codes.Contradiction, to.Span, "Arithmetic computes the measurand.", "`measurand`", $"`{ScalarNode.Short(to.Value)}`", "write `measurand`");
        }

        Located<string>? words = map.Word("words");
        MapView? compensation = map.Inner("compensation");
        Parameter? temperatureError = map.Parameter(name.Value, "temperature error");
        if (compensation is not null && temperatureError is not null)
        {
            map.Report(
                Codes.Contradiction, temperatureError.Quantity.Span, "A fixed temperature is not measured, so it has no error of measurement.", "`compensation: measured`",
                $"`{temperatureError.Quantity.Text}`", "leave one of the two out");
        }

        return new ArithmeticStage
        {
            Name = name,
            Span = map.Span,
            From = map.Text("from"),
            Scaling = ReadPoints(map, "scaling"),
            OutputScaling = ReadPoints(map, "output scaling"),
            Calibration = map.Word("calibration"),
            Compensation = compensation is null ? Compensation.Measured : Compensation.Fixed,
            AssumedTemperature = compensation?.Quantity("fixed"),
            TemperatureError = temperatureError,
            Plausible = ReadPlausible(map),
            StartsIn = map.Quantity("starts in"),
            ResetsBelow = map.Quantity("resets below"),
            WordBits = words is { } word ? BitsOf(word.Value) : 32,
            Choices = new ArithmeticChoices
            {
                SumBits = map.Word("sum") is { } sum ? new Located<int>(BitsOf(sum.Value), sum.Span) : null,
                ProductBits = map.Word("product") is { } product ? new Located<int>(BitsOf(product.Value), product.Span) : null,
                Truncates = map.Word("divisions") is { } divisions ? new Located<bool>(divisions.Value == "truncate", divisions.Span) : null,
                RoundingLimit = map.Measurand("rounding"),
                Resolution = map.Measurand("resolution"),
                Fraction = ReadFraction(map),
            },
        };
    }

    internal static int BitsOf(string word) => word switch { "8 bit" => 8, "16 bit" => 16, "64 bit" => 64, _ => 32 };

    private static CodeFraction? ReadFraction(MapView map) =>
        map.Inner("fraction") is { } fraction && fraction.Integer("multiply") is { } multiply && fraction.Integer("divide") is { } divide && fraction.Quantity("step") is { } step
            ? new CodeFraction(multiply, divide, step, fraction.Word("first")?.Value == "divide", fraction.Span)
            : null;

    private static QuantityRange? ReadPlausible(MapView map)
    {
        if (map.MeasurandRange("plausible") is not { } plausible)
        {
            return null;
        }

        if (map.Context.Specification is { Range: var range } specification && (plausible.Low > range.Low || plausible.High < range.High))
        {
            string whole = $"{QuantityText.Number(range.Low)} .. {QuantityText.Number(range.High)} {specification.Unit}";
            map.Report(
                Codes.Contradiction, plausible.Span, "A value of the measuring range would be taken for a failure.", $"a range that holds {whole}",
                $"`{ScalarNode.Short(plausible.Text)}`", "widen it to what a sound sensor can give");
        }

        return plausible;
    }

    /// <summary>Pairs of values; a code is a plain ratio, to tell it from a voltage.</summary>
    private static ImmutableArray<ScalePoint> ReadPoints(MapView map, string key)
    {
        ImmutableArray<ScalePoint>.Builder points = ImmutableArray.CreateBuilder<ScalePoint>();
        HashSet<double> seen = [];
        Quantity? first = null;
        Quantity? firstTo = null;
        foreach ((ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) in map.Points(key))
        {
            Quantity given = Coded(from, fromNode);
            Quantity wanted = Coded(to, toNode);
            first ??= given;
            firstTo ??= wanted;
            if (given.Dimension != first.Dimension || wanted.Dimension != firstTo.Dimension)
            {
                bool isFrom = given.Dimension != first.Dimension;
                ScalarNode place = isFrom ? fromNode : toNode;
                Quantity asked = isFrom ? first : firstTo;
                map.Report(
                    Codes.WrongKind, place.Span, $"The point before it has {UnitSets.Noun(asked.Dimension)} here.", UnitSets.Noun(asked.Dimension), place.Found);
                continue;
            }

            if (!seen.Add(given.Value))
            {
                map.Report(Codes.Contradiction, fromNode.Span, "Two points have the same value on this side.", "each value once", fromNode.Found);
                continue;
            }

            points.Add(new ScalePoint(given, wanted, new SourceSpan(fromNode.Span.Source, fromNode.Span.Start, Math.Max(fromNode.Span.End, toNode.Span.End))));
        }

        return points.ToImmutable();

        static Quantity Coded(ParsedQuantity parsed, ScalarNode node) =>
            parsed.ToQuantity(node.Span, node.Text) is var q && parsed.IsBare ? q with { Dimension = Dimension.Ratio } : q;
    }
}
