using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads the supplies.</summary>
internal static class SupplyReader
{
    private static readonly ImmutableArray<(string Word, SupplyKind Kind, string Doc, bool HasFrom, bool NeedsReturn)> Kinds =
    [
        ("dc", SupplyKind.Dc, "A voltage from outside.", false, true),
        ("battery", SupplyKind.Battery, "A battery.", false, true),
        ("linear regulator", SupplyKind.LinearRegulator, "A linear regulator.", true, false),
        ("switching converter", SupplyKind.SwitchingConverter, "A switching converter with the return of what feeds it.", true, false),
        ("charge pump", SupplyKind.ChargePump, "A charge pump.", true, false),
        ("isolated converter", SupplyKind.IsolatedConverter, "A converter whose output has a return of its own.", true, true),
    ];

    public static readonly KindShape Supply = new("supply", "kind", [.. Kinds.Select(k => (k.Word, ShapeOf(k.Word, k.Doc, k.HasFrom, k.NeedsReturn)))]);

    public static readonly DictionaryShape Shape = new(
        "supplies by name such as { A5: { kind: linear regulator, from: input, voltage: 5.0 V ±2 % } }", new NameShape("a supply's name, which is also its node"), Supply);

    /// <summary>Reads what can be read; the names of the rest are nodes all the same.</summary>
    public static ImmutableArray<Supply> Read(MapNode node, ReadingContext context, HashSet<string> mentioned)
    {
        Dictionary<string, MapView> views = [];
        foreach (MapEntry entry in node.Entries)
        {
            if (Supply.Case(entry.Value) is { } shape)
            {
                views[entry.Key.Text] = new MapView((MapNode)entry.Value, shape, context);
            }
        }

        ReportRings(node, views, context.Sink);
        Dictionary<string, Located<string>?> returns = [];
        ImmutableArray<Supply>.Builder supplies = ImmutableArray.CreateBuilder<Supply>();
        foreach (MapEntry entry in node.Entries)
        {
            mentioned.Add(entry.Key.Text);
            if (!views.TryGetValue(entry.Key.Text, out MapView? view))
            {
                continue;
            }

            if (view.Node("return") is { } own)
            {
                mentioned.Add(own.Value);
            }

            if (view.Node("from") is { } from && node[from.Value] is null)
            {
                if (context.Sink.IsFull)
                {
                    continue;
                }

                IEnumerable<string> known = node.Entries.Select(e => e.Key.Text);
                context.Sink.Report(
                    Codes.UnknownSupply, from.Span, $"No supply is called `{ScalarNode.Short(from.Value)}`.", Nearest.OneOf(known),
                    $"`{ScalarNode.Short(from.Value)}`", Nearest.Mend(from.Value, known));
                continue;
            }

            if (FindReturn(entry.Key, views, returns) is { } @return && view.Parameter(entry.Key.Text, "voltage") is { } voltage)
            {
                supplies.Add(new Supply
                {
                    Name = new Located<string>(entry.Key.Text, entry.Key.Span),
                    Kind = Kinds.First(k => k.Word == view.Shape.Title).Kind,
                    KindWord = view.Shape.Title,
                    From = view.Node("from"),
                    Voltage = voltage,
                    Return = @return,
                    Limit = view.Quantity("limit"),
                    Dropout = view.Quantity("dropout"),
                    Junction = view.Quantity("junction"),
                    Efficiency = view.Quantity("efficiency"),
                    Withstands = view.Quantity("withstands"),
                    Span = view.Span,
                });
            }
        }

        return supplies.ToImmutable();
    }

    /// <summary>Its own return, or that of the first supply up the chain that states one.</summary>
    /// <param name="known">What earlier walks have found, so that a long chain is walked once.</param>
    private static Located<string>? FindReturn(
        ScalarNode name, Dictionary<string, MapView> views, Dictionary<string, Located<string>?> known)
    {
        List<string> passed = [];
        HashSet<string> onTheWay = [];
        Located<string>? found = null;
        string at = name.Text;
        while (!known.TryGetValue(at, out found) && views.TryGetValue(at, out MapView? view))
        {
            passed.Add(at);
            if (!onTheWay.Add(at))
            {
                break;
            }

            if (view.Node("return") is { } own)
            {
                found = own;
                break;
            }

            if (view.Node("from") is not { } from)
            {
                break;
            }

            at = from.Value;
        }

        foreach (string supply in passed)
        {
            known[supply] = found;
        }

        return found;
    }

    /// <summary>Reports every ring of supplies once, whether or not they state returns of their own.</summary>
    private static void ReportRings(MapNode node, Dictionary<string, MapView> views, DiagnosticSink sink)
    {
        HashSet<string> done = [];
        foreach (MapEntry entry in node.Entries)
        {
            HashSet<string> onTheWay = [];
            string before = entry.Key.Text;
            string? at = before;
            while (at is not null && !done.Contains(at) && views.TryGetValue(at, out MapView? view))
            {
                if (!onTheWay.Add(at))
                {
                    sink.Report(
                        Codes.Recursion, entry.Key.Span, $"The supply `{ScalarNode.Short(entry.Key.Text)}` feeds itself.", "a chain of supplies that begins outside",
                        $"`{ScalarNode.Short(at)}` from `{ScalarNode.Short(before)}`");
                    break;
                }

                before = at;
                at = view.Node("from")?.Value;
            }

            done.UnionWith(onTheWay);
        }
    }

    private static MapShape ShapeOf(string word, string doc, bool hasFrom, bool needsReturn)
    {
        List<Key> keys = [Key.Kind(word), Key.Required("voltage", Shapes.Voltage, "Voltage above its return; negative for a negative rail.")];
        if (hasFrom)
        {
            keys.Add(Key.Required("from", Shapes.Node, "The supply that feeds it."));
        }

        keys.Add(needsReturn
            ? Key.Required("return", Shapes.Node, "The node of its return.")
            : Key.Optional("return", Shapes.Node, "The node of its return.", "that of the supply that feeds it"));
        keys.AddRange(
        [
            Key.Optional("limit", Shapes.Quantity(UnitSets.Current, f => f.Positive()), "Greatest current."),
            Key.Optional("dropout", Shapes.Quantity(UnitSets.Voltage), "Least voltage between input and output."),
            Key.Optional("junction", Shapes.Quantity(UnitSets.ThermalResistance), "Thermal resistance from junction to ambient."),
            Key.Optional("efficiency", Shapes.Quantity(UnitSets.Percent, f => f.Positive() with { Greatest = 1 }), "Output power over input power."),
            Key.Optional("withstands", Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Isolation voltage."),
        ]);
        return new MapShape(word, doc, [.. keys]);
    }
}
