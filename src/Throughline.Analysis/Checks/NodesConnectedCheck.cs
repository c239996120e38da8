using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Every node has at least two terminals on it and a way to a return.</summary>
internal sealed class NodesConnectedCheck : Check
{
    public override string Name => "every node connected";

    public override string MustHold => "Every node joins at least two terminals, and direct current finds a way from it to the return of its island.";

    public override string Formula => "Terminals are counted per node; islands are the sets of nodes joined by anything that conducts at direct current. "
        + "Capacitors, amplifier inputs and isolation barriers do not conduct.";

    public override string Source => "Kirchhoff's current law: a node that nothing holds has no voltage. Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        Dictionary<string, List<(string Owner, SourceSpan Span, string Stage)>> terminals = [];
        void Count(string owner, Located<string> node, string stage)
        {
            if (!terminals.TryGetValue(node.Value, out List<(string, SourceSpan, string)>? list))
            {
                terminals[node.Value] = list = [];
            }

            list.Add((owner, node.Span, stage));
        }

        foreach (Terminal t in instrument.Sensor.Terminals)
        {
            Count("the sensor", t.Node, "sensor");
        }

        foreach (Supply supply in instrument.Supplies)
        {
            Count(supply.Name.Value, supply.Name, "supplies");
            Count(supply.Name.Value, supply.Return, "supplies");

            // A rail may feed what the file does not draw, such as the processor.
            Count(supply.Name.Value, supply.Name, "supplies");
            Count(supply.Name.Value, supply.Return, "supplies");
        }

        foreach (CircuitStage stage in context.Model.CircuitStages)
        {
            foreach (Part part in stage.Parts)
            {
                foreach (Terminal t in part.Terminals)
                {
                    Count(part.Name.Value, t.Node, stage.Name.Value);
                }
            }
        }

        foreach (Stage stage in instrument.Stages)
        {
            Located<string>?[] pins = stage switch
            {
                ConverterStage c => [c.Input, c.InputReturn, c.ReferenceNodes?.Plus, c.ReferenceNodes?.Minus],
                OutputConverterStage d => [d.Output, d.OutputReturn, d.ReferenceNodes?.Plus, d.ReferenceNodes?.Minus],
                _ => [],
            };
            foreach (Located<string>? pin in pins)
            {
                if (pin is { } node)
                {
                    Count(stage.Name.Value, node, stage.Name.Value);
                }
            }
        }

        if (instrument.Loop is { } loop)
        {
            Count("the " + loop.Signal.Place, loop.Plus, loop.Signal.Place);
            Count("the " + loop.Signal.Place, loop.Minus, loop.Signal.Place);
        }

        HashSet<string> reported = [];
        foreach ((string node, List<(string Owner, SourceSpan Span, string Stage)> at) in terminals)
        {
            if (at.Count == 1 && reported.Add(node))
            {
                yield return CheckContext.Finding(
                    this,
                    node,
                    at[0].Stage,
                    -1,
                    $"Node {node} has a single terminal on it, that of {at[0].Owner}.",
                    [],
                    NearestMend(node, terminals.Keys),
                    at[0].Span);
            }
        }

        foreach (NodeId floating in context.Model.Field.Network.FloatingNodes)
        {
            string node = context.Model.Field.Network.NodeName(floating);
            if (reported.Contains(node) || !reported.Add(node))
            {
                continue;
            }

            (string stage, SourceSpan span) = terminals.TryGetValue(node, out List<(string Owner, SourceSpan Span, string Stage)>? at)
                ? (at[0].Stage, at[0].Span)
                : ("instrument", instrument.Span);
            yield return CheckContext.Finding(
                this, node, stage, -1, context.Model.Field.Network.FloatingReason(floating) ?? $"Node {node} floats.", [], "Give it a path for direct current to the return of its island.", span);
        }

        if (reported.Count == 0)
        {
            yield return CheckContext.Finding(
                this,
                "network",
                "instrument",
                1,
                $"{terminals.Count} nodes, each with two terminals or more and a way to its return.",
                [new Figure("nodes", terminals.Count, "")],
                null,
                instrument.Span);
        }
    }

    private static string NearestMend(string node, IEnumerable<string> others)
    {
        string? nearest = others.Where(o => o != node).OrderBy(o => Distance(o, node)).FirstOrDefault();
        return nearest is not null && Distance(nearest, node) <= Math.Max(2, node.Length / 3)
            ? $"Is {nearest} meant? Else connect a second part to {node}."
            : $"Connect a second part to {node}, or take the part off it.";
    }

    private static int Distance(string a, string b)
    {
        int[] row = [.. Enumerable.Range(0, b.Length + 1)];
        for (int i = 1; i <= a.Length; i++)
        {
            int diagonal = row[0];
            row[0] = i;
            for (int j = 1; j <= b.Length; j++)
            {
                int kept = row[j];
                row[j] = Math.Min(Math.Min(row[j] + 1, row[j - 1] + 1), diagonal + (a[i - 1] == b[j - 1] ? 0 : 1));
                diagonal = kept;
            }
        }

        return row[^1];
    }
}
