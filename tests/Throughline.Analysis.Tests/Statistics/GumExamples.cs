using System.Text.Json;
using Throughline.Testing;

namespace Throughline.Analysis.Tests.Statistics;

/// <summary>The worked examples of <c>data/metrology</c>.</summary>
internal static class GumExamples
{
    public static JsonElement Root { get; } =
        JsonDocument.Parse(File.ReadAllText(Repository.PathOf("data", "metrology", "metrology-gum-examples.json"))).RootElement;

    public static JsonElement Example(string id) => Root.GetProperty("examples").EnumerateArray().Single(e => e.GetProperty("id").GetString() == id);

    public static double Number(this JsonElement element, string name) => element.GetProperty(name).GetDouble();

    public static JsonElement Input(this JsonElement example, string name) =>
        example.GetProperty("inputs").EnumerateArray().Single(i => i.GetProperty("name").GetString() == name);

    public static double[] Numbers(this JsonElement element, string name) => [.. element.GetProperty(name).EnumerateArray().Select(v => v.GetDouble())];

    /// <summary>The distribution that an input of the file describes.</summary>
    public static Distribution Shape(this JsonElement input) => input.GetProperty("shape").GetString() switch
    {
        "normal" => new NormalDistribution(input.Number("mean"), input.Number("u")),
        "t" => new StudentDistribution(input.Number("mean"), input.Number("scale"), input.Number("dof")),
        "rectangular" when input.TryGetProperty("low", out _) => new RectangularDistribution((input.Number("low") + input.Number("high")) / 2, (input.Number("high") - input.Number("low")) / 2),
        "rectangular" => new RectangularDistribution(input.TryGetProperty("mean", out var mean) ? mean.GetDouble() : input.Number("estimate"), input.Number("halfwidth")),
        "triangular" => new TriangularDistribution(input.Number("estimate"), input.Number("halfwidth")),
        "arcsine" => new ArcsineDistribution((input.Number("low") + input.Number("high")) / 2, (input.Number("high") - input.Number("low")) / 2),
        "curvilinear trapezoid" => new CurvilinearTrapezoidDistribution((input.Number("low") + input.Number("high")) / 2, (input.Number("high") - input.Number("low")) / 2, input.Number("d")),
        var other => throw new InvalidOperationException(other),
    };

    /// <summary>Every input by its own description: a shape, an expanded uncertainty with k, or u and degrees of freedom.</summary>
    public static UncertaintyInput Uncertain(this JsonElement input)
    {
        string name = input.GetProperty("name").GetString()!;
        double degrees = input.TryGetProperty("dof", out var dof) && dof.ValueKind == JsonValueKind.Number ? dof.GetDouble() : double.PositiveInfinity;
        return input.TryGetProperty("k", out var k) ? UncertaintyInput.FromExpanded(name, input.Number("estimate"), input.Number("U"), k.GetDouble())
            : input.TryGetProperty("shape", out _) ? UncertaintyInput.From(name, input.Shape(), degrees)
            : new(name, input.Number("estimate"), input.TryGetProperty("u", out var u) ? u.GetDouble() : 0, degrees); // S9 states one reading "no scatter"
    }
}
