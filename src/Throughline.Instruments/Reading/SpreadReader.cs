using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads how values lie between their limits.</summary>
internal static class SpreadReader
{
    private static readonly SpreadTextShape Text = new();

    public static readonly MapShape Shape = new(
        "spread",
        "How the values of many units lie between their limits.",
        Key.Optional("values", Text, "Of every value that nothing else is said about.", "rectangular"),
        Key.Optional("drifts", Text, "Of every change per kelvin.", "rectangular"),
        Key.Optional("conditions", Text, "Of temperatures, load and supplies from outside over their rated ranges.", "rectangular"),
        Key.Optional(
            "of",
            new DictionaryShape("spreads by name such as { R1: normal 3 σ, sensor slope: triangular }", new TextShape("a name"), Text),
            "Of single parts, values or conditions, by their names."))
    {
        Example = "spread: { values: sorted normal 2 σ, drifts: normal 3 σ, of: { R1: triangular, sensor slope: normal 2 σ, ambient temperature: arcsine } }",
    };

    public static SpreadSection Read(MapView map)
    {
        ImmutableDictionary<string, Spread>.Builder named = ImmutableDictionary.CreateBuilder<string, Spread>();
        foreach (MapEntry entry in map.Raw("of") is MapNode node ? node.Entries : [])
        {
            if (ReadOne(entry.Value) is { } spread)
            {
                named[entry.Key.Text] = spread;
            }
        }

        return new SpreadSection
        {
            Values = ReadOne(map.Raw("values")) ?? Spread.Rectangular,
            Drifts = ReadOne(map.Raw("drifts")) ?? Spread.Rectangular,
            Conditions = ReadOne(map.Raw("conditions")) ?? Spread.Rectangular,
            Named = named.ToImmutable(),
            Span = map.Span,
        };
    }

    /// <summary>Reports names under <c>of</c> that belong to nothing.</summary>
    public static void CheckNames(
        MapNode root, Sensor? sensor, ImmutableArray<Supply> supplies, ImmutableArray<Stage> stages, Loop? loop, Calibration? calibration,
        BenchSection bench, ImmutableArray<AdjustmentStep> adjustment, DiagnosticSink sink)
    {
        if (root["spread"] is not MapNode section || section["of"] is not MapNode written)
        {
            return;
        }

        List<string> owners = [];
        List<string> values = [];
        foreach (Parameter parameter in Instrument.ParametersOf(sensor, supplies, stages, loop, calibration, bench, adjustment))
        {
            owners.AddRange(SpreadSection.NamesOf(parameter.Owner));
            values.Add(parameter.ToString());
        }

        string[] plain = [.. owners, .. values, .. SpreadSection.ConditionNames];
        HashSet<string> known = [.. plain, .. owners.Concat(values).Select(n => n + SpreadSection.Drift)];
        ImmutableArray<Part> parts = [.. stages.OfType<CircuitStage>().SelectMany(s => s.Parts)];
        ImmutableArray<string> unread = UnreadOwners(root, sensor, supplies, stages, parts, loop, calibration, known);
        foreach (ScalarNode name in written.Entries.Select(e => e.Key))
        {
            bool mayBeUnread = unread.Any(u => name.Text.StartsWith(u, StringComparison.Ordinal) && (name.Text.Length == u.Length || name.Text[u.Length] is ' ' or '.'));
            if (!sink.IsFull && !known.Contains(name.Text) && !mayBeUnread)
            {
                // A part without a number, such as a jumper, is no misspelling of another part.
                bool isPart = parts.Any(p => p.Name.Value == name.Text);
                string? owner = owners.Where(o => name.Text.StartsWith(o + " ", StringComparison.Ordinal)).MaxBy(o => o.Length);
                sink.Report(
                    Codes.UnknownPart, name.Span, isPart ? $"Nothing of `{name.Text}` may spread." : $"Nothing whose value may spread is called `{ScalarNode.Short(name.Text)}`.",
                    "a part, a block, a supply, a stage, `sensor`, `loop`, `calibration`, one of their values such as `R1 resistance`, or a condition", name.Found,
                    isPart ? null : Nearest.Mend(name.Text, owner is null ? known : known.Where(k => k.StartsWith(owner + " ", StringComparison.Ordinal))));
            }
        }
    }

    private static Spread? ReadOne(YamlNode? node) => node is ScalarNode scalar ? SpreadTextShape.Read(scalar) : null;

    /// <summary>Owners that are written and could not be read: their loss must not make further mistakes.</summary>
    private static ImmutableArray<string> UnreadOwners(
        MapNode root, Sensor? sensor, ImmutableArray<Supply> supplies, ImmutableArray<Stage> stages, ImmutableArray<Part> parts, Loop? loop, Calibration? calibration,
        HashSet<string> known)
    {
        IEnumerable<string> writtenStages = (root["stages"] as ListNode)?.Items.OfType<MapNode>().SelectMany(s => s.Entries).Select(e => e.Key.Text) ?? [];
        IEnumerable<string> writtenSupplies = (root["supplies"] as MapNode)?.Entries.Select(e => e.Key.Text) ?? [];
        return
        [
            .. MeaningChecks.UnreadParts(root, parts).Where(u => !known.Contains(u)),
            .. writtenStages.Except(stages.Select(s => s.Name.Value)),
            .. writtenSupplies.Except(supplies.Select(s => s.Name.Value)),
            .. sensor is null ? [Sensor.ElementName] : (string[])[],
            .. loop is null && root["loop"] is not null ? ["loop"] : (string[])[],
            .. loop is null && root["voltage output"] is not null ? [Loop.VoltageOwner] : (string[])[],
            .. calibration is not { Standards.Length: > 0 } && root["calibration"] is not null ? [Calibration.Owner] : (string[])[],
        ];
    }
}
