using System.Collections.Immutable;
using System.Reflection;

namespace Throughline.Instruments;

/// <summary>Grades and blocks by name: the generic ones and the user's, of which the later takes the place of the earlier of the same name.</summary>
internal sealed class PartsLibrary
{
    private static readonly Lazy<PartsLibrary> GenericLibrary = new(ReadGeneric);

    private readonly Dictionary<(string Kind, string Name), MapNode> _grades;
    private readonly Dictionary<string, Block> _blocks;

    private PartsLibrary(Dictionary<(string, string), MapNode> grades, Dictionary<string, Block> blocks, PriceTable prices)
    {
        _grades = grades;
        _blocks = blocks;
        Prices = prices;
    }

    /// <summary>A parts file.</summary>
    public static readonly MapShape Shape = new(
        "parts file",
        "Grades of parts, blocks of your own, and prices. A grade or block of a generic one's name takes its place.",
        Key.Optional(
            "grades",
            new MapShape(
                "grades",
                "Grades by kind of part, then by name.",
                [.. Grades.All.Select(g => Key.Optional(
                    g.Kind, new DictionaryShape($"grades of {g.Kind} by name", new TextShape("a grade's name"), g.Shape), $"Grades of {g.Kind}."))]),
            "Grades."),
        Key.Optional(
            "blocks", new DictionaryShape("blocks by name", new TextShape("a block's name"), Instruments.Block.Definition), "Blocks."),
        Key.Optional("prices", CostReader.Prices, "Prices of what has no grade."));

    /// <summary>What comes with the tool. Parsed once.</summary>
    public static PartsLibrary Generic => GenericLibrary.Value;

    /// <summary>Prices of what has no grade.</summary>
    public PriceTable Prices { get; }

    public IReadOnlyCollection<string> BlockNames => [.. _blocks.Keys.Order(StringComparer.Ordinal)];

    public MapNode? Grade(string kind, string name) => _grades.GetValueOrDefault((kind, name));

    public Block? Block(string name) => _blocks.GetValueOrDefault(name);

    public IReadOnlyCollection<string> GradeNames(string kind) =>
        [.. _grades.Keys.Where(k => k.Kind == kind).Select(k => k.Name).Order(StringComparer.Ordinal)];

    /// <summary>This library with a parts file's grades and blocks in front.</summary>
    public PartsLibrary With(YamlNode root, DiagnosticSink sink)
    {
        Shape.Check(root, new ShapeContext(sink));
        if (root is not MapNode map)
        {
            return this;
        }

        Dictionary<(string, string), MapNode> grades = new(_grades);
        Dictionary<string, Block> blocks = new(_blocks);
        foreach ((string kind, _) in Grades.All)
        {
            if ((map["grades"] as MapNode)?[kind] is not MapNode named)
            {
                continue;
            }

            foreach (MapEntry entry in named.Entries)
            {
                if (entry.Value is MapNode grade)
                {
                    grades[(kind, entry.Key.Text)] = grade;
                }
            }
        }

        if (map["blocks"] is MapNode definitions)
        {
            foreach (MapEntry entry in definitions.Entries)
            {
                if (Instruments.Block.Read(entry.Key.Text, entry.Value) is { } block)
                {
                    blocks[entry.Key.Text] = block;
                }
            }
        }

        return new PartsLibrary(grades, blocks, map["prices"] is MapNode prices ? CostReader.ReadPrices(Prices, prices, sink) : Prices);
    }

    private static PartsLibrary ReadGeneric()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream("generic-parts.yaml")
            ?? throw new InvalidOperationException("The generic parts library is not in the assembly.");
        using StreamReader reader = new(stream);
        SourceText source = new("generic-parts.yaml", reader.ReadToEnd());
        DiagnosticSink sink = new();
        PartsLibrary library = new([], [], PriceTable.Empty);
        if (YamlReader.Read(source, sink) is { } root)
        {
            library = library.With(root, sink);
        }

        return sink.Count == 0 ? library : throw new InvalidOperationException($"The generic parts library has a mistake: {sink.ToSorted()[0]}");
    }
}
