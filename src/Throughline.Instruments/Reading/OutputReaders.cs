using System.Collections.Immutable;

namespace Throughline.Instruments;

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
            "Test point, node or `loop`, and what the meter shall read there; a voltage output is read at its first terminal."),
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

        bool isLoop = entry.Key.Text == Loop.Word;
        if (isLoop && map.Context.Output is { IsVoltage: true })
        {
            map.Report(Codes.WrongKind, entry.Key.Span, "The output is a voltage: there is no loop for a meter to stand in.", "the first terminal of `voltage output`, or a test point", entry.Key.Found);
            return null;
        }

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
