using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class InductorKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "inductor",
        "An inductor or ferrite.",
        Key.Required("inductor", Shapes.Quantity(UnitSets.Inductance, f => f.WithDrift().Positive()), "Inductance."),
        Between(),
        Key.Optional("resistance", Shapes.Resistance, "Resistance of its winding.", "none"))
    {
        Example = "L1: { inductor: 10 µH ±20 %, resistance: 0.2 Ω, between: [in, out] }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        map.Parameter(name.Value, "inductor", "inductance") is { } inductance && map.Pair("between") is var (a, b)
            ? new Inductor { Name = name, Span = map.Span, A = a, B = b, Inductance = inductance, Resistance = map.Parameter(name.Value, "resistance") }
            : null;
}

/// <summary>An inductor.</summary>
public sealed record Inductor : Part, IToleranced
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    /// <summary>H.</summary>
    public required Parameter Inductance { get; init; }

    /// <summary>Ω; null is none.</summary>
    public Parameter? Resistance { get; init; }

    public override string Kind => "inductor";

    Parameter IToleranced.Main => Inductance;

    Part IToleranced.WithMain(Quantity quantity) => this with { Inductance = new Parameter(Inductance.Owner, Inductance.Name, quantity) };

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => Resistance is null ? [Inductance] : [Inductance, Resistance];

    public override void Describe(INetworkSink sink, IPartSettings settings)
    {
        string inner = A.Value;
        if (Resistance is not null)
        {
            inner = Name.Value + ".inner";
            sink.Resistor(Name.Value + ".resistance", A.Value, inner, Laws.Of(Resistance));
        }

        sink.Inductor(Name.Value, inner, B.Value, Laws.Of(Inductance));
    }
}
