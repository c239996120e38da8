using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class ResistorKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "resistor",
        "A resistor.",
        Key.Required("resistor", Shapes.Resistance, "Resistance, with tolerance and temperature coefficient; of a network its nominal value alone."),
        Between(),
        Key.Optional("of", new TextShape("a network's name"), "The network or reel that it belongs to, which says its tolerance.", "none"),
        Ages())
    {
        Example = "R1: { resistor: 20.0 kΩ ±1 % ±100 ppm/K, between: [amp, fb] }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (map.Quantity("resistor") is not { } quantity || map.Pair("between") is not var (a, b))
        {
            return null;
        }

        ResistorNetwork? network = null;
        if (map.Text("of") is { } of)
        {
            network = NetworkReader.Find(map, of);
            if (network is null)
            {
                return null;
            }

            if (!quantity.IsExact)
            {
                map.Report(
                    Codes.SaidTwice, quantity.Span, $"The network `{of.Value}` says the tolerance and the temperature coefficient of its resistors.", "the nominal value alone",
                    $"`{ScalarNode.Short(quantity.Text)}`", "leave them out here, or leave out `of`");
                return null;
            }

            quantity = network.Own(quantity);
        }

        return new Resistor
        {
            Name = name,
            Span = map.Span,
            A = a,
            B = b,
            Resistance = new Parameter(name.Value, "resistance", quantity),
            Network = network,
            Ageing = Laws.Ageing(map, name.Value),
        };
    }
}

/// <summary>A resistor.</summary>
public sealed record Resistor : Part, IToleranced
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    /// <summary>Ω; of a network, what it would be without what the network's resistors have in common.</summary>
    public required Parameter Resistance { get; init; }

    /// <summary>The network or reel that it belongs to; null when it stands alone.</summary>
    public ResistorNetwork? Network { get; init; }

    /// <summary>1/s; null when it does not age.</summary>
    public Parameter? Ageing { get; init; }

    public override string Kind => "resistor";

    Parameter IToleranced.Main => Resistance;

    Part IToleranced.WithMain(Quantity quantity) => this with { Resistance = new Parameter(Resistance.Owner, Resistance.Name, quantity) };

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => [.. new[] { Resistance, Network?.Common, Ageing }.OfType<Parameter>()];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.Resistor(Name.Value, A.Value, B.Value, Laws.Aged(Laws.Raised(Resistance, Network?.Common), Ageing));
}
