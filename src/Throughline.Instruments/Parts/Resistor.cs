using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class ResistorKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "resistor",
        "A resistor.",
        Key.Required("resistor", Shapes.Resistance, "Resistance, with tolerance and temperature coefficient."),
        Between())
    {
        Example = "R1: { resistor: 20.0 kΩ ±1 % ±100 ppm/K, between: [amp, fb] }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        map.Parameter(name.Value, "resistor", "resistance") is { } resistance && map.Pair("between") is var (a, b)
            ? new Resistor { Name = name, Span = map.Span, A = a, B = b, Resistance = resistance }
            : null;
}

/// <summary>A resistor.</summary>
public sealed record Resistor : Part
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    /// <summary>Ω.</summary>
    public required Parameter Resistance { get; init; }

    public override string Kind => "resistor";

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => [Resistance];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.Resistor(Name.Value, A.Value, B.Value, Laws.Of(Resistance));
}
