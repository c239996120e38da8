using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class LeakageKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "leakage",
        "A path that nobody drew: dirt, humidity, a board's or a cable's insulation.",
        Key.Required("leakage", Shapes.Quantity(UnitSets.Resistance, f => f.WithDrift().WithBounds().OrRange().Positive()), "Insulation resistance."),
        Between())
    {
        Example = "LK1: { leakage: 100 GΩ min, between: [probe, guard] }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        map.Quantity("leakage") is { } q && map.Pair("between") is var (a, b)
            ? new Leakage { Name = name, Span = map.Span, A = a, B = b, Resistance = new Parameter(name.Value, "insulation resistance", Laws.Closed(q)) }
            : null;
}

/// <summary>A leakage path.</summary>
public sealed record Leakage : Part
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    /// <summary>Ω.</summary>
    public required Parameter Resistance { get; init; }

    public override string Kind => "leakage";

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => [Resistance];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.Resistor(Name.Value, A.Value, B.Value, Laws.Of(Resistance));
}
