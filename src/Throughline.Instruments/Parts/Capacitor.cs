using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class CapacitorKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "capacitor",
        "A capacitor.",
        Key.Required("capacitor", Shapes.Quantity(UnitSets.Capacitance, f => f.WithDrift().Positive()), "Capacitance, with tolerance and temperature coefficient."),
        Between(),
        Key.Optional("leakage", Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().WithBounds().Positive()), "Insulation resistance beside it.", "none"),
        Ages())
    {
        Example = "C1: { capacitor: 100 nF ±10 %, between: [adc, 0V] }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        map.Parameter(name.Value, "capacitor", "capacitance") is { } capacitance && map.Pair("between") is var (a, b)
            ? new Capacitor
            {
                Name = name,
                Span = map.Span,
                A = a,
                B = b,
                Capacitance = capacitance,
                LeakageResistance = Laws.Make(map, name.Value, "leakage", Laws.Closed, "insulation resistance"),
                Ageing = Laws.Ageing(map, name.Value),
            }
            : null;
}

/// <summary>A capacitor.</summary>
public sealed record Capacitor : Part, IToleranced
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    /// <summary>F.</summary>
    public required Parameter Capacitance { get; init; }

    /// <summary>Ω; null is none.</summary>
    public Parameter? LeakageResistance { get; init; }

    /// <summary>1/s; null when it does not age.</summary>
    public Parameter? Ageing { get; init; }

    public override string Kind => "capacitor";

    Parameter IToleranced.Main => Capacitance;

    Part IToleranced.WithMain(Quantity quantity) => this with { Capacitance = new Parameter(Capacitance.Owner, Capacitance.Name, quantity) };

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => [.. new[] { Capacitance, LeakageResistance, Ageing }.OfType<Parameter>()];

    public override void Describe(INetworkSink sink, IPartSettings settings)
    {
        sink.Capacitor(Name.Value, A.Value, B.Value, Laws.Aged(Laws.Of(Capacitance), Ageing));
        if (LeakageResistance is not null)
        {
            sink.Resistor(Name.Value + ".leakage", A.Value, B.Value, Laws.Of(LeakageResistance));
        }
    }
}
