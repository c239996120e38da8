namespace Throughline.Instruments;

/// <summary>A key of a map.</summary>
/// <param name="Doc">A sentence for the schema and the reference.</param>
/// <param name="Default">What holds when it is left out, as it would be written; null when nothing does.</param>
internal sealed record Key(string Name, Shape Shape, bool IsRequired, string Doc, string? Default = null)
{
    public static Key Required(string name, Shape shape, string doc) => new(name, shape, true, doc);

    public static Key Optional(string name, Shape shape, string doc, string? @default = null) => new(name, shape, false, doc, @default);

    /// <summary>The key that tells kinds apart.</summary>
    public static Key Kind(string word) => new("kind", new WordShape(word), true, $"`{word}`.");
}
