using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Reads networks of resistors that track.</summary>
internal static class NetworkReader
{
    private static readonly QuantityShape Bound = Shapes.Quantity(UnitSets.Percent, f => f.WithDrift().OnlyTolerance().Saying("a limit such as ±1 % ±100 ppm/K"));

    public static readonly MapShape Network = new(
        "network",
        "Resistors of one network or reel.",
        Key.Required("tolerance", Bound, "How far each of them may be from its nominal value, with the temperature coefficient."),
        Key.Required("tracking", Bound, "How far the ratio of any two of them may be from its nominal value, and how far it may drift."))
    {
        Example = "RN1: { tolerance: ±1 % ±100 ppm/K, tracking: ±0.05 % ±5 ppm/K }",
    };

    public static readonly DictionaryShape Shape = new(
        "networks by name such as { RN1: { tolerance: ±1 % ±100 ppm/K, tracking: ±0.05 % ±5 ppm/K } }", new NameShape("a network's name"), Network);

    /// <summary>Reads what can be read; the names of the rest are known all the same.</summary>
    public static ImmutableArray<ResistorNetwork> Read(MapNode node, ReadingContext context)
    {
        Dictionary<string, ResistorNetwork?> networks = [];
        foreach (MapEntry entry in node.Entries)
        {
            networks[entry.Key.Text] = entry.Value is MapNode map ? ReadOne(new Located<string>(entry.Key.Text, entry.Key.Span), new MapView(map, Network, context)) : null;
        }

        context.Networks = networks;
        return [.. networks.Values.OfType<ResistorNetwork>()];
    }

    /// <summary>The network that a part names; null when there is none, which is reported, or when it could not be read.</summary>
    public static ResistorNetwork? Find(MapView part, Located<string> name)
    {
        if (part.Context.Networks.TryGetValue(name.Value, out ResistorNetwork? network))
        {
            part.Context.NetworksUsed.Add(name.Value);
        }
        else
        {
            part.Report(
                Codes.UnknownNetwork, name.Span, $"No network of resistors is called `{ScalarNode.Short(name.Value)}`.", Nearest.OneOf(part.Context.Networks.Keys),
                $"`{ScalarNode.Short(name.Value)}`", Nearest.Mend(name.Value, part.Context.Networks.Keys));
        }

        return network;
    }

    /// <summary>Reports networks without resistors, and names that a part has as well.</summary>
    public static void CheckUse(MapNode root, ImmutableArray<Stage> stages, ReadingContext context)
    {
        if (root["networks"] is not MapNode written)
        {
            return;
        }

        // What could not be read may belong to a network all the same.
        HashSet<string> mentioned = [];
        if (root["stages"] is { } unread)
        {
            InstrumentReader.Mention(unread, mentioned);
        }

        HashSet<string> parts = [.. stages.OfType<CircuitStage>().SelectMany(s => s.Parts).Select(p => p.Name.Value)];
        foreach (ScalarNode name in written.Entries.Select(e => e.Key))
        {
            if (context.Sink.IsFull)
            {
                return;
            }

            if (parts.Contains(name.Text))
            {
                context.Sink.Report(
                    Codes.DuplicateName, name.Span, $"A network and a part are called `{ScalarNode.Short(name.Text)}`.", "each name once in the instrument", name.Found);
            }
            else if (!context.NetworksUsed.Contains(name.Text) && !mentioned.Contains(name.Text))
            {
                context.Sink.Report(
                    Codes.NotUsed, name.Span, $"No resistor belongs to the network `{ScalarNode.Short(name.Text)}`.", $"a resistor with `of: {ScalarNode.Short(name.Text)}`",
                    "none", $"write `of: {ScalarNode.Short(name.Text)}` into its resistors, or leave the network out");
            }
        }
    }

    private static ResistorNetwork? ReadOne(Located<string> name, MapView map)
    {
        if (map.Quantity("tolerance") is not { } tolerance || map.Quantity("tracking") is not { } tracking)
        {
            return null;
        }

        if (tolerance.Tolerance >= 1)
        {
            map.Report(
                Codes.ToleranceOutOfRange, tolerance.Span, "A part whose tolerance is 100 % or more may be nothing at all.", "a tolerance of less than 100 %", $"`{tolerance.Text}`");
            return null;
        }

        if (tracking.SignedDrift != 0)
        {
            map.Report(
                Codes.Contradiction, tracking.Span, "Which of two resistors drifts up against the other is not known.", "a bound such as ±5 ppm/K", $"`{tracking.Text}`");
            return null;
        }

        // The ratio of two moves by both, so each has half of the tracking; what is left of the tolerance they have in common.
        double own = tracking.Tolerance / 2;
        double ownDrift = tracking.Drift / 2;
        double common = tolerance.Tolerance - own;
        double commonDrift = tolerance.Drift - ownDrift;
        if (common < 0 || (commonDrift < 0 && tolerance.SignedDrift == 0))
        {
            map.Report(
                Codes.Contradiction, tracking.Span, "Two resistors can't differ from each other by more than their tolerances allow.", $"at most twice `{tolerance.Text}`",
                $"`{tracking.Text}`");
            return null;
        }

        Quantity shared = tolerance with { Value = 0, Low = -common, High = common, Drift = Math.Max(0, commonDrift) };
        return new ResistorNetwork(name, new Parameter(name.Value, "common deviation", shared), own, ownDrift, map.Span);
    }
}
