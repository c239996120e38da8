using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Whether names name something, whether no name is given twice, and whether values are of the kind that their place in the chain asks for.</summary>
internal static class MeaningChecks
{
    public static void Run(
        MapNode root,
        Sensor? sensor,
        ImmutableArray<Supply> supplies,
        IsolationNeeds? isolation,
        ImmutableArray<Stage> stages,
        Loop? loop,
        Calibration? calibration,
        ImmutableArray<AdjustmentStep> adjustment,
        HashSet<string> mentioned,
        DiagnosticSink sink)
    {
        HashSet<string> nodes = new(mentioned);
        foreach (Terminal terminal in sensor?.Terminals ?? [])
        {
            nodes.Add(terminal.Node.Value);
        }

        foreach (Supply supply in supplies)
        {
            nodes.Add(supply.Name.Value);
            nodes.Add(supply.Return.Value);
        }

        ImmutableArray<Part> parts = [.. stages.OfType<CircuitStage>().SelectMany(s => s.Parts)];
        foreach (Terminal terminal in parts.SelectMany(p => p.Terminals))
        {
            nodes.Add(terminal.Node.Value);
        }

        CheckNames(stages, parts, sink);
        CheckNodes(stages, loop, isolation, nodes, sink);
        CheckLoopSupplies(root, supplies, sink);
        CheckArithmetic(stages, sink);
        CheckCalibration(root, stages, calibration, sink);
        CheckIntents(sensor, stages, sink);
        CheckAdjustment(adjustment, stages, parts, nodes, sensor, UnreadParts(root, parts), mentioned, sink);
    }

    private static void CheckNames(ImmutableArray<Stage> stages, ImmutableArray<Part> parts, DiagnosticSink sink)
    {
        Unique(parts.Select(p => p.Name), "part");
        Unique(stages.Select(s => s.Name), "stage");
        Unique(stages.OfType<CircuitStage>().SelectMany(s => s.TestPoints).Select(t => t.Name), "test point");

        void Unique(IEnumerable<Located<string>> names, string what)
        {
            Dictionary<string, Located<string>> seen = [];
            foreach (Located<string> name in names)
            {
                if (!seen.TryAdd(name.Value, name))
                {
                    sink.Report(
                        Codes.DuplicateName, name.Span, $"Two {what}s are called `{ScalarNode.Short(name.Value)}`.", "each name once in the instrument",
                        FormattableString.Invariant($"the same name as in line {seen[name.Value].Span.Line}"));
                }
            }
        }
    }

    private static void CheckNodes(ImmutableArray<Stage> stages, Loop? loop, IsolationNeeds? isolation, HashSet<string> nodes, DiagnosticSink sink)
    {
        foreach (Stage stage in stages)
        {
            switch (stage)
            {
                case CircuitStage circuit:
                    Known(circuit.From);
                    Known(circuit.FromReturn);
                    if (circuit.To?.Value != Loop.Word)
                    {
                        Known(circuit.To);
                    }

                    Known(circuit.ToReturn);
                    foreach (TestPoint point in circuit.TestPoints)
                    {
                        Known(point.Node);
                        Known(point.Return);
                    }

                    break;
                case ConverterStage converter:
                    Known(converter.Input);
                    Known(converter.InputReturn);
                    Known(converter.ReferenceNodes?.Plus);
                    Known(converter.ReferenceNodes?.Minus);
                    break;
                case OutputConverterStage output:
                    Known(output.OutputReturn);
                    Known(output.ReferenceNodes?.Plus);
                    Known(output.ReferenceNodes?.Minus);
                    break;
            }
        }

        Known(loop?.Plus);
        Known(loop?.Minus);
        Known(isolation?.Grounded?.Process);
        Known(isolation?.Grounded?.Receiver);

        void Known(Located<string>? node)
        {
            if (node is { } name && !nodes.Contains(name.Value))
            {
                ReportNode(name, nodes, sink);
            }
        }
    }

    /// <summary>Who lives on the loop needs a loop that is fed from outside. A loop that says nothing readable of its supply has been reported already.</summary>
    private static void CheckLoopSupplies(MapNode root, ImmutableArray<Supply> supplies, DiagnosticSink sink)
    {
        if (supplies.FirstOrDefault(s => s.Kind == SupplyKind.Loop) is not { } fed || (root["loop"] is { } section && (section is not MapNode loop || loop["supply"] is not null)))
        {
            return;
        }

        if (!sink.IsFull)
        {
            sink.Report(
                Codes.Contradiction, fed.Span, $"`{ScalarNode.Short(fed.Name.Value)}` lives on the loop, and nothing feeds the loop.", "a section `loop` with `supply`, such as `supply: 24 V ±15 %`",
                root["loop"] is null ? "no section `loop`" : "a section `loop` without `supply`", "state in `loop` the supply at the receiver");
        }
    }

    private static void ReportNode(Located<string> name, IEnumerable<string> nodes, DiagnosticSink sink)
    {
        if (!sink.IsFull)
        {
            sink.Report(
                Codes.UnknownNode, name.Span, $"Nothing is connected to a node `{ScalarNode.Short(name.Value)}`.", "a node of a part, the sensor or a supply",
                $"`{ScalarNode.Short(name.Value)}`", Nearest.Mend(name.Value, nodes));
        }
    }

    private static void CheckArithmetic(ImmutableArray<Stage> stages, DiagnosticSink sink)
    {
        string[] converters = [.. stages.OfType<ConverterStage>().Select(s => s.Name.Value)];
        foreach (Located<string> from in stages.OfType<ArithmeticStage>().Select(s => s.From).OfType<Located<string>>())
        {
            if (!sink.IsFull && converters.Length > 0 && !converters.Contains(from.Value))
            {
                sink.Report(
                    Codes.UnknownStage, from.Span, $"No adc stage is called `{ScalarNode.Short(from.Value)}`.", Nearest.OneOf(converters),
                    $"`{ScalarNode.Short(from.Value)}`", Nearest.Mend(from.Value, converters));
            }
        }
    }

    private static void CheckCalibration(MapNode root, ImmutableArray<Stage> stages, Calibration? calibration, DiagnosticSink sink)
    {
        // A second standard that could not be read is another mistake.
        bool hasMore = root["calibration"] is MapNode map && (map["buffers"] ?? map["standards"]) is MapNode { Entries: var entries }
            && entries.Any(e => e.Key.Text is not ("first" or "settable" or "follows temperature" or "family"));
        if (hasMore || calibration is not { Standards: { Length: > 0 and < 2 } standards }
            || stages.OfType<ArithmeticStage>().FirstOrDefault()?.Calibration is not { Value: not "one-point" } asked)
        {
            return;
        }

        sink.Report(
            Codes.Contradiction, standards[0].Value.Quantity.Span, $"The arithmetic says `{asked.Value}`: that takes two standards or more.", "a second standard",
            $"`{ScalarNode.Short(standards[0].Value.Quantity.Text)}` alone", "add `second`, or write `calibration: one-point` at the arithmetic");
    }

    /// <summary>The first circuit takes the sensor's signal, a later one what the stage before it gives: a voltage.</summary>
    private static void CheckIntents(Sensor? sensor, ImmutableArray<Stage> stages, DiagnosticSink sink)
    {
        bool first = true;
        foreach (Stage stage in stages)
        {
            if (stage is not CircuitStage circuit)
            {
                first = false;
                continue;
            }

            Dimension? expected = first ? DimensionOf(sensor?.SignalKind) : Dimension.Voltage;
            foreach (ScalePoint point in circuit.Intent)
            {
                // A ratiometric or resistive sensor may also be described by the voltage it leaves behind.
                bool fits = expected is null || point.From.Dimension == expected || (first && point.From.Dimension == Dimension.Voltage);
                if (!fits)
                {
                    string source = first ? "The sensor gives" : "The stage before it gives";
                    sink.Report(
                        Codes.WrongKind, point.From.Span, $"{source} {UnitSets.Noun(expected!.Value)}, the intent begins with {UnitSets.Noun(point.From.Dimension)}.",
                        UnitSets.Noun(expected.Value), $"`{point.From.Text}`");
                }

                bool toLoop = circuit.To?.Value == Loop.Word;
                if (toLoop != (point.To.Dimension == Dimension.Current) && circuit.To is not null)
                {
                    string wanted = toLoop ? "a current" : "a voltage";
                    sink.Report(
                        Codes.WrongKind, point.To.Span, $"The stage ends {(toLoop ? "in the loop" : "at a node")}: {wanted} comes out.", wanted, $"`{point.To.Text}`");
                }
            }

            first = false;
        }
    }

    /// <summary>Names of parts that are written and could not be read.</summary>
    internal static ImmutableArray<string> UnreadParts(MapNode root, ImmutableArray<Part> parts)
    {
        HashSet<string> read = [.. parts.Select(p => p.Name.Value)];
        IEnumerable<MapNode> written = (root["stages"] as ListNode)?.Items.OfType<MapNode>().SelectMany(s => s.Entries).Select(e => e.Value).OfType<MapNode>()
            .SelectMany(s => s.Entries).Select(e => e.Value).OfType<MapNode>() ?? [];
        return [.. written.SelectMany(w => w.Entries).Select(e => e.Key.Text).Where(n => !read.Contains(n))];
    }

    private static Dimension? DimensionOf(SignalKind? kind) => kind switch
    {
        SignalKind.Voltage => Dimension.Voltage,
        SignalKind.Resistance => Dimension.Resistance,
        SignalKind.Ratio => Dimension.Ratio,
        SignalKind.Current => Dimension.Current,
        _ => null,
    };

    private static void CheckJumper(MovedJumper moved, ImmutableArray<Part> parts, ImmutableArray<string> unread, DiagnosticSink sink)
    {
        string[] movable = [.. parts.Where(p => p is Jumper or Link).Select(p => p.Name.Value)];
        if (parts.FirstOrDefault(p => p.Name.Value == moved.Part.Value) is not { } part)
        {
            if (!unread.Any(u => u == moved.Part.Value || moved.Part.Value.StartsWith(u + ".", StringComparison.Ordinal)))
            {
                sink.Report(
                    Codes.UnknownPart, moved.Part.Span, $"No part is called `{ScalarNode.Short(moved.Part.Value)}`.",
                    movable.Length == 0 ? "a jumper or a link" : Nearest.OneOf(movable), $"`{ScalarNode.Short(moved.Part.Value)}`", Nearest.Mend(moved.Part.Value, movable));
            }

            return;
        }

        string[] positions = part is Jumper jumper ? [.. jumper.Positions.Select(p => p.Name.Value), AdjustmentStep.Opened] : [AdjustmentStep.Opened];
        if (part is not (Jumper or Link))
        {
            sink.Report(
                Codes.UnknownPart, moved.Part.Span, $"The part `{moved.Part.Value}` is no jumper and no link.", movable.Length == 0 ? "a jumper or a link" : Nearest.OneOf(movable),
                "a " + part.Kind, Nearest.Mend(moved.Part.Value, movable));
        }
        else if (!positions.Contains(moved.Position.Value))
        {
            sink.Report(
                Codes.UnknownPosition, moved.Position.Span, $"The {part.Kind} {part.Name.Value} has no position `{ScalarNode.Short(moved.Position.Value)}`.",
                Nearest.OneOf(positions), $"`{ScalarNode.Short(moved.Position.Value)}`", Nearest.Mend(moved.Position.Value, positions));
        }
    }

    private static void CheckAdjustment(
        ImmutableArray<AdjustmentStep> adjustment,
        ImmutableArray<Stage> stages,
        ImmutableArray<Part> parts,
        HashSet<string> nodes,
        Sensor? sensor,
        ImmutableArray<string> unread,
        HashSet<string> mentioned,
        DiagnosticSink sink)
    {
        string[] trimmers = [.. parts.Where(p => p is ITrimmer).Select(p => p.Name.Value)];
        HashSet<string> meters = new(nodes) { Loop.Word };
        meters.UnionWith(stages.OfType<CircuitStage>().SelectMany(s => s.TestPoints).Select(t => t.Name.Value));
        HashSet<string> names = [];
        foreach (AdjustmentStep step in adjustment)
        {
            if (sink.IsFull)
            {
                return;
            }

            if (!names.Add(step.Name.Value))
            {
                sink.Report(Codes.DuplicateName, step.Name.Span, $"Two steps are called `{ScalarNode.Short(step.Name.Value)}`.", "each name once", "the same name again");
            }

            if (!trimmers.Contains(step.Turn.Value))
            {
                bool isPart = parts.Any(p => p.Name.Value == step.Turn.Value);

                // A part that could not be read, or one inside a block that could not, may well be the trimmer.
                if (isPart || !unread.Any(u => u == step.Turn.Value || step.Turn.Value.StartsWith(u + ".", StringComparison.Ordinal)))
                {
                    sink.Report(
                        isPart ? Codes.NotATrimmer : Codes.UnknownPart,
                        step.Turn.Span,
                        isPart ? $"The part `{step.Turn.Value}` is no trimmer." : $"No part is called `{ScalarNode.Short(step.Turn.Value)}`.",
                        trimmers.Length == 0 ? "a trimmer" : Nearest.OneOf(trimmers),
                        isPart ? "a " + parts.First(p => p.Name.Value == step.Turn.Value).Kind : $"`{ScalarNode.Short(step.Turn.Value)}`",
                        Nearest.Mend(step.Turn.Value, trimmers));
                }
            }

            foreach (MovedJumper moved in step.Jumpers)
            {
                CheckJumper(moved, parts, unread, sink);
            }

            if (!meters.Contains(step.Meter.Value))
            {
                sink.Report(
                    Codes.UnknownNode, step.Meter.Span, $"Neither a test point nor a node is called `{ScalarNode.Short(step.Meter.Value)}`.", "a test point, a node or `loop`",
                    $"`{ScalarNode.Short(step.Meter.Value)}`", Nearest.Mend(step.Meter.Value, meters));
            }

            foreach (SetSource source in step.With.Where(s => s.Node.Value != AdjustmentReader.OutputCode))
            {
                if (!nodes.Contains(source.Node.Value))
                {
                    ReportNode(source.Node, nodes.Append(AdjustmentReader.OutputCode), sink);
                    continue;
                }

                // At the sensor's first node the source takes the sensor's place; a node of the sensor takes its kind of signal or a voltage.
                bool isFirst = sensor is { Terminals.Length: > 0 } && sensor.Terminals[0].Node.Value == source.Node.Value;
                bool atSensor = sensor is null ? mentioned.Contains(source.Node.Value) : sensor.Terminals.Any(t => t.Node.Value == source.Node.Value);
                Dimension signal = DimensionOf(sensor?.SignalKind) ?? source.Value.Dimension;
                Dimension given = source.Value.Dimension;
                if (isFirst ? given != signal : given != Dimension.Voltage && !(atSensor && given == signal))
                {
                    sink.Report(
                        Codes.WrongKind, source.Value.Span,
                        isFirst ? $"The source takes the sensor's place, which gives {UnitSets.Noun(signal)}." : "A source at a node gives a voltage.",
                        UnitSets.Noun(isFirst ? signal : Dimension.Voltage), $"`{source.Value.Text}`");
                }
            }
        }
    }
}
