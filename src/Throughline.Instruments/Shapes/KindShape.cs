using System.Collections.Immutable;
using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>Maps of several kinds, told apart by the word under one key.</summary>
/// <param name="noun">What they are kinds of, such as <c>sensor</c>.</param>
/// <param name="otherwise">The shape when the key is left out; null when it may not be.</param>
/// <param name="telling">A key that tells one of the shapes when the kind is left out.</param>
internal sealed class KindShape(
    string noun,
    string key,
    ImmutableArray<(string Word, MapShape Shape)> cases,
    MapShape? otherwise = null,
    (string Key, MapShape Shape)? telling = null) : Shape
{
    private readonly WordShape _words = new([.. cases.Select(c => c.Word)]);

    public ImmutableArray<(string Word, MapShape Shape)> Cases => cases;

    public MapShape? Otherwise => otherwise;

    /// <summary>The key that tells the kinds apart, and its words.</summary>
    public (string Key, WordShape Words) Telling => (key, _words);

    public override string Expected => MapShape.Article(noun);

    /// <summary>The shape that a node is judged by; null when it names no kind.</summary>
    public MapShape? Case(YamlNode node)
    {
        if (node is not MapNode map)
        {
            return null;
        }

        if (map[key] is not { } value)
        {
            return telling is { } t && map[t.Key] is not null ? t.Shape : otherwise;
        }

        return value is ScalarNode scalar && _words.Word(scalar) is { } word ? cases.First(c => c.Word == word).Shape : null;
    }

    public override void Check(YamlNode node, ShapeContext context)
    {
        if (node is not MapNode map)
        {
            WrongType(node, context);
        }
        else if (map[key] is null && Misspelt(map) is { } misspelt)
        {
            misspelt.Check(node, context);
        }
        else if (telling is { } meant && map[key] is null && map[meant.Key] is null && Nearest.Of(meant.Key, map.Entries.Select(e => e.Key.Text)) is not null)
        {
            // The telling key itself is misspelt.
            meant.Shape.Check(node, context);
        }
        else if (Case(node) is { } shape)
        {
            shape.Check(node, context);
        }
        else if (map[key] is { } value)
        {
            if (value is ScalarNode scalar && Nearest.Of(scalar.Text, _words.Words) is { } near)
            {
                // Judge the rest by the word that was meant, so that its mistakes come out in the same run; the word itself is reported once.
                DiagnosticSink rest = new();
                cases.First(c => c.Word == near).Shape.Check(node, context with { Sink = rest });
                foreach (Diagnostic d in rest.ToSorted().Where(d => d.Span != value.Span))
                {
                    context.Sink.Report(d.Code, d.Span, d.Message, d.Expected, d.Found, d.Mend);
                }
            }

            _words.Check(value, context);
        }
        else
        {
            context.Sink.Report(Codes.MissingKey, MapShape.Place(map), $"{MapShape.Capital(MapShape.Article(noun))} needs the key `{key}`.", $"`{key}`: {_words.Expected}", map.Entries.Length == 0 ? map.Found : "no such key");
        }
    }

    /// <summary>The kind of a map whose telling key is misspelt: its shape says so, and judges the rest.</summary>
    private MapShape? Misspelt(MapNode map)
    {
        foreach (MapEntry entry in map.Entries)
        {
            if (entry.Value is ScalarNode scalar && _words.Word(scalar) is { } word && Nearest.Of(entry.Key.Text, [key]) is not null)
            {
                return cases.First(c => c.Word == word).Shape;
            }
        }

        return null;
    }

    public override JsonObject ToSchema(SchemaWriter writer) => writer.Define(this, noun, () =>
    {
        JsonArray rules = [];
        foreach ((string word, MapShape shape) in cases)
        {
            rules.Add(new JsonObject
            {
                ["if"] = new JsonObject
                {
                    ["properties"] = new JsonObject { [key] = new WordShape(word).ToSchema(writer) },
                    ["required"] = new JsonArray(key),
                },
                ["then"] = shape.ToSchema(writer),
            });
        }

        JsonObject schema = new() { ["type"] = "object", ["properties"] = new JsonObject { [key] = _words.ToSchema(writer) } };
        if (otherwise is null)
        {
            schema["required"] = new JsonArray(key);
        }
        else
        {
            JsonArray told = [new JsonObject { ["required"] = new JsonArray(key) }];
            if (telling is { } t)
            {
                told.Add(new JsonObject { ["required"] = new JsonArray(t.Key) });
                rules.Add(new JsonObject
                {
                    ["if"] = new JsonObject { ["required"] = new JsonArray(t.Key), ["not"] = new JsonObject { ["required"] = new JsonArray(key) } },
                    ["then"] = t.Shape.ToSchema(writer),
                });
            }

            rules.Add(new JsonObject
            {
                ["if"] = new JsonObject { ["not"] = new JsonObject { ["anyOf"] = told } },
                ["then"] = otherwise.ToSchema(writer),
            });
        }

        schema["allOf"] = rules;
        return schema;
    });
}
