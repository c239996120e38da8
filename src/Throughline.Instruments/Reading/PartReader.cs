using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Builds the parts of a circuit, blocks put in.</summary>
internal static class PartReader
{
    /// <param name="node">Parts by name; their shape was checked.</param>
    /// <param name="path">Names of the blocks that they are inside.</param>
    /// <param name="parts">Takes the parts.</param>
    /// <param name="mentioned">Takes what may be nodes of parts that could not be read, so that their loss doesn't make further mistakes.</param>
    public static void Read(
        MapNode node, ReadingContext context, BlockScope scope, ImmutableArray<string> path, List<Part> parts, HashSet<string> mentioned)
    {
        foreach (MapEntry entry in node.Entries)
        {
            if (parts.Count > Block.MostParts)
            {
                context.Sink.Report(
                    Codes.Recursion, scope.IsRoot ? entry.Key.Span : scope.Instance, "The blocks make more parts than an instrument has.",
                    FormattableString.Invariant($"at most {Block.MostParts} parts"), "more");
                return;
            }

            Located<string> name = new(scope.Prefix + entry.Key.Text, scope.IsRoot ? entry.Key.Span : scope.Instance);
            if (entry.Value is not MapNode map || PartKinds.Shape.Kind(map) is not { } shape)
            {
                Mention(entry.Value, scope, mentioned);
                continue;
            }

            MapView view = new(map, shape, context, scope);
            int before = context.Sink.Count;
            if (PartKinds.Of(shape) is not { } kind)
            {
                Block.Expand(name, view, path, parts, mentioned);
                if (context.Sink.Count > before)
                {
                    Mention(map, scope, mentioned);
                }
            }
            else if (kind.Read(name, view) is { } part)
            {
                parts.Add(part);
            }
            else
            {
                Mention(map, scope, mentioned);
            }
        }
    }

    private static void Mention(YamlNode node, BlockScope scope, HashSet<string> mentioned)
    {
        switch (node)
        {
            case ScalarNode scalar:
                mentioned.Add(scope.Node(scalar).Value);
                break;
            case ListNode list:
                foreach (YamlNode item in list.Items)
                {
                    Mention(item, scope, mentioned);
                }

                break;
            case MapNode map:
                foreach (MapEntry entry in map.Entries)
                {
                    Mention(entry.Value, scope, mentioned);
                }

                break;
        }
    }
}
