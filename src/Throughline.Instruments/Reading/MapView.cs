using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>
/// A map of the file together with its shape, for building the model from it. What is missing or of the wrong shape gives null and is not reported
/// again: the shape's check has done that.
/// </summary>
internal sealed class MapView(MapNode node, MapShape shape, ReadingContext context, BlockScope? scope = null)
{
    private readonly BlockScope _scope = scope ?? BlockScope.Root;
    private readonly ShapeContext _shapes = new(context.Sink);

    public MapNode Map => node;

    public MapShape Shape => shape;

    public SourceSpan Span => _scope.IsRoot ? node.Span : _scope.Instance;

    public ReadingContext Context => context;

    public BlockScope Scope => _scope;

    public bool Has(string key) => node[key] is not null;

    /// <summary>The place of a key's value, of the map when the key is missing.</summary>
    public SourceSpan PlaceOf(string key) => _scope.IsRoot ? node[key]?.Span ?? MapShape.Place(node) : _scope.Instance;

    /// <summary>The node under a key, a block's value put in.</summary>
    public YamlNode? Raw(string key) => node[key] is { } value ? _scope.Resolve(value) : null;

    /// <summary>A quantity; for a place that takes a range as well, the middle with the ends as limits.</summary>
    public Quantity? Quantity(string key) => Parsed(key) is var (parsed, scalar) ? parsed.ToQuantity(scalar.Span, scalar.Text) : null;

    /// <summary>A range; for a place that takes a single value as well, its limits.</summary>
    public QuantityRange? Range(string key) => Parsed(key) is var (parsed, scalar) ? parsed.ToRange(scalar.Span, scalar.Text) : null;

    /// <summary>A quantity of the measurand, in the specification's unit.</summary>
    public Quantity? Measurand(string key) =>
        Parsed(key) is var (parsed, scalar) && context.Measurand is { } measurand ? measurand.Convert(parsed, scalar, context.Sink) : null;

    /// <summary>A range of the measurand, in the specification's unit.</summary>
    public QuantityRange? MeasurandRange(string key) =>
        Measurand(key) is { } q ? new QuantityRange(q.Dimension, q.Low, q.High, q.Span, q.Text) : null;

    /// <summary>A parameter of what is written under a key.</summary>
    public Parameter? Parameter(string owner, string key, string? name = null) =>
        Quantity(key) is { } quantity ? new Parameter(owner, name ?? key, quantity) : null;

    /// <summary>What was read under a key of a quantity, with its node; null when it is no quantity.</summary>
    public (ParsedQuantity Parsed, ScalarNode Node)? Parsed(string key) =>
        Raw(key) is ScalarNode scalar && shape[key]?.Shape.Find<QuantityShape>() is { } quantity ? Parse(scalar, quantity, key) : null;

    /// <summary>A text, as written.</summary>
    public Located<string>? Text(string key) =>
        Raw(key) is ScalarNode { Type: not ScalarType.Null } scalar ? new Located<string>(scalar.Text, scalar.Span) : null;

    /// <summary>One of the words of a key's shape.</summary>
    public Located<string>? Word(string key) =>
        Raw(key) is ScalarNode scalar && shape[key]?.Shape.Find<WordShape>()?.Word(scalar) is { } word ? new Located<string>(word, scalar.Span) : null;

    public int? Integer(string key) =>
        Raw(key) is ScalarNode scalar && shape[key]?.Shape is IntegerShape integer && integer.Accepts(scalar, _shapes) ? (int)scalar.Number : null;

    public double? Number(string key) =>
        Raw(key) is ScalarNode scalar && shape[key]?.Shape is NumberShape number && number.Accepts(scalar, _shapes) ? scalar.Number : null;

    public bool? Flag(string key) =>
        Raw(key) is ScalarNode { Type: ScalarType.Boolean } scalar ? scalar.Text.StartsWith('t') || scalar.Text.StartsWith('T') : null;

    /// <summary>A node.</summary>
    public Located<string>? Node(string key) => node[key] is ScalarNode scalar && IsNode(scalar) ? _scope.Node(scalar) : null;

    /// <summary>A pair of nodes, or a single node without a second.</summary>
    public (Located<string> First, Located<string>? Second)? Nodes(string key) => node[key] switch
    {
        ScalarNode scalar when IsNode(scalar) => (_scope.Node(scalar), null),
        ListNode { Items: [ScalarNode first, ScalarNode second] } when IsNode(first) && IsNode(second) => (_scope.Node(first), _scope.Node(second)),
        _ => null,
    };

    /// <summary>A pair of nodes.</summary>
    public (Located<string> First, Located<string> Second)? Pair(string key) =>
        Nodes(key) is (var first, { } second) ? (first, second) : null;

    /// <summary>A list of nodes of any length.</summary>
    public ImmutableArray<Located<string>> NodeList(string key) =>
        node[key] is ListNode list ? [.. list.Items.OfType<ScalarNode>().Where(IsNode).Select(_scope.Node)] : [];

    /// <summary>The map under a key with its own shape.</summary>
    public MapView? Inner(string key)
    {
        if (Raw(key) is not MapNode map)
        {
            return null;
        }

        Shape? inner = shape[key]?.Shape;
        MapShape? found = inner is KindShape kinds ? kinds.Case(map) : inner?.Find<MapShape>();
        return found is null ? null : new MapView(map, found, context, _scope);
    }

    /// <summary>The entries of a map whose keys and values are quantities, as they were read.</summary>
    public IEnumerable<(ParsedQuantity From, ScalarNode FromNode, ParsedQuantity To, ScalarNode ToNode)> Points(string key)
    {
        if (node[key] is not MapNode map || shape[key]?.Shape.Find<DictionaryShape>() is not { KeyShape: QuantityShape from } points
            || points.Value.Find<QuantityShape>() is not { } to)
        {
            yield break;
        }

        foreach (MapEntry entry in map.Entries)
        {
            if (entry.Value is ScalarNode value && entry.Key.ReadAs(from.Form) is { Problem: null } read && value.ReadAs(to.Form) is { Problem: null } given)
            {
                yield return (read, entry.Key, given, value);
            }
        }
    }

    /// <summary>Reports a mistake of meaning.</summary>
    public void Report(string code, SourceSpan span, string message, string expected, string found, string? mend = null) =>
        context.Sink.Report(code, _scope.IsRoot ? span : _scope.Instance, message, expected, found, mend);

    private (ParsedQuantity, ScalarNode)? Parse(ScalarNode scalar, QuantityShape quantity, string key)
    {
        // What an instance gives for a block's value was not yet judged by what the part makes of it.
        if (!_scope.IsRoot && !ReferenceEquals(node[key], scalar))
        {
            quantity.CheckMeaning(scalar, this);
        }

        return scalar.ReadAs(quantity.Form) is { Problem: null } parsed ? (parsed, scalar) : null;
    }

    private static bool IsNode(ScalarNode scalar) =>
        scalar.Type == ScalarType.Number || (scalar.Type == ScalarType.Text && NameShape.IsName(scalar.Text));
}
