using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads the loop.</summary>
internal static class LoopReader
{
    private static readonly QuantityShape Current = Shapes.Quantity(UnitSets.Current);

    public static readonly MapShape Shape = new(
        "loop",
        "The current loop as its receiver sees it.",
        Key.Required("through", Shapes.Pair, "The instrument's terminals: where the current leaves a sourcing instrument, and where it comes back."),
        Key.Required(
            "scale",
            new DictionaryShape("two or more points such as { 3.00 pH: 4 mA, 9.00 pH: 20 mA }", Shapes.Measurand, Current, 2),
            "Measurand against current."),
        Key.Optional(
            "limits",
            new MapShape(
                "loop limits",
                "Currents at the edges of the signal.",
                Key.Optional("under", Current, "Least current while measuring."),
                Key.Optional("over", Current, "Greatest current while measuring."),
                Key.Optional("failure", Current, "Current that signals a failure.")),
            "Currents at the edges of the signal."),
        Key.Optional("test", Shapes.Quantity(UnitSets.Current, f => f.AsRange("0 .. 24 mA")), "Currents that the output test sets."),
        Key.Required("load", Shapes.Quantity(UnitSets.Resistance, f => f.OrRange().Saying("a range such as 0 .. 500 Ω")), "Resistance of receiver and cable."),
        Key.Optional("supply", Shapes.Voltage, "Voltage in series with the load.", "the instrument feeds the loop"))
    {
        Example = "loop: { through: [loop+, loop-], scale: { 3.00 pH: 4 mA, 9.00 pH: 20 mA }, limits: { under: 3.8 mA, over: 20.5 mA, failure: 3.6 mA }, load: 0 .. 500 Ω }",
    };

    public static Loop? Read(MapView map)
    {
        if (map.Pair("through") is not var (plus, minus) || map.Range("load") is not { } load || map.Context.Measurand is not { } measurand)
        {
            return null;
        }

        ImmutableArray<ScalePoint>.Builder scale = ImmutableArray.CreateBuilder<ScalePoint>();
        HashSet<double> seen = [];
        foreach ((ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) in map.Points("scale"))
        {
            if (measurand.Convert(from, fromNode, map.Context.Sink) is not { } at)
            {
                continue;
            }

            if (!seen.Add(at.Value))
            {
                map.Report(Codes.Contradiction, fromNode.Span, "Two points have the same value of the measurand.", "each value once", fromNode.Found);
                continue;
            }

            scale.Add(new ScalePoint(at, to.ToQuantity(toNode.Span, toNode.Text), new SourceSpan(fromNode.Span.Source, fromNode.Span.Start, Math.Max(fromNode.Span.End, toNode.Span.End))));
        }

        if (plus.Value == minus.Value)
        {
            map.Report(Codes.Contradiction, minus.Span, "Both terminals of the loop are the same node.", "two nodes", $"`{minus.Value}`");
        }

        MapView? limits = map.Inner("limits");
        Quantity? under = limits?.Quantity("under");
        Quantity? over = limits?.Quantity("over");
        if (under is not null && over is not null && under.Value >= over.Value)
        {
            map.Report(Codes.Contradiction, over.Span, "The upper limit is not above the lower one.", $"a current above {under.Text}", $"`{over.Text}`");
        }

        return scale.Count < 2
            ? null
            : new Loop
            {
                Plus = plus,
                Minus = minus,
                Scale = scale.ToImmutable(),
                Under = under,
                Over = over,
                Failure = limits?.Quantity("failure"),
                Test = map.Range("test"),
                Load = load,
                Supply = map.Parameter("loop", "supply", "supply voltage"),
                Span = map.Span,
            };
    }
}

/// <summary>Reads the adjustment procedure.</summary>
internal static class AdjustmentReader
{
    /// <summary>The word that stands for the code of the output converter.</summary>
    public const string OutputCode = "code";

    public static readonly MapShape Step = new(
        "adjustment step",
        "Set the sources, turn a trimmer until a meter reads.",
        Key.Optional(
            "with",
            new DictionaryShape(
                "what the bench sets, such as { probe: 0 mV }", new NameShape("a node, or `code`"), Shapes.Quantity(UnitSets.SignalOrCode, f => f.WithSign().OrBare())),
            "What the bench sets: at the sensor's first node a source in the sensor's place, at another node a voltage; `code` is the code of the output converter."),
        Key.Optional(
            "jumpers",
            new DictionaryShape("positions such as { J1: test, W2: out }", new NameShape("a jumper or a link"), new TextShape("a position, or `out`")),
            "Jumpers in another position during the step; `out` takes a jumper or a link out."),
        Key.Required("turn", new NameShape("a trimmer"), "The trimmer to turn."),
        Key.Required(
            "until",
            new DictionaryShape(
                "one place and its target such as { TP2: 1.250 V ±2 mV }",
                new NameShape("a test point, a node or `loop`"),
                Shapes.Quantity(UnitSets.VoltageOrCurrent, f => f.WithTolerance().WithSign()),
                1,
                1),
            "Test point, node or `loop`, and what the meter shall read there."),
        Key.Optional("meter", Shapes.Quantity(UnitSets.Digits, f => f.Between(2, 9)), "Digits of the meter."))
    {
        Example = "zero: { with: { probe: 0 mV }, turn: VR2, until: { TP2: 1.250 V ±2 mV }, meter: 4.5 digit }",
    };

    public static readonly ListShape Shape = new(
        new DictionaryShape("a step such as `- zero: { with: { probe: 0 mV }, turn: VR1, until: { TP2: 1.25 V ±2 mV } }`", new TextShape("a step's name"), Step, 1, 1));

    public static ImmutableArray<AdjustmentStep> Read(ListNode list, ReadingContext context, BenchSection bench)
    {
        ImmutableArray<AdjustmentStep>.Builder steps = ImmutableArray.CreateBuilder<AdjustmentStep>();
        foreach (MapEntry entry in list.Items.OfType<MapNode>().SelectMany(m => m.Entries))
        {
            if (entry.Value is not MapNode node)
            {
                continue;
            }

            MapView map = new(node, Step, context);
            if (map.Node("turn") is not { } turn || ReadTarget(map) is not var (meter, reading))
            {
                continue;
            }

            Quantity? digits = map.Quantity("meter");
            double count = digits is null ? 0 : DigitalMeter.CountOf(digits.Value, reading.Value, reading.Dimension);
            double wrongBy = count * bench.MeterOf(reading.Dimension).Counts;
            steps.Add(new AdjustmentStep
            {
                Name = new Located<string>(entry.Key.Text, entry.Key.Span),
                With = ReadSources(map),
                Jumpers = map.Raw("jumpers") is MapNode jumpers
                    ?
                    [
                        .. jumpers.Entries.Where(e => e.Value is ScalarNode { Type: not ScalarType.Null, Text.Length: > 0 }).Select(e => new MovedJumper(
                            new Located<string>(e.Key.Text, e.Key.Span), new Located<string>(((ScalarNode)e.Value).Text, e.Value.Span))),
                    ]
                    : [],
                Turn = turn,
                Meter = meter,
                Target = reading,
                MeterDigits = digits?.Value,
                MeterCount = count,
                MeterCounts = digits is null || wrongBy == 0
                    ? null
                    : new Parameter(BenchReader.Owner, $"meter digits in {entry.Key.Text}", new Quantity(reading.Dimension, 0, -wrongBy, wrongBy, 0, 0, digits.Span, digits.Text)),
                Span = map.Span,
            });
        }

        return steps.ToImmutable();
    }

    private static (Located<string> Meter, Quantity Target)? ReadTarget(MapView map)
    {
        if (map.Raw("until") is not MapNode { Entries: [var entry, ..] } || entry.Value is not ScalarNode value
            || ((DictionaryShape)Step["until"]!.Shape).Value is not QuantityShape shape || value.ReadAs(shape.Form) is not { Problem: null } parsed)
        {
            return null;
        }

        bool isLoop = entry.Key.Text == "loop";
        if (isLoop != (parsed.Dimension == Dimension.Current))
        {
            string expected = isLoop ? "a current such as 20.00 mA ±10 µA" : "a voltage such as 1.250 V ±2 mV";
            map.Report(Codes.WrongKind, value.Span, $"A meter {(isLoop ? "in the loop" : "on a node")} reads {(isLoop ? "a current" : "a voltage")}.", expected, value.Found);
            return null;
        }

        return (new Located<string>(entry.Key.Text, entry.Key.Span), parsed.ToQuantity(value.Span, value.Text));
    }

    private static ImmutableArray<SetSource> ReadSources(MapView map)
    {
        ImmutableArray<SetSource>.Builder sources = ImmutableArray.CreateBuilder<SetSource>();
        if (map.Raw("with") is not MapNode node || ((DictionaryShape)Step["with"]!.Shape).Value is not QuantityShape shape)
        {
            return [];
        }

        foreach (MapEntry entry in node.Entries)
        {
            if (entry.Value is not ScalarNode value || value.ReadAs(shape.Form) is not { Problem: null } parsed)
            {
                continue;
            }

            bool isCode = entry.Key.Text == OutputCode;
            if (isCode != parsed.IsBare)
            {
                map.Report(
                    Codes.WrongKind, value.Span, isCode ? "A code is a plain number." : "A source has a unit.", isCode ? "a code such as 2048" : "a signal such as 250 mV", value.Found);
                continue;
            }

            Quantity quantity = parsed.ToQuantity(value.Span, value.Text);
            sources.Add(new SetSource(new Located<string>(entry.Key.Text, entry.Key.Span), isCode ? quantity with { Dimension = Dimension.Ratio } : quantity));
        }

        return sources.ToImmutable();
    }
}
