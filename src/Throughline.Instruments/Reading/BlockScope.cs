using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Where the parts of a block stand: how its inner names become names of the instrument.</summary>
/// <param name="Prefix">Name of the instance and a dot; empty for the instrument itself.</param>
/// <param name="Terminals">The block's terminals and the nodes of the instrument they are on.</param>
/// <param name="Values">The block's values and what the instance gives for them.</param>
/// <param name="Instance">Where the instance is written.</param>
/// <param name="Depth">How many blocks it is inside.</param>
internal sealed record BlockScope(
    string Prefix,
    ImmutableDictionary<string, Located<string>> Terminals,
    ImmutableDictionary<string, YamlNode> Values,
    SourceSpan Instance,
    int Depth)
{
    public static readonly BlockScope Root = new("", ImmutableDictionary<string, Located<string>>.Empty, ImmutableDictionary<string, YamlNode>.Empty, default, 0);

    public bool IsRoot => Depth == 0;

    /// <summary>The instrument's node that a name inside the block means.</summary>
    public Located<string> Node(ScalarNode node)
    {
        if (IsRoot)
        {
            return new Located<string>(node.Text, node.Span);
        }

        return Terminals.TryGetValue(node.Text, out Located<string> outer) ? outer : new Located<string>(Prefix + node.Text, Instance);
    }

    /// <summary>The node itself, or what the instance gives for it when it is <c>=NAME</c>.</summary>
    public YamlNode Resolve(YamlNode node) =>
        !IsRoot && QuantityShape.IsPlaceholder(node) && Values.TryGetValue(((ScalarNode)node).Text[1..], out YamlNode? value) ? value : node;
}
