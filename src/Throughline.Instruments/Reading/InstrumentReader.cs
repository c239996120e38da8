using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads instrument files.</summary>
public static class InstrumentReader
{
    /// <summary>The parts file that is read without being named.</summary>
    internal const string PartsFileName = "parts.yaml";

    /// <summary>Reads a file and the parts files beside it. Never throws for what the user wrote or for a file that can't be read.</summary>
    public static Parsed<Instrument> ReadFile(string path)
    {
        DiagnosticSink sink = new();
        SourceText? source = SourceFile.Read(path, path, sink);
        return source is null
            ? new Parsed<Instrument>(null, sink.ToSorted())
            : Read(source, sink, Path.GetDirectoryName(Path.GetFullPath(path)));
    }

    /// <summary>Reads a text; parts files are looked for in <paramref name="folder"/>, none when null.</summary>
    public static Parsed<Instrument> ReadText(string name, string text, string? folder = null) =>
        Read(new SourceText(name, text), new DiagnosticSink(), folder);

    private static Parsed<Instrument> Read(SourceText source, DiagnosticSink sink, string? folder)
    {
        if (SourceFile.IsTooLarge(source, sink) || YamlReader.Read(source, sink) is not { } root)
        {
            return new Parsed<Instrument>(null, sink.ToSorted());
        }

        InstrumentShape.Root.Check(root, new ShapeContext(sink));
        Instrument? instrument = root is MapNode map ? Build(map, source, sink, folder) : null;
        if (sink.Count > 0)
        {
            return new Parsed<Instrument>(null, sink.ToSorted());
        }

        FileFacts.Hold(source, root);
        return new Parsed<Instrument>(instrument, []);
    }

    private static Instrument? Build(MapNode map, SourceText source, DiagnosticSink sink, string? folder)
    {
        ReadingContext context = new(sink) { Library = LibraryReader.Read(map, source, sink, folder) };
        MapView root = new(map, InstrumentShape.Root, context);
        Specification? specification = root.Inner("specification") is { } section ? SpecificationReader.Read(section) : null;
        Sensor? sensor = SensorKinds.Read(root, "sensor");

        // Nodes of what could not be read: their loss must not make further mistakes.
        HashSet<string> mentioned = [];
        if (sensor is null && map["sensor"] is { } unread)
        {
            Mention(unread, mentioned);
        }

        ImmutableArray<Supply> supplies = map["supplies"] is MapNode supplyMap ? SupplyReader.Read(supplyMap, context, mentioned) : [];
        IsolationNeeds? isolation = root.Inner("isolation") is { } isolationMap ? IsolationReader.Read(isolationMap) : null;
        ImmutableArray<ResistorNetwork> networks = map["networks"] is MapNode networkMap ? NetworkReader.Read(networkMap, context) : [];
        ImmutableArray<Stage> stages = map["stages"] is ListNode stageList ? StageReader.Read(stageList, context, mentioned) : [];
        BenchSection bench = root.Inner("bench") is { } benchMap ? BenchReader.Read(benchMap) : BenchSection.None;
        context.Output = OutputAgreement.SignalOf(map);
        Loop? loop = root.Inner("loop") is { } loopMap ? LoopReader.Read(loopMap, bench) : null;
        Loop? voltage = root.Inner("voltage output") is { } voltageMap ? VoltageOutputReader.Read(voltageMap, bench) : null;
        loop ??= voltage;
        Calibration? calibration = root.Inner("calibration") is { } calibrationMap ? CalibrationReader.Read(calibrationMap) : null;
        ImmutableArray<AdjustmentStep> adjustment = map["adjustment"] is ListNode steps ? AdjustmentReader.Read(steps, context, bench) : [];
        SpreadSection spread = root.Inner("spread") is { } spreadMap ? SpreadReader.Read(spreadMap) : SpreadSection.None;
        CostSection? cost = root.Inner("cost") is { } costMap ? CostReader.Read(costMap) : null;
        MemorySection? memory = root.Inner("memory") is { } memoryMap ? MemoryReader.Read(memoryMap) : null;
        PanelSection? panel = root.Inner("panel") is { } panelMap ? PanelReader.Read(panelMap) : null;
        OutputAgreement.Check(map, context);
        MeaningChecks.Run(map, sensor, supplies, isolation, stages, loop, calibration, adjustment, mentioned, sink);
        NetworkReader.CheckUse(map, stages, context);
        SpreadReader.CheckNames(map, sensor, supplies, stages, loop, calibration, bench, adjustment, sink);
        if (specification is null || sensor is null || root.Text("instrument") is not { } name)
        {
            return null;
        }

        return new Instrument
        {
            Name = name,
            Revision = root.Text("revision"),
            Specification = specification,
            Sensor = sensor,
            Supplies = supplies,
            Isolation = isolation,
            Networks = networks,
            Stages = stages,
            Loop = loop,
            Calibration = calibration,
            Adjustment = adjustment,
            Spread = spread,
            Bench = bench,
            Cost = cost,
            Prices = context.Library.Prices,
            Memory = memory,
            Panel = panel,
            Source = source,
            Span = new SourceSpan(source, 0, source.Content.Length),
        };
    }

    /// <summary>Collects every text of a node.</summary>
    internal static void Mention(YamlNode node, HashSet<string> mentioned)
    {
        switch (node)
        {
            case ScalarNode scalar:
                mentioned.Add(scalar.Text);
                break;
            case ListNode list:
                foreach (YamlNode item in list.Items)
                {
                    Mention(item, mentioned);
                }

                break;
            case MapNode map:
                foreach (MapEntry entry in map.Entries)
                {
                    Mention(entry.Value, mentioned);
                }

                break;
        }
    }
}
