using System.Collections.Frozen;
using System.Collections.Immutable;
using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>A map with known keys.</summary>
/// <param name="title">What it is, such as <c>resistor</c>.</param>
/// <param name="doc">A sentence or two.</param>
internal sealed class MapShape(string title, string doc, params Key[] keys) : Shape
{
    private readonly FrozenDictionary<string, Key> _byName = keys.ToFrozenDictionary(k => k.Name);

    public string Title => title;

    public string Doc => doc;

    public ImmutableArray<Key> Keys { get; } = [.. keys];

    /// <summary>An example as it would be written in the file, for the reference.</summary>
    public string? Example { get; init; }

    /// <summary>Groups of keys of which exactly one is given, and that one whole.</summary>
    public ImmutableArray<ImmutableArray<string>> ExactlyOneOf { get; init; } = [];

    /// <summary>The shape of values under keys that are not named; null when there are none.</summary>
    public Shape? Others { get; init; }

    public override string Expected => $"a map with the keys of {Article(title)}";

    public Key? this[string key] => _byName.GetValueOrDefault(key);

    public override void Check(YamlNode node, ShapeContext context)
    {
        if (node is not MapNode map)
        {
            WrongType(node, context);
            return;
        }

        HashSet<string>? guessed = null;
        foreach (MapEntry entry in map.Entries)
        {
            if (_byName.TryGetValue(entry.Key.Text, out Key? key))
            {
                key.Shape.Check(entry.Value, context);
            }
            else if (Others is not null)
            {
                Others.Check(entry.Value, context);
            }
            else
            {
                string? near = Nearest.Of(entry.Key.Text, Keys.Select(k => k.Name).Where(k => map[k] is null));
                if (near is not null)
                {
                    (guessed ??= []).Add(near);
                    _byName[near].Shape.Check(entry.Value, context);
                }

                context.Sink.Report(
                    Codes.UnknownKey, entry.Key.Span, $"{Capital(Article(title))} has no key `{ScalarNode.Short(entry.Key.Text)}`.",
                    Nearest.OneOf(Keys.Select(k => k.Name)), entry.Key.Found,
                    near is not null ? $"write `{near}`" : IsRestOfValue(entry) ? "inside braces a comma ends the value: leave it out, write a decimal point, or put the value into quotation marks" : null);
            }
        }

        foreach (Key key in Keys)
        {
            if (key.IsRequired && map[key.Name] is null && guessed?.Contains(key.Name) != true)
            {
                ReportMissing(map, key.Name, key.Shape.Expected, context);
            }
        }

        CheckGroups(map, guessed, context);
    }

    /// <summary>Where a map's mistakes that have no place of their own are shown: at its first key.</summary>
    public static SourceSpan Place(MapNode map) => map.Entries.Length > 0 ? map.Entries[0].Key.Span : map.Span;

    public override JsonObject ToSchema(SchemaWriter writer) => writer.Define(this, title, () =>
    {
        JsonObject properties = [];
        foreach (Key key in Keys)
        {
            JsonObject described = key.Shape.ToSchema(writer);
            described["description"] = Plain(key.Doc + (key.Default is null ? "" : $" When left out: {key.Default}."));
            properties[key.Name] = described;
        }

        JsonObject schema = new()
        {
            ["title"] = title,
            ["description"] = Plain(doc),
            ["type"] = "object",
            ["properties"] = properties,
            ["additionalProperties"] = Others is null ? JsonValue.Create(false) : Others.ToSchema(writer),
        };
        if (Keys.Any(k => k.IsRequired))
        {
            schema["required"] = new JsonArray([.. Keys.Where(k => k.IsRequired).Select(k => (JsonNode)k.Name)]);
        }

        if (ExactlyOneOf.Length > 0)
        {
            schema["oneOf"] = new JsonArray([.. ExactlyOneOf.Select((group, i) => (JsonNode)GroupSchema(group, i))]);
        }

        return schema;
    });

    /// <summary>In a flow map, <c>{ offset: 1 mV typ, 2 mV max }</c> is an offset and a strange key without a value.</summary>
    private static bool IsRestOfValue(MapEntry entry) =>
        entry.Value is ScalarNode { Type: ScalarType.Null } && entry.Key.Text.Length > 0 && (char.IsAsciiDigit(entry.Key.Text[0]) || entry.Key.Text[0] == '\u00B1');

    private JsonObject GroupSchema(ImmutableArray<string> group, int index)
    {
        JsonArray excluded = [];
        foreach (string other in ExactlyOneOf.Where((_, i) => i != index).SelectMany(g => g).Where(k => !group.Contains(k)).Distinct())
        {
            excluded.Add(new JsonObject { ["required"] = new JsonArray(other) });
        }

        return new JsonObject
        {
            ["required"] = new JsonArray([.. group.Select(k => (JsonNode)k)]),
            ["not"] = new JsonObject { ["anyOf"] = excluded },
        };
    }

    private void CheckGroups(MapNode map, HashSet<string>? guessed, ShapeContext context)
    {
        if (ExactlyOneOf.Length == 0)
        {
            return;
        }

        List<ImmutableArray<string>> begun = [.. ExactlyOneOf.Where(g => g.Any(k => Has(k)))];
        string choice = string.Join(" or ", ExactlyOneOf.Select(g => string.Join(" with ", g.Select(k => $"`{k}`"))));
        if (begun.Count == 0)
        {
            context.Sink.Report(Codes.MissingKey, Place(map), $"{Capital(Article(title))} needs {choice}.", choice, map.Found);
        }
        else if (begun.Count > 1)
        {
            string second = begun[1].First(k => Has(k));
            SourceSpan place = map.KeyNode(second)?.Span ?? Place(map);
            context.Sink.Report(Codes.KeysTogether, place, $"{Capital(Article(title))} has {choice}, not both.", choice, $"`{second}` beside `{begun[0].First(k => Has(k))}`");
        }
        else
        {
            foreach (string key in begun[0].Where(k => !Has(k)))
            {
                ReportMissing(map, key, _byName[key].Shape.Expected, context);
            }
        }

        bool Has(string key) => map[key] is not null || guessed?.Contains(key) == true;
    }

    private void ReportMissing(MapNode map, string key, string expected, ShapeContext context) =>
        context.Sink.Report(Codes.MissingKey, Place(map), $"{Capital(Article(title))} needs the key `{key}`.", $"`{key}`: {expected}", map.Entries.Length == 0 ? map.Found : "no such key");

    internal static string Article(string noun) => ("aeiou".Contains(char.ToLowerInvariant(noun[0])) ? "an " : "a ") + noun;

    internal static string Capital(string sentence) => char.ToUpperInvariant(sentence[0]) + sentence[1..];

    private static string Plain(string text) => text.Replace("`", "", StringComparison.Ordinal);
}
