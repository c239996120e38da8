using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class TrimmerKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "trimmer",
        "A trimming resistor, as a rheostat between two nodes or as a divider with both ends and the wiper.",
        Key.Required("trimmer", Shapes.Resistance, "Resistance from end to end."),
        Key.Optional("between", Shapes.Pair, "As a rheostat: its two nodes; the resistance rises from 0 with the position."),
        Key.Optional("ends", Shapes.Pair, "As a divider: the nodes of its two ends; position 0 is at the first."),
        Key.Optional("wiper", Shapes.Node, "As a divider: the node of its wiper."),
        Key.Optional("turns", new NumberShape(0.5, 100), "Turns from end to end."),
        Key.Optional(
            "resolution", Shapes.Quantity(UnitSets.Percent, f => f.Positive().Between(0, 1)), "The least part of its travel that a hand can set.", "5° of its `turns`; without them any position can be set"),
        Key.Optional("backlash", Shapes.Quantity(UnitSets.Percent, f => f.Between(0, 1)), "The part of its travel that is lost when the hand turns back.", "0 %"),
        Key.Optional("at", Shapes.Quantity(UnitSets.Percent, f => f.Between(0, 1)), "Position when no adjustment step turns it.", "50 %"),
        Ages())
    {
        ExactlyOneOf = [["between"], ["ends", "wiper"]],
        Example = "VR1: { trimmer: 2 kΩ ±10 % ±100 ppm/K, turns: 12, between: [wiper, fb] }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (map.Parameter(name.Value, "trimmer", "resistance") is not { } resistance)
        {
            return null;
        }

        Quantity? stated = map.Quantity("resolution");
        Quantity? backlash = map.Quantity("backlash");
        double? resolution = stated?.Value ?? Trimmer.HandDegrees / (360 * map.Number("turns"));
        double half = ((resolution ?? 0) + (backlash?.Value ?? 0)) / 2;
        Located<string>? wiper = map.Node("wiper");
        (Located<string> First, Located<string> Second)? nodes = wiper is null ? map.Pair("between") : map.Pair("ends");
        return nodes is var (first, second)
            ? new Trimmer
            {
                Name = name,
                Span = map.Span,
                First = first,
                Second = second,
                Wiper = wiper,
                Resistance = resistance,
                Ageing = Laws.Ageing(map, name.Value),
                Turns = map.Number("turns"),
                Resolution = resolution,
                Backlash = backlash?.Value ?? 0,
                Setting = half > 0 ? new Parameter(name.Value, "setting", new Quantity(Dimension.Ratio, 0, -half, half, 0, 0, map.PlaceOf("trimmer"), "")) : null,
                InitialPosition = map.Quantity("at")?.Value ?? 0.5,
            }
            : null;
    }
}

/// <summary>A trimming resistor.</summary>
public sealed record Trimmer : Part, ITrimmer, IToleranced
{
    /// <summary>A wiper at its end still has contact resistance; 1 mΩ is far below any and keeps the network's equations regular.</summary>
    private const double LeastOhms = 1e-3;

    /// <summary>A hand sets a screw to about 5°. Common practice, no source.</summary>
    internal const double HandDegrees = 5;

    public required Located<string> First { get; init; }

    public required Located<string> Second { get; init; }

    /// <summary>Null for a rheostat.</summary>
    public Located<string>? Wiper { get; init; }

    public required Parameter Resistance { get; init; }

    /// <summary>1/s; null when it does not age.</summary>
    public Parameter? Ageing { get; init; }

    public double? Turns { get; init; }

    public double InitialPosition { get; init; } = 0.5;

    public double? Resolution { get; init; }

    public double Backlash { get; init; }

    public Parameter? Setting { get; init; }

    public override string Kind => "trimmer";

    Parameter IToleranced.Main => Resistance;

    Part IToleranced.WithMain(Quantity quantity) => this with { Resistance = new Parameter(Resistance.Owner, Resistance.Name, quantity) };

    public override ImmutableArray<Terminal> Terminals =>
        Wiper is { } wiper ? [new("first end", First), new("wiper", wiper), new("second end", Second)] : [new("a", First), new("b", Second)];

    public override ImmutableArray<Parameter> Parameters => Ageing is null ? [Resistance] : [Resistance, Ageing];

    public override void Describe(INetworkSink sink, IPartSettings settings)
    {
        Law position = settings.Position(this);
        Law whole = Laws.Aged(Laws.Of(Resistance), Ageing);
        Law before = state => Math.Max(LeastOhms, whole(state) * position(state));
        if (Wiper is not { } wiper)
        {
            sink.Resistor(Name.Value, First.Value, Second.Value, before);
            return;
        }

        sink.Resistor(Name.Value + ".first", First.Value, wiper.Value, before);
        sink.Resistor(Name.Value + ".second", wiper.Value, Second.Value, state => Math.Max(LeastOhms, whole(state) * (1 - position(state))));
    }
}
