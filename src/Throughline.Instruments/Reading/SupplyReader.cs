using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads the supplies.</summary>
internal static class SupplyReader
{
    private static readonly ImmutableArray<(string Word, SupplyKind Kind, string Doc, bool HasFrom, bool NeedsReturn)> Kinds =
    [
        ("dc", SupplyKind.Dc, "A voltage from outside.", false, true),
        ("battery", SupplyKind.Battery, "A battery.", false, true),
        ("linear regulator", SupplyKind.LinearRegulator, "A linear regulator.", true, false),
        ("switching converter", SupplyKind.SwitchingConverter, "A switching converter with the return of what feeds it.", true, false),
        ("charge pump", SupplyKind.ChargePump, "A charge pump.", true, false),
        ("isolated converter", SupplyKind.IsolatedConverter, "A converter whose output has a return of its own.", true, true),
        ("voltage reference", SupplyKind.Reference, "A voltage reference that feeds a rail.", true, false),
        ("protection diode", SupplyKind.ProtectionDiode, "A diode in series, against reversed connection.", true, false),
        ("fuse", SupplyKind.Fuse, "A fuse.", true, false),
        ("shunt regulator", SupplyKind.ShuntRegulator, "A voltage held by taking away what its rail does not need of the current that feeds it: what it takes from its input does not depend on its load.", true, false),
        ("loop", SupplyKind.Loop, "The loop of an instrument on two wires: what the rails behind it take is part of the loop's current. Linear and shunt regulators, references and parts in series can follow.", false, true),
    ];

    private const string LiftOff = "lift-off";

    private static readonly QuantityShape DrawnCurrent = Shapes.Quantity(UnitSets.Current, f => f.WithBounds());

    public static readonly KindShape Supply = new("supply", "kind", [.. Kinds.Select(k => (k.Word, ShapeOf(k.Word, k.Kind, k.Doc, k.HasFrom, k.NeedsReturn)))]);

    public static readonly DictionaryShape Shape = new(
        "supplies by name such as { A5: { kind: linear regulator, from: input, voltage: 5.0 V ±2 % } }", new NameShape("a supply's name, which is also its node"), Supply);

    /// <summary>Reads what can be read; the names of the rest are nodes all the same.</summary>
    public static ImmutableArray<Supply> Read(MapNode node, ReadingContext context, HashSet<string> mentioned)
    {
        Dictionary<string, MapView> views = [];
        foreach (MapEntry entry in node.Entries)
        {
            if (Supply.Case(entry.Value) is { } shape)
            {
                views[entry.Key.Text] = new MapView((MapNode)entry.Value, shape, context);
            }
        }

        ReportRings(node, views, context.Sink);
        Dictionary<string, Located<string>?> returns = [];
        Dictionary<string, Parameter?> voltages = [];
        ImmutableArray<Supply>.Builder supplies = ImmutableArray.CreateBuilder<Supply>();
        foreach (MapEntry entry in node.Entries)
        {
            mentioned.Add(entry.Key.Text);
            if (!views.TryGetValue(entry.Key.Text, out MapView? view))
            {
                continue;
            }

            if (view.Node("return") is { } own)
            {
                mentioned.Add(own.Value);
            }

            if (view.Node("from") is { } from && node[from.Value] is null)
            {
                if (context.Sink.IsFull)
                {
                    continue;
                }

                IEnumerable<string> known = node.Entries.Select(e => e.Key.Text);
                context.Sink.Report(
                    Codes.UnknownSupply, from.Span, $"No supply is called `{ScalarNode.Short(from.Value)}`.", Nearest.OneOf(known),
                    $"`{ScalarNode.Short(from.Value)}`", Nearest.Mend(from.Value, known));
                continue;
            }

            // Their input current depends on their input voltage in a way that the network has no part for.
            if (IsLoopFed(entry.Key.Text, views) && Kinds.First(k => k.Word == view.Shape.Title).Kind is SupplyKind.SwitchingConverter or SupplyKind.ChargePump or SupplyKind.IsolatedConverter
                && !context.Sink.IsFull)
            {
                context.Sink.Report(
                    Codes.Contradiction, entry.Key.Span, $"A {view.Shape.Title} can't be fed by the loop here: what it takes from the loop is not computed.",
                    "a linear or shunt regulator, a voltage reference, a protection diode or a fuse", $"`{view.Shape.Title}`");
            }

            if (FindReturn(entry.Key, views, returns) is { } @return && FindVoltage(entry.Key.Text, views, voltages) is { } voltage)
            {
                supplies.Add(new Supply
                {
                    Name = new Located<string>(entry.Key.Text, entry.Key.Span),
                    Kind = Kinds.First(k => k.Word == view.Shape.Title).Kind,
                    KindWord = view.Shape.Title,
                    From = view.Node("from"),
                    Voltage = voltage,
                    Return = @return,
                    Limit = view.Quantity("limit"),
                    Dropout = view.Quantity("dropout"),
                    Junction = view.Quantity("junction"),
                    Efficiency = view.Quantity("efficiency"),
                    Withstands = view.Quantity(IsolationReader.Withstands),
                    JunctionLimit = view.Quantity("junction limit"),
                    Quiescent = view.Quantity("quiescent"),
                    OutputResistance = view.Quantity("output resistance") ?? view.Quantity("resistance"),
                    Drop = view.Quantity("drop"),
                    IsLoopFed = IsLoopFed(entry.Key.Text, views),
                    Input = view.Range("input"),
                    Ripple = view.Inner("ripple")?.Quantity("peak to peak"),
                    RippleFrequency = view.Inner("ripple")?.Quantity("at"),
                    RippleRejection = ReadRejection(view),
                    StartsIn = view.Quantity("starts in"),
                    Feed = view.Quantity("through"),
                    LeastShunt = view.Quantity("least"),
                    GreatestShunt = view.Quantity("greatest"),
                    Capacity = view.Quantity("capacity"),
                    Lasts = view.Quantity("lasts"),
                    Draws = ReadDraws(view),
                    Insulation = Kinds.First(k => k.Word == view.Shape.Title).Kind == SupplyKind.IsolatedConverter ? IsolationReader.ReadPart(view) : null,
                    Span = view.Span,
                });
            }
        }

        return supplies.ToImmutable();
    }

    /// <summary>Its own return, or that of the first supply up the chain that states one.</summary>
    /// <param name="known">What earlier walks have found, so that a long chain is walked once.</param>
    private static Located<string>? FindReturn(
        ScalarNode name, Dictionary<string, MapView> views, Dictionary<string, Located<string>?> known)
    {
        List<string> passed = [];
        HashSet<string> onTheWay = [];
        Located<string>? found = null;
        string at = name.Text;
        while (!known.TryGetValue(at, out found) && views.TryGetValue(at, out MapView? view))
        {
            passed.Add(at);
            if (!onTheWay.Add(at))
            {
                break;
            }

            if (view.Node("return") is { } own)
            {
                found = own;
                break;
            }

            if (view.Node("from") is not { } from)
            {
                break;
            }

            at = from.Value;
        }

        foreach (string supply in passed)
        {
            known[supply] = found;
        }

        return found;
    }

    /// <summary>Reports every ring of supplies once, whether or not they state returns of their own.</summary>
    private static void ReportRings(MapNode node, Dictionary<string, MapView> views, DiagnosticSink sink)
    {
        HashSet<string> done = [];
        foreach (MapEntry entry in node.Entries)
        {
            HashSet<string> onTheWay = [];
            string before = entry.Key.Text;
            string? at = before;
            while (at is not null && !done.Contains(at) && views.TryGetValue(at, out MapView? view))
            {
                if (!onTheWay.Add(at))
                {
                    sink.Report(
                        Codes.Recursion, entry.Key.Span, $"The supply `{ScalarNode.Short(entry.Key.Text)}` feeds itself.", "a chain of supplies that begins outside",
                        $"`{ScalarNode.Short(at)}` from `{ScalarNode.Short(before)}`");
                    break;
                }

                before = at;
                at = view.Node("from")?.Value;
            }

            done.UnionWith(onTheWay);
        }
    }

    /// <summary>Its own voltage; a part in series has that of what feeds it.</summary>
    private static Parameter? FindVoltage(string name, Dictionary<string, MapView> views, Dictionary<string, Parameter?> known)
    {
        List<string> passed = [];
        Parameter? found = null;
        string? at = name;
        while (at is not null && !known.TryGetValue(at, out found) && !passed.Contains(at) && views.TryGetValue(at, out MapView? view))
        {
            passed.Add(at);
            if ((view.Parameter(at, "voltage") ?? view.Parameter(at, LiftOff, "voltage")) is { } own)
            {
                found = own;
                break;
            }

            at = view.Node("from")?.Value;
        }

        foreach (string supply in passed)
        {
            known[supply] = found;
        }

        return found;
    }

    /// <summary>Whether the loop stands at the head of the chain that feeds it.</summary>
    private static bool IsLoopFed(string name, Dictionary<string, MapView> views)
    {
        HashSet<string> passed = [];
        string? at = name;
        while (at is not null && passed.Add(at) && views.TryGetValue(at, out MapView? view))
        {
            if (Kinds.First(k => k.Word == view.Shape.Title).Kind == SupplyKind.Loop)
            {
                return true;
            }

            at = view.Node("from")?.Value;
        }

        return false;
    }

    private static ImmutableArray<Draw> ReadDraws(MapView view)
    {
        ImmutableArray<Draw>.Builder draws = ImmutableArray.CreateBuilder<Draw>();
        foreach (MapEntry entry in (view.Raw("draws") as MapNode)?.Entries ?? [])
        {
            if (entry.Value is ScalarNode scalar && scalar.ReadAs(DrawnCurrent.Form) is { Problem: null } parsed)
            {
                draws.Add(new Draw(new Located<string>(entry.Key.Text, entry.Key.Span), parsed.ToQuantity(scalar.Span, scalar.Text)));
            }
        }

        return draws.ToImmutable();
    }

    private static ImmutableArray<ScalePoint> ReadRejection(MapView view) =>
    [
        .. view.Points("ripple rejection")
            .Select(p => new ScalePoint(p.From.ToQuantity(p.FromNode.Span, p.FromNode.Text), p.To.ToQuantity(p.ToNode.Span, p.ToNode.Text), p.FromNode.Span))
            .OrderBy(p => p.From.Value),
    ];

    private static MapShape ShapeOf(string word, SupplyKind kind, string doc, bool hasFrom, bool needsReturn)
    {
        bool isInSeries = kind is SupplyKind.ProtectionDiode or SupplyKind.Fuse;
        bool converts = kind is SupplyKind.LinearRegulator or SupplyKind.SwitchingConverter or SupplyKind.ChargePump or SupplyKind.IsolatedConverter or SupplyKind.Reference;
        List<Key> keys = [Key.Kind(word)];
        if (kind == SupplyKind.Loop)
        {
            keys.Add(Key.Required(LiftOff, Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Least voltage of this rail with which the instrument works."));
            keys.Add(Key.Optional("drop", Shapes.Quantity(UnitSets.Voltage, f => f.WithBounds()), "Voltage between the terminal and this rail, such as that of the diodes against reversed connection.", "0 V"));
        }
        else if (!isInSeries)
        {
            keys.Add(Key.Required("voltage", Shapes.Voltage, "Voltage above its return; negative for a negative rail."));
        }

        if (hasFrom)
        {
            keys.Add(Key.Required("from", Shapes.Node, "The supply that feeds it."));
        }

        if (!isInSeries)
        {
            keys.Add(needsReturn
                ? Key.Required("return", Shapes.Node, "The node of its return.")
                : Key.Optional("return", Shapes.Node, "The node of its return.", "that of the supply that feeds it"));
        }

        keys.AddRange(
        [
            Key.Optional("limit", Shapes.Quantity(UnitSets.Current, f => f.Positive()), kind == SupplyKind.Fuse ? "Rated current." : "Greatest current."),
            Key.Optional(
                "draws", new DictionaryShape("consumers such as { arithmetic: 6 mA typ 9 mA max, panel: 2 mA }", new NameShape("a consumer's name"), DrawnCurrent),
                "What takes current from it apart from the drawn circuit and further supplies: a stage (`adc`, `dac`, `arithmetic`) by its name, `panel`, `link`, or what you call it.", "nothing"),
        ]);
        if (converts)
        {
            keys.AddRange(
            [
                Key.Optional("dropout", Shapes.Quantity(UnitSets.Voltage), "Least voltage between input and output."),
                Key.Optional("junction", Shapes.Quantity(UnitSets.ThermalResistance), "Thermal resistance from junction to ambient."),
                Key.Optional("junction limit", Shapes.Quantity(UnitSets.Temperature), "Highest temperature of the junction.", "125 °C"),
                Key.Optional("efficiency", Shapes.Quantity(UnitSets.Percent, f => f.Positive() with { Greatest = 1 }), "Output power over input power, what it takes without load left out.", "100 %"),
                Key.Optional("quiescent", Shapes.Quantity(UnitSets.Current, f => f.WithBounds()), "Current into its input without load.", "none"),
                Key.Optional("input", Shapes.Quantity(UnitSets.Voltage, f => f.AsRange("18 .. 36 V")), "Input voltages that it works with."),
                Key.Optional("starts in", Shapes.Time, "Time from its input to its output being there.", "at once"),
                Key.Optional(
                    "ripple rejection",
                    new DictionaryShape(
                        "frequencies and rejections such as { 120 Hz: 70 dB, 100 kHz: 40 dB }",
                        Shapes.Quantity(UnitSets.Frequency, f => f.Positive()), Shapes.Quantity(UnitSets.Rejection, f => f.WithBounds().Positive()), 1),
                    "Ratio of ripple at its input to that at its output, by frequency; between two frequencies on a straight line of the logarithms.",
                    "a switching kind passes none, a linear one passes all"),
                Key.Optional(
                    "ripple",
                    new MapShape(
                        "ripple",
                        "Ripple that it makes.",
                        Key.Required("peak to peak", Shapes.Quantity(UnitSets.Voltage, f => f.WithBounds().Positive()), "From peak to peak."),
                        Key.Required("at", Shapes.Quantity(UnitSets.Frequency, f => f.Positive()), "Its frequency.")),
                    "Ripple that it makes at its output.",
                    "none"),
            ]);
        }

        if (kind is SupplyKind.ChargePump or SupplyKind.SwitchingConverter or SupplyKind.IsolatedConverter)
        {
            keys.Add(Key.Optional("output resistance", Shapes.Quantity(UnitSets.Resistance, f => f.Positive()), "By how much its voltage falls with its current.", "0 Ω: regulated"));
        }

        switch (kind)
        {
            case SupplyKind.Battery:
                keys.Add(Key.Optional("resistance", Shapes.Quantity(UnitSets.Resistance, f => f.Positive()), "Inner resistance.", "0 Ω"));
                keys.Add(Key.Optional("capacity", Shapes.Quantity(UnitSets.Charge, f => f.Positive()), "Charge that it gives before its voltage is below the stated one."));
                keys.Add(Key.Optional("lasts", Shapes.Time, "How long it has to last."));
                break;
            case SupplyKind.ShuntRegulator:
                keys.Add(Key.Required(
                    "through", Shapes.Quantity(UnitSets.ResistanceOrCurrent, f => f.WithTolerance().Positive()), "What feeds it from its input: a resistor, or a source of current."));
                keys.Add(Key.Optional("resistance", Shapes.Quantity(UnitSets.Resistance, f => f.Positive()), "By how much its voltage rises with the current that it takes away.", "0 Ω"));
                keys.Add(Key.Optional("least", Shapes.Quantity(UnitSets.Current, f => f.Positive()), "Least current to be left for it, with which it still holds its voltage.", "none"));
                keys.Add(Key.Optional("greatest", Shapes.Quantity(UnitSets.Current, f => f.Positive()), "Greatest current that it can take away."));
                keys.Add(Key.Optional("junction", Shapes.Quantity(UnitSets.ThermalResistance), "Thermal resistance from junction to ambient."));
                keys.Add(Key.Optional("junction limit", Shapes.Quantity(UnitSets.Temperature), "Highest temperature of the junction.", "125 °C"));
                keys.Add(Key.Optional("starts in", Shapes.Time, "Time from its input to its output being there.", "at once"));
                break;
            case SupplyKind.ProtectionDiode:
                keys.Add(Key.Required("drop", Shapes.Quantity(UnitSets.Voltage, f => f.WithBounds()), "Forward voltage."));
                break;
            case SupplyKind.Fuse:
                keys.Add(Key.Required("resistance", Shapes.Quantity(UnitSets.Resistance, f => f.WithBounds().Positive()), "Resistance when cold."));
                break;
            default:
                break;
        }

        keys.AddRange(kind == SupplyKind.IsolatedConverter
            ? IsolationReader.PartKeys
            : [Key.Optional(IsolationReader.Withstands, Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Isolation voltage.")]);
        return new MapShape(word, doc, [.. keys]);
    }
}
