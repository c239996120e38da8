namespace Throughline.Instruments.Tests;

/// <summary>Every shape that can be reached from the top of the two kinds of files.</summary>
internal static class ShapeWalk
{
    public static IReadOnlyCollection<Shape> All { get; } = Walk();

    public static IReadOnlyList<QuantityForm> Forms { get; } =
        [.. All.OfType<QuantityShape>().Select(q => q.Form).DistinctBy(f => f.Pattern + f.Bare)];

    private static HashSet<Shape> Walk()
    {
        HashSet<Shape> seen = [];
        Visit(InstrumentShape.Root, seen);
        Visit(PartsLibrary.Shape, seen);
        Visit(PartKinds.Shape, seen);
        return seen;
    }

    private static void Visit(Shape shape, HashSet<Shape> seen)
    {
        if (!seen.Add(shape))
        {
            return;
        }

        IEnumerable<Shape> inner = shape switch
        {
            MapShape map => map.Keys.Select(k => k.Shape),
            ListShape list => [list.Item],
            DictionaryShape dictionary => [dictionary.KeyShape, dictionary.Value],
            EitherShape either => either.Alternatives,
            KindShape kinds => kinds.Cases.Select(c => (Shape)c.Shape),
            PartShape parts => parts.Kinds,
            TemplateShape template => [template.Inner],
            _ => [],
        };
        foreach (Shape next in inner)
        {
            Visit(next, seen);
        }
    }
}
