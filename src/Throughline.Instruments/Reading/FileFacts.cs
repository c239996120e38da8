using System.Collections.Immutable;
using System.Runtime.CompilerServices;

namespace Throughline.Instruments;

/// <summary>One thing that a file says: where it stands in the file's structure, and the words.</summary>
/// <param name="Path">Keys from the root down, such as <c>stages / input / parts / R1 / resistor</c>.</param>
/// <param name="Text">As written, without YAML's quoting; a list of words between brackets.</param>
public sealed record Fact(string Path, string Text, SourceSpan Span);

/// <summary>A file taken apart into what it says, for comparing two revisions.</summary>
public static class FileFacts
{
    // A revision that was read is compared as well: its structure is known.
    private static readonly ConditionalWeakTable<SourceText, YamlNode> Roots = [];

    /// <summary>Every scalar, and every list of scalars, in the order of the file. Empty when the text can't be read as YAML.</summary>
    public static ImmutableArray<Fact> Of(SourceText source)
    {
        ImmutableArray<Fact>.Builder facts = ImmutableArray.CreateBuilder<Fact>();
        if (Roots.TryGetValue(source, out YamlNode? root) || (root = YamlReader.Read(source, new DiagnosticSink())) is not null)
        {
            Add(root, "", facts);
        }

        return facts.ToImmutable();
    }

    /// <summary>Remembers the structure of a text that was read without a mistake.</summary>
    internal static void Hold(SourceText source, YamlNode root) => Roots.AddOrUpdate(source, root);

    private static void Add(YamlNode node, string path, ImmutableArray<Fact>.Builder facts)
    {
        switch (node)
        {
            case ScalarNode scalar:
                facts.Add(new Fact(path, scalar.Text, scalar.Span));
                break;
            case ListNode list when list.Items.All(i => i is ScalarNode):
                facts.Add(new Fact(path, $"[{string.Join(", ", list.Items.Select(i => ((ScalarNode)i).Text))}]", list.Span));
                break;
            case ListNode list:
                for (int i = 0; i < list.Items.Length; i++)
                {
                    // A stage or a step is a map of one key, which names it better than its number does.
                    bool isNamed = list.Items[i] is MapNode { Entries.Length: 1 };
                    Add(list.Items[i], isNamed ? path : Join(path, (i + 1).ToString(System.Globalization.CultureInfo.InvariantCulture)), facts);
                }

                break;
            case MapNode map:
                foreach (MapEntry entry in map.Entries)
                {
                    Add(entry.Value, Join(path, entry.Key.Text), facts);
                }

                break;
        }
    }

    private static string Join(string path, string key) => path.Length == 0 ? key : $"{path} / {key}";
}
