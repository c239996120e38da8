using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads prices and what the instrument may cost.</summary>
internal static class CostReader
{
    private static readonly QuantityShape Class = Shapes.Quantity(UnitSets.Percent, f => f.WithDrift().OnlyTolerance().Saying("a class such as ±1 % ±100 ppm/K"));

    private static readonly DictionaryShape Classes = new("prices by class such as { ±5 %: 0.004, ±1 % ±100 ppm/K: 0.006 }", Class, PriceReader.Price, 1);

    /// <summary>Kinds of parts that are bought by tolerance.</summary>
    private static readonly string[] ByTolerance = ["resistor", "trimmer", "capacitor", "inductor", "reference"];

    private static readonly string[] ByGrade = [.. Grades.All.Select(g => g.Kind)];

    private static readonly string[] NothingToBuy = ["leakage", "voltage", "current"];

    /// <summary>Prices in a parts file.</summary>
    public static readonly MapShape Prices = new(
        "prices",
        "What one part costs, by kind; what has a grade, by grade; what is bought by its tolerance, by class. A price may depend on how many are bought: { 1: 0.12, 100: 0.06 }.",
        [
            .. ByTolerance.Select(k => Key.Optional(k, Classes, $"Price of one {k} by tolerance and temperature coefficient.")),
            .. ByGrade.Select(k => Key.Optional(
                k, new DictionaryShape("prices by grade such as { precision: 0.85 }", new TextShape("a grade's name"), PriceReader.Price, 1), $"Price of one {k} by grade; before the grade's own `cost`.")),
            .. PartKinds.All.Select(k => k.Shape.Title).Except(ByTolerance).Except(ByGrade).Except(NothingToBuy).Select(k => Key.Optional(k, PriceReader.Price, $"Price of one {k}.")),
            .. SupplyReader.Supply.Cases.Select(c => c.Shape.Title).Where(t => t is not ("dc" or "loop")).Select(t => Key.Optional(t, PriceReader.Price, $"Price of one {t}.")),
            Key.Optional("adc", PriceReader.Price, "Price of one converter from voltage to code."),
            Key.Optional("dac", PriceReader.Price, "Price of one converter from code to voltage."),
            Key.Optional("digital isolator", PriceReader.Price, "Price of one digital isolator."),
        ])
    {
        Example = "prices: { resistor: { ±5 %: 0.004, ±1 % ±100 ppm/K: { 1: 0.02, 100: 0.006 } }, op amp: { cmos precision: 0.60 }, dac: 1.90 }",
    };

    public static readonly MapShape Shape = new(
        "cost",
        "What the instrument may cost in parts. Prices of parts are in the parts file.",
        Key.Optional("currency", Shapes.Text, "What is written behind sums.", "nothing"),
        Key.Optional("quantities", new ListShape(new IntegerShape(1, 10_000_000), 1, 12), "Numbers of instruments that sums are wanted for.", "[1, 100]"),
        Key.Optional("most", PriceReader.Amount, "What the parts of one may cost, built in the greatest of the quantities."),
        Key.Optional(
            "further", new DictionaryShape("items with their price such as { enclosure: 6.50, board: { 1: 14, 100: 3.10 } }", new TextShape("an item"), PriceReader.Price, 1),
            "What is bought beside the parts of the drawing, for one instrument."))
    {
        Example = "cost: { currency: EUR, quantities: [1, 100, 1000], most: 45, further: { enclosure: 6.50, board: { 1: 14, 100: 3.10 } } }",
    };

    public static CostSection Read(MapView map)
    {
        ImmutableArray<int> quantities = map.Map["quantities"] is ListNode list
            ? [.. list.Items.OfType<ScalarNode>().Where(s => s.Type == ScalarType.Number && s.Number is >= 1 and <= 10_000_000).Select(s => (int)s.Number).Distinct().Order()]
            : [];
        return new CostSection
        {
            Currency = map.Text("currency")?.Value ?? "",
            Quantities = quantities.IsEmpty ? [1, 100] : quantities,
            Most = map.Quantity("most"),
            Further = map.Map["further"] is MapNode further
                ?
                [
                    .. further.Entries.Select(e => (new Located<string>(e.Key.Text, e.Key.Span), PriceReader.Read(e.Value, map.Context.Sink)))
                        .Where(p => p.Item2 is not null).Select(p => (p.Item1, p.Item2!)),
                ]
                : [],
            Span = map.Span,
        };
    }

    /// <summary>The prices of a parts file on top of those before it.</summary>
    public static PriceTable ReadPrices(PriceTable before, MapNode node, DiagnosticSink sink)
    {
        ImmutableDictionary<string, PriceList>.Builder kinds = before.Kinds.ToBuilder();
        ImmutableDictionary<string, ImmutableArray<PriceClass>>.Builder classes = before.Classes.ToBuilder();
        ImmutableDictionary<(string, string), PriceList>.Builder grades = before.Grades.ToBuilder();
        foreach (MapEntry entry in node.Entries)
        {
            if (ByGrade.Contains(entry.Key.Text))
            {
                foreach (MapEntry grade in entry.Value is MapNode named ? named.Entries : [])
                {
                    if (PriceReader.Read(grade.Value, sink) is { } price)
                    {
                        grades[(entry.Key.Text, grade.Key.Text)] = price;
                    }
                }
            }
            else if (!ByTolerance.Contains(entry.Key.Text))
            {
                if (PriceReader.Read(entry.Value, sink) is { } price)
                {
                    kinds[entry.Key.Text] = price;
                }
            }
            else if (entry.Value is MapNode map)
            {
                classes[entry.Key.Text] = [.. map.Entries.Select(e => ReadClass(e, sink)).OfType<PriceClass>().OrderBy(c => c.Price.Of(1))];
            }
        }

        return new PriceTable { Kinds = kinds.ToImmutable(), Grades = grades.ToImmutable(), Classes = classes.ToImmutable() };
    }

    private static PriceClass? ReadClass(MapEntry entry, DiagnosticSink sink)
    {
        if (entry.Key.ReadAs(Class.Form) is not { Problem: null } parsed || PriceReader.Read(entry.Value, sink) is not { } price)
        {
            return null;
        }

        Quantity quantity = parsed.ToQuantity(entry.Key.Span, entry.Key.Text);
        double drift = Math.Max(quantity.Drift, Math.Abs(quantity.SignedDrift));
        return new PriceClass(quantity.Tolerance, drift > 0 ? drift : null, entry.Key.Text, price);
    }
}
