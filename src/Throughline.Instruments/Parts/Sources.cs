using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class ReferenceKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "reference",
        "A voltage reference, taken as ideal but for its tolerance and drift. One that the circuit feeds through a resistor gives no current of its own as soon as something is wrong: without that feed it is no reference.",
        Key.Required("reference", Shapes.Voltage, "Voltage of the first node above the second."),
        Between("Its positive and its negative node."),
        Ages(),
        Key.Optional("noise", Grades.SourceNoise, "Noise.", "none"))
    {
        Example = "VB: { reference: 1.25 V ±0.2 % ±50 ppm/K, between: [bias, 0V], noise: { voltage: 200 nV/√Hz, corner: 10 Hz } }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        MapView? noise = map.Inner("noise");
        return VoltageKind.Read(name, map, "reference") is { } source
            ? source with
            {
                Noise = Laws.Make(noise, name.Value, "voltage", Laws.Closed, "noise voltage"),
                NoiseCorner = Laws.Make(noise, name.Value, "corner", Laws.Closed, "noise corner"),
            }
            : null;
    }
}

internal sealed class VoltageKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "voltage",
        "A voltage source, for what comes from outside and for trying things out.",
        Key.Required("voltage", Shapes.Voltage, "Voltage of the first node above the second."),
        Between("Its positive and its negative node."))
    {
        Example = "V1: { voltage: 100 mV, between: [in, 0V] }",
    };

    public override Part? Read(Located<string> name, MapView map) => Read(name, map, "voltage");

    public static VoltageSource? Read(Located<string> name, MapView map, string kind) =>
        map.Parameter(name.Value, kind, "voltage") is { } voltage && map.Pair("between") is var (plus, minus)
            ? new VoltageSource(kind) { Name = name, Span = map.Span, Plus = plus, Minus = minus, Voltage = voltage, Ageing = Laws.Ageing(map, name.Value) }
            : null;
}

internal sealed class CurrentKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "current",
        "A current source.",
        Key.Required("current", Shapes.Quantity(UnitSets.Current, f => f.WithDrift().WithSign()), "Current out of `to`."),
        Key.Required("from", Shapes.Node, "The node that it draws the current from."),
        Key.Required("to", Shapes.Node, "The node that it feeds."))
    {
        Example = "I1: { current: 1 mA ±0.1 %, from: A5, to: rtd }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        map.Parameter(name.Value, "current") is { } current && map.Node("from") is { } from && map.Node("to") is { } to
            ? new CurrentSource { Name = name, Span = map.Span, From = from, To = to, Current = current }
            : null;
}

/// <summary>A reference or another voltage source.</summary>
public sealed record VoltageSource(string KindWord) : Part, IToleranced
{
    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    /// <summary>V.</summary>
    public required Parameter Voltage { get; init; }

    /// <summary>1/s; null when it does not age.</summary>
    public Parameter? Ageing { get; init; }

    /// <summary>V/√Hz above the corner; null when not said.</summary>
    public Parameter? Noise { get; init; }

    /// <summary>Hz.</summary>
    public Parameter? NoiseCorner { get; init; }

    public override string Kind => KindWord;

    Parameter IToleranced.Main => Voltage;

    Part IToleranced.WithMain(Quantity quantity) => this with { Voltage = new Parameter(Voltage.Owner, Voltage.Name, quantity) };

    public override ImmutableArray<Terminal> Terminals => [new("plus", Plus), new("minus", Minus)];

    public override ImmutableArray<Parameter> Parameters => [.. new[] { Voltage, Ageing, Noise, NoiseCorner }.OfType<Parameter>()];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.VoltageSource(
            Name.Value, Plus.Value, Minus.Value, Laws.Aged(Laws.Of(Voltage), Ageing), new NoiseLaws { Voltage = Laws.OrNull(Noise), Corner = Laws.OrNull(NoiseCorner) });
}

/// <summary>A current source.</summary>
public sealed record CurrentSource : Part
{
    public required Located<string> From { get; init; }

    public required Located<string> To { get; init; }

    /// <summary>A.</summary>
    public required Parameter Current { get; init; }

    public override string Kind => "current";

    public override ImmutableArray<Terminal> Terminals => [new("from", From), new("to", To)];

    public override ImmutableArray<Parameter> Parameters => [Current];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.CurrentSource(Name.Value, From.Value, To.Value, Laws.Of(Current));
}
