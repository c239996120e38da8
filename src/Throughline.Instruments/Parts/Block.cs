using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>A reusable circuit with named terminals and values.</summary>
internal sealed record Block(string Name, ImmutableArray<string> Terminals, ImmutableArray<(string Name, string Unit)> Values, MapNode Parts)
{
    /// <summary>Parts of one instrument after its blocks are put in; more is a slip or an attack.</summary>
    public const int MostParts = 5000;

    private const int MostLevels = 16;

    private const string GradeWord = "grade";

    private static readonly ImmutableArray<(string Word, QuantityShape Shape)> Units =
    [
        ("Ω", Value(UnitSets.Resistance)),
        ("Ohm", Value(UnitSets.Resistance)),
        ("F", Value(UnitSets.Capacitance)),
        ("H", Value(UnitSets.Inductance)),
        ("V", Value(UnitSets.Voltage)),
        ("A", Value(UnitSets.Current)),
        ("s", Value(UnitSets.Time)),
        ("Hz", Value(UnitSets.Frequency)),
        ("K", Value(UnitSets.TemperatureDifference)),
        ("%", Value(UnitSets.Percent)),
        ("V/V", Value(UnitSets.Gain)),
    ];

    /// <summary>A block in use: its keys are its own terminals and values, which only its definition knows.</summary>
    public static readonly MapShape Shape = new(
        "block",
        "A circuit from the parts library, with its terminals and values as further keys. Its parts are called NAME.R1, its inner nodes NAME.x.",
        Key.Required("block", Shapes.Text, "Name of the block."))
    {
        Others = new TextShape("a node or a value"),
        Example = "F1: { block: rc filter, in: amp, out: adc, common: 0V, R: 10 kΩ ±1 %, C: 1 µF ±10 % }",
    };

    /// <summary>A block's definition.</summary>
    public static readonly MapShape Definition = new(
        "block definition",
        "A circuit with named terminals and values. Inside, `=NAME` stands for a value, a terminal's name for what it is connected to.",
        Key.Required("terminals", new ListShape(Shapes.Node, 1), "Names of its terminals."),
        Key.Optional(
            "values",
            new DictionaryShape(
                "values with their units such as { R: Ω, C: F }",
                new PatternShape("a value's name: a letter, then letters, digits and _", "[A-Za-z][A-Za-z0-9_]*", IsValueName),
                new WordShape([.. Units.Select(u => u.Word), GradeWord])),
            "Its values and their units; `grade` for the name of a grade."),
        Key.Required("parts", new TemplateShape(new DictionaryShape("parts by name", new NameShape("a part's name"), PartShape, 1)), "Its parts."));

    // PartKinds needs Shape above, which must be there first.
    private static Shape PartShape => new LateShape(() => PartKinds.Shape);

    /// <summary>Reads a checked definition; null when it isn't whole.</summary>
    public static Block? Read(string name, YamlNode node)
    {
        if (node is not MapNode map || map["terminals"] is not ListNode terminals || map["parts"] is not MapNode parts)
        {
            return null;
        }

        MapNode? values = map["values"] as MapNode;
        return new Block(
            name,
            [.. terminals.Items.OfType<ScalarNode>().Select(t => t.Text)],
            values is null ? [] : [.. values.Entries.Where(e => e.Value is ScalarNode).Select(e => (e.Key.Text, ((ScalarNode)e.Value).Text))],
            parts);
    }

    /// <summary>The parts that an instance consists of.</summary>
    /// <param name="path">Names of the blocks that the instance is inside.</param>
    public static void Expand(Located<string> instance, MapView map, ImmutableArray<string> path, List<Part> parts, HashSet<string> mentioned)
    {
        if (map.Text("block") is not { } name)
        {
            return;
        }

        if (map.Context.Library.Block(name.Value) is not { } block)
        {
            IReadOnlyCollection<string> known = map.Context.Library.BlockNames;
            map.Report(
                Codes.UnknownBlock, name.Span, $"The parts library has no block `{ScalarNode.Short(name.Value)}`.", Nearest.OneOf(known),
                $"`{ScalarNode.Short(name.Value)}`", Nearest.Mend(name.Value, known));
            return;
        }

        if (path.Contains(block.Name))
        {
            map.Report(
                Codes.Recursion, name.Span, $"The block `{block.Name}` is made of itself.", "a block made of parts and of other blocks",
                string.Join(" → ", path.Add(block.Name).Select(p => $"`{p}`")));
            return;
        }

        // A block that holds ten of a kind that holds ten more makes many from little, even when it makes no parts in the end.
        if (path.Length >= MostLevels || map.Context.BlocksUsed++ >= MostParts)
        {
            map.Report(
                Codes.Recursion, name.Span, "The blocks are inside each other too often.",
                FormattableString.Invariant($"at most {MostLevels} levels and {MostParts} blocks in all"), "more");
            return;
        }

        if (block.Bind(instance, map) is { } scope)
        {
            PartReader.Read(block.Parts, map.Context, scope, path.Add(block.Name), parts, mentioned);
        }
    }

    private BlockScope? Bind(Located<string> instance, MapView map)
    {
        ImmutableDictionary<string, Located<string>>.Builder terminals = ImmutableDictionary.CreateBuilder<string, Located<string>>();
        ImmutableDictionary<string, YamlNode>.Builder values = ImmutableDictionary.CreateBuilder<string, YamlNode>();
        string[] keys = [.. Terminals, .. Values.Select(v => v.Name)];
        bool whole = true;
        HashSet<string> guessed = [];
        foreach (MapEntry entry in map.Map.Entries)
        {
            if (entry.Key.Text != "block" && !keys.Contains(entry.Key.Text))
            {
                string? near = Nearest.Of(entry.Key.Text, keys.Where(k => !map.Has(k)));
                guessed.Add(near ?? "");
                whole = false;
                map.Report(
                    Codes.UnknownValue, entry.Key.Span, $"The block `{Name}` has neither a terminal nor a value `{ScalarNode.Short(entry.Key.Text)}`.",
                    Nearest.OneOf(keys), entry.Key.Found, near is null ? null : $"write `{near}`");
            }
        }

        foreach (string key in keys.Where(k => !map.Has(k)))
        {
            whole = false;
            if (!guessed.Contains(key))
            {
                map.Report(Codes.Missing, map.PlaceOf("block"), $"The block `{Name}` needs its {(Terminals.Contains(key) ? "terminal" : "value")} `{key}`.", $"`{key}`", "no such key");
            }
        }

        foreach (string terminal in Terminals.Where(map.Has))
        {
            if (map.Node(terminal) is { } node)
            {
                terminals[terminal] = node;
            }
            else
            {
                whole = false;
                map.Report(Codes.UnknownNode, map.PlaceOf(terminal), $"The terminal `{terminal}` is connected to a node.", "a node: letters, digits, _ + . -", map.Map[terminal]!.Found);
            }
        }

        foreach ((string value, string unit) in Values.Where(v => map.Has(v.Name)))
        {
            YamlNode given = map.Raw(value)!;
            values[value] = given;
            QuantityShape? shape = Units.FirstOrDefault(u => u.Word == unit).Shape;
            if (shape is not null && given is ScalarNode scalar && !shape.CheckMeaning(scalar, map))
            {
                whole = false;
            }
        }

        return whole
            ? new BlockScope(
                instance.Value + ".", terminals.ToImmutable(), values.ToImmutable(), map.Scope.IsRoot ? map.Map.Span : map.Scope.Instance, map.Scope.Depth + 1)
            : null;
    }

    private static QuantityShape Value(UnitSet units) =>
        Throughline.Instruments.Shapes.Quantity(units, f => (f with { Bare = units == UnitSets.Gain }).AsInDataSheet().WithSign().OrRange());

    private static bool IsValueName(string text) => QuantityShape.IsPlaceholder(new ScalarNode(default, "=" + text, false));
}
