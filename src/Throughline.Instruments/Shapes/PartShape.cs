using System.Collections.Immutable;
using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>
/// Parts, told apart by the key that names their kind. Keys of a map have no order, so a kind whose key is also a plain key of another kind
/// (<c>reference</c> of an instrumentation amplifier) gives way to that one.
/// </summary>
internal sealed class PartShape : Shape
{
    private readonly ImmutableArray<MapShape> _ordered;

    /// <param name="kinds">Each with the key of its own name.</param>
    public PartShape(ImmutableArray<MapShape> kinds)
    {
        Kinds = kinds;

        // A kind comes before those whose name it has as a key; one with open keys may have any.
        _ordered = [.. kinds.OrderByDescending(k => k.Others is not null).ThenByDescending(k => k.Keys.Count(key => key.Name != k.Title && kinds.Any(o => o.Title == key.Name)))];
    }

    public ImmutableArray<MapShape> Kinds { get; }

    public override string Expected => "a part such as { resistor: 10 kΩ ±1 %, between: [a, b] }";

    /// <summary>The kind of a node; null when no key names one.</summary>
    public MapShape? Kind(YamlNode node) => node is MapNode map ? _ordered.FirstOrDefault(k => map[k.Title] is not null) : null;

    public override void Check(YamlNode node, ShapeContext context)
    {
        if (node is not MapNode map)
        {
            WrongType(node, context);
        }
        else if (Kind(node) is { } kind)
        {
            kind.Check(node, context);
        }
        else
        {
            string expected = Nearest.OneOf(Kinds.Select(k => k.Title));
            if (map.Entries.Length == 0)
            {
                context.Sink.Report(Codes.MissingKey, map.Span, "A part needs the key that says what it is.", expected, map.Found);
                return;
            }

            ScalarNode first = map.Entries[0].Key;
            if (Nearest.Of(first.Text, Kinds.Select(k => k.Title)) is { } near && Kinds.First(k => k.Title == near) is { Others: null } meant)
            {
                // Judged as the kind that was meant, so that all its mistakes come out in the same run.
                meant.Check(node, context);
                return;
            }

            context.Sink.Report(
                Codes.UnknownKey, first.Span, $"No kind of part is called `{ScalarNode.Short(first.Text)}`.", expected, first.Found,
                Nearest.Mend(first.Text, Kinds.Select(k => k.Title)));
        }
    }

    public override JsonObject ToSchema(SchemaWriter writer) => writer.Define(this, "part", () =>
    {
        JsonArray rules = [];
        for (int i = 0; i < _ordered.Length; i++)
        {
            MapShape kind = _ordered[i];
            JsonObject condition = new() { ["required"] = new JsonArray(kind.Title) };
            JsonArray earlier = [];
            foreach (MapShape other in _ordered.Take(i).Where(o => o.Others is not null || o[kind.Title] is not null))
            {
                earlier.Add(new JsonObject { ["required"] = new JsonArray(other.Title) });
            }

            if (earlier.Count > 0)
            {
                condition["not"] = new JsonObject { ["anyOf"] = earlier };
            }

            rules.Add(new JsonObject { ["if"] = condition, ["then"] = kind.ToSchema(writer) });
        }

        return new JsonObject
        {
            ["type"] = "object",
            ["anyOf"] = new JsonArray([.. Kinds.Select(k => (JsonNode)new JsonObject { ["required"] = new JsonArray(k.Title) })]),
            ["allOf"] = rules,
        };
    });
}
