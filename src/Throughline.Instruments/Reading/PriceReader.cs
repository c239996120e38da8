namespace Throughline.Instruments;

/// <summary>Reads what one of a thing costs.</summary>
internal static class PriceReader
{
    public static readonly QuantityShape Amount = Shapes.Quantity(UnitSets.Price, f => f.OrBare());

    private static readonly QuantityShape Pieces = Shapes.Quantity(UnitSets.Number, f => f.OrBare().Between(1, 10_000_000).Saying("a quantity such as 100"));

    /// <summary>A price, or prices by how many are bought.</summary>
    public static readonly EitherShape Price = new(
        Amount,
        new DictionaryShape(
            "prices by quantity such as { 1: 0.12, 100: 0.06 }",
            Pieces,
            Amount,
            1));

    /// <summary>A checked price; null when it is none, which is reported.</summary>
    public static PriceList? Read(YamlNode? node, DiagnosticSink sink)
    {
        switch (node)
        {
            case ScalarNode scalar:
                return scalar.ReadAs(Amount.Form) is { Problem: null } one ? new PriceList([(1, one.ToQuantity(scalar.Span, scalar.Text).Value)]) : null;
            case MapNode map:
                SortedDictionary<int, double> steps = [];
                foreach (MapEntry entry in map.Entries)
                {
                    if (entry.Value is not ScalarNode value || value.ReadAs(Amount.Form) is not { Problem: null } amount || entry.Key.ReadAs(Pieces.Form) is not { Problem: null } pieces)
                    {
                        continue;
                    }

                    double from = pieces.ToQuantity(entry.Key.Span, entry.Key.Text).Value;
                    if (Math.Floor(from) != from || steps.ContainsKey((int)from))
                    {
                        sink.Report(Codes.Contradiction, entry.Key.Span, "Pieces are bought in whole numbers, each named once.", "whole numbers from 1 on, each once", entry.Key.Found);
                        continue;
                    }

                    steps[(int)from] = amount.ToQuantity(value.Span, value.Text).Value;
                }

                return steps.Count == 0 ? null : new PriceList([.. steps.Select(s => (s.Key, s.Value))]);
            default:
                return null;
        }
    }
}
