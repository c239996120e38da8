using System.Collections.Immutable;
using System.Globalization;
using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>A list.</summary>
internal sealed class ListShape(Shape item, int least = 0, int most = int.MaxValue) : Shape
{
    public Shape Item => item;

    public override string Expected => (least, most) switch
    {
        (2, 2) when item is NameShape => "a pair of nodes such as [a, b]",
        var (l, m) when l == m => string.Create(CultureInfo.InvariantCulture, $"a list of {l}, each {item.Expected}"),
        _ => $"a list, each entry {item.Expected}",
    };

    public override void Check(YamlNode node, ShapeContext context)
    {
        if (node is not ListNode list)
        {
            WrongType(node, context);
            return;
        }

        if (list.Items.Length < least || list.Items.Length > most)
        {
            string count = least == most ? $"{QuantityText.Integer(least)}" : list.Items.Length < least ? $"at least {QuantityText.Integer(least)}" : $"at most {QuantityText.Integer(most)}";
            context.Sink.Report(
                Codes.WrongLength, list.Span, $"Expected {count} {(least == 1 && most == 1 ? "entry" : "entries")}, found {QuantityText.Integer(list.Items.Length)}.", Expected,
                list.Items.Length == 1 ? "1 entry" : string.Create(CultureInfo.InvariantCulture, $"{list.Items.Length} entries"));
        }

        foreach (YamlNode entry in list.Items)
        {
            item.Check(entry, context);
        }
    }

    public override JsonObject ToSchema(SchemaWriter writer)
    {
        JsonObject schema = new() { ["type"] = "array", ["items"] = item.ToSchema(writer) };
        if (least > 0)
        {
            schema["minItems"] = least;
        }

        if (most < int.MaxValue)
        {
            schema["maxItems"] = most;
        }

        return schema;
    }
}

/// <summary>A map whose keys the user names: parts, supplies, points of a scale.</summary>
internal sealed class DictionaryShape(string expected, ScalarShape key, Shape value, int least = 0, int most = int.MaxValue) : Shape
{
    public override string Expected => expected;

    public ScalarShape KeyShape => key;

    public Shape Value => value;

    public override void Check(YamlNode node, ShapeContext context)
    {
        if (node is not MapNode map)
        {
            WrongType(node, context);
            return;
        }

        if (map.Entries.Length < least || map.Entries.Length > most)
        {
            string count = least == most ? QuantityText.Integer(least) : map.Entries.Length < least ? $"at least {QuantityText.Integer(least)}" : $"at most {QuantityText.Integer(most)}";
            context.Sink.Report(
                Codes.WrongLength, map.Entries.Length > 0 ? map.Entries[Math.Min(map.Entries.Length - 1, most)].Key.Span : map.Span,
                $"Expected {count} {(least == 1 && most == 1 ? "entry" : "entries")}, found {QuantityText.Integer(map.Entries.Length)}.", expected,
                $"{QuantityText.Integer(map.Entries.Length)} {(map.Entries.Length == 1 ? "entry" : "entries")}");
        }

        foreach (MapEntry entry in map.Entries)
        {
            key.Check(entry.Key, context);
            value.Check(entry.Value, context);
        }
    }

    public override JsonObject ToSchema(SchemaWriter writer)
    {
        JsonObject schema = new() { ["type"] = "object", ["propertyNames"] = key.ToSchema(writer), ["additionalProperties"] = value.ToSchema(writer) };
        if (least > 0)
        {
            schema["minProperties"] = least;
        }

        if (most < int.MaxValue)
        {
            schema["maxProperties"] = most;
        }

        return schema;
    }
}

/// <summary>One of several shapes: any number of scalars, at most one list and at most one map among them.</summary>
internal sealed class EitherShape(params Shape[] alternatives) : Shape
{
    public ImmutableArray<Shape> Alternatives { get; } = [.. alternatives];

    public override string Expected => string.Join(" or ", Alternatives.Select(a => a.Expected));

    public override void Check(YamlNode node, ShapeContext context)
    {
        List<Shape> fitting = [.. Alternatives.Where(a => Takes(a, node))];
        if (node is ScalarNode scalar)
        {
            foreach (Shape shape in fitting)
            {
                if (((ScalarShape)shape).Accepts(scalar, context))
                {
                    shape.Check(scalar, context);
                    return;
                }
            }
        }

        if (fitting.Count == 1)
        {
            fitting[0].Check(node, context);
        }
        else
        {
            WrongType(node, context);
        }
    }

    public override JsonObject ToSchema(SchemaWriter writer) => new()
    {
        ["anyOf"] = new JsonArray([.. Alternatives.Select(a => (JsonNode)a.ToSchema(writer))]),
    };

    public override T? Find<T>()
        where T : class => this as T ?? Alternatives.Select(a => a.Find<T>()).FirstOrDefault(s => s is not null);

    private static bool Takes(Shape shape, YamlNode node) => node switch
    {
        ScalarNode => shape is ScalarShape,
        ListNode => shape is ListShape,
        _ => shape is MapShape or DictionaryShape or KindShape or PartShape,
    };
}
