using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class SwitchKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "switch",
        "A switch, relay contact or analogue switch.",
        Key.Required("switch", new WordShape("open", "closed"), "Its position."),
        Between(),
        Key.Optional("on", Shapes.Resistance, "Resistance when closed.", "0.1 Ω"),
        Key.Optional("off", Shapes.Resistance, "Resistance when open.", "10 GΩ"))
    {
        Example = "S1: { switch: closed, between: [in, out], on: 50 Ω }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (map.Word("switch") is not { } position || map.Pair("between") is not var (a, b))
        {
            return null;
        }

        bool closed = position.Value == "closed";
        string key = closed ? "on" : "off";
        Parameter resistance = map.Parameter(name.Value, key, $"{key} resistance")
            ?? new Parameter(name.Value, $"{key} resistance", Quantity.Exact(Dimension.Resistance, closed ? 0.1 : 10e9));
        return new Switch { Name = name, Span = map.Span, A = a, B = b, IsClosed = closed, Resistance = resistance };
    }
}

internal sealed class JumperKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "jumper",
        "A plug-in bridge with named positions, each joining two nodes.",
        Key.Required("jumper", Shapes.Text, "The position it is in."),
        Key.Required(
            "positions",
            new DictionaryShape("positions such as { run: [a, b], test: [a, c] }", new TextShape("a position's name"), Shapes.Pair, 1),
            "Every position with the two nodes that it joins."))
    {
        Example = "J1: { jumper: run, positions: { run: [amp, adc], test: [adc, test-in] } }",
    };

    public override Part? Read(Located<string> name, MapView map)
    {
        if (map.Text("jumper") is not { } position || map.Raw("positions") is not MapNode positions)
        {
            return null;
        }

        ImmutableArray<JumperPosition>.Builder read = ImmutableArray.CreateBuilder<JumperPosition>();
        foreach (MapEntry entry in positions.Entries)
        {
            if (entry.Value is ListNode { Items: [ScalarNode a, ScalarNode b] })
            {
                read.Add(new JumperPosition(new Located<string>(entry.Key.Text, entry.Key.Span), map.Scope.Node(a), map.Scope.Node(b)));
            }
        }

        if (positions[position.Value] is null)
        {
            IEnumerable<string> words = positions.Entries.Select(e => e.Key.Text);
            map.Report(
                Codes.UnknownPosition, position.Span, $"The jumper {name.Value} has no position `{ScalarNode.Short(position.Value)}`.",
                Nearest.OneOf(words), $"`{ScalarNode.Short(position.Value)}`", Nearest.Mend(position.Value, words));
            return null;
        }

        return new Jumper { Name = name, Span = map.Span, Position = position, Positions = read.ToImmutable() };
    }
}

internal sealed class LinkKind : PartKind
{
    public override MapShape Shape { get; } = new(
        "link",
        "A wire that makes two nodes one.",
        Key.Required("link", Shapes.Pair, "The two nodes."))
    {
        Example = "W1: { link: [0V, chassis] }",
    };

    public override Part? Read(Located<string> name, MapView map) =>
        map.Pair("link") is var (a, b) ? new Link { Name = name, Span = map.Span, A = a, B = b } : null;
}

/// <summary>A switch in one position.</summary>
public sealed record Switch : Part
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    public required bool IsClosed { get; init; }

    /// <summary>In the position it is in, Ω.</summary>
    public required Parameter Resistance { get; init; }

    public override string Kind => "switch";

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => [Resistance];

    public override void Describe(INetworkSink sink, IPartSettings settings) =>
        sink.Resistor(Name.Value, A.Value, B.Value, Laws.Of(Resistance));
}

/// <summary>One position of a jumper.</summary>
public sealed record JumperPosition(Located<string> Name, Located<string> A, Located<string> B);

/// <summary>A jumper in one position.</summary>
public sealed record Jumper : Part
{
    public required Located<string> Position { get; init; }

    public required ImmutableArray<JumperPosition> Positions { get; init; }

    public override string Kind => "jumper";

    public override ImmutableArray<Terminal> Terminals =>
    [
        .. Positions.SelectMany(p => new[] { p.A, p.B }).DistinctBy(n => n.Value)
            .Select((n, i) => new Terminal(FormattableString.Invariant($"pin {i + 1}"), n)),
    ];

    public override ImmutableArray<Parameter> Parameters => [];

    public override void Describe(INetworkSink sink, IPartSettings settings)
    {
        JumperPosition now = Positions.First(p => p.Name.Value == Position.Value);
        sink.Link(Name.Value, now.A.Value, now.B.Value);
    }
}

/// <summary>A wire.</summary>
public sealed record Link : Part
{
    public required Located<string> A { get; init; }

    public required Located<string> B { get; init; }

    public override string Kind => "link";

    public override ImmutableArray<Terminal> Terminals => [new("a", A), new("b", B)];

    public override ImmutableArray<Parameter> Parameters => [];

    public override void Describe(INetworkSink sink, IPartSettings settings) => sink.Link(Name.Value, A.Value, B.Value);
}
