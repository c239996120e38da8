using System.Collections.Immutable;
using YamlDotNet.Core;
using YamlDotNet.Core.Events;

namespace Throughline.Instruments;

/// <summary>
/// Reads one YAML document into a tree that knows its places. What an instrument file has no use for and what only serves to exhaust a reader is
/// refused: several documents, tags, keys that are not text, deep nesting, aliases that multiply.
/// </summary>
internal sealed class YamlReader
{
    /// <summary>Far deeper than any instrument; a reader that follows it may recurse.</summary>
    public const int MostDepth = 40;

    /// <summary>Nodes of a document, each counted as often as aliases name it. The largest demo has less than a thousand.</summary>
    public const long MostNodes = 100_000;

    private readonly SourceText _source;
    private readonly DiagnosticSink _sink;
    private readonly Parser _parser;
    private readonly Dictionary<string, YamlNode?> _anchors = [];
    private int _last;

    private YamlReader(SourceText source, DiagnosticSink sink)
    {
        _source = source;
        _sink = sink;
        _parser = new Parser(new StringReader(source.Content));
    }

    /// <summary>The root of the only document; null when there is none or it can't be read to its end.</summary>
    public static YamlNode? Read(SourceText source, DiagnosticSink sink)
    {
        if (!CheckCharacters(source, sink))
        {
            return null;
        }

        YamlReader reader = new(source, sink);
        try
        {
            return reader.ReadStream();
        }
        catch (YamlException e)
        {
            YamlSyntax.Report(source, sink, (int)e.Start.Index, (int)e.End.Index, e.Message, reader._last);
        }
        catch (Exception e) when (e is InvalidOperationException or ArgumentException or FormatException or OverflowException or IndexOutOfRangeException)
        {
            // The YAML library leaves some unclosed brackets and bad escapes to the guards of its own data structures.
            YamlSyntax.Report(source, sink, reader._last, reader._last, e.Message, reader._last);
        }
        catch (GaveUpException)
        {
            // Reported where it was thrown.
        }

        return null;
    }

    /// <summary>YAML 1.2.2, section 5.1: the characters a document may contain.</summary>
    private static bool CheckCharacters(SourceText source, DiagnosticSink sink)
    {
        string text = source.Content;
        for (int i = 0; i < text.Length; i++)
        {
            char c = text[i];
            if (c is (>= ' ' and <= '~') or '\n' or '\r' or '\t' or '\u0085' or (>= '\u00A0' and <= '\uD7FF') or (>= '\uE000' and <= '\uFFFD'))
            {
                continue;
            }

            if (char.IsHighSurrogate(c) && i + 1 < text.Length && char.IsLowSurrogate(text[i + 1]))
            {
                i++;
                continue;
            }

            sink.Report(
                Codes.ControlCharacter, new SourceSpan(source, i, i + 1), "A character that no text contains.", "printable characters", $"the character U+{(int)c:X4}", "delete it");
            return false;
        }

        return true;
    }

    private YamlNode? ReadStream()
    {
        Next<StreamStart>();
        if (Peek() is StreamEnd)
        {
            _sink.Report(Codes.Empty, new SourceSpan(_source, 0, 0), "The file says nothing.", "an instrument", "an empty file");
            return null;
        }

        Next<DocumentStart>();
        YamlNode root = ReadNode(0);
        Next<DocumentEnd>();
        if (Peek() is DocumentStart next)
        {
            // The mark of an implicit second document may lie at the end of what came before.
            _sink.Report(
                Codes.SeveralDocuments, Span(next), "A second document begins here.", "one instrument in one file", "a second document", "put it into a file of its own");
            return null;
        }

        return root;
    }

    private YamlNode ReadNode(int depth)
    {
        ParsingEvent current = Advance();
        if (depth > MostDepth)
        {
            _sink.Report(Codes.TooDeep, Span(current), "Too many levels inside each other.", $"at most {MostDepth} levels", "one level more");
            throw new GaveUpException();
        }

        if (current is AnchorAlias alias)
        {
            return Resolve(alias);
        }

        // The YAML library lets some broken maps end in the middle of an entry.
        NodeEvent node = current as NodeEvent ?? throw new InvalidOperationException("The document ended early.");
        string? anchor = node.Anchor.IsEmpty ? null : node.Anchor.Value;
        if (anchor is not null)
        {
            _anchors[anchor] = null;
        }

        if (!node.Tag.IsEmpty && !node.Tag.IsNonSpecific)
        {
            _sink.Report(Codes.Tag, Span(node), "A tag has no use in an instrument file.", "a value without a tag", $"`{ScalarNode.Short(node.Tag.Value)}`", "delete the tag");
        }

        YamlNode read = node switch
        {
            Scalar scalar => ReadScalar(scalar),
            SequenceStart start => ReadList(start, depth),
            MappingStart start => ReadMap(start, depth),
            _ => throw new InvalidOperationException($"Unexpected {node.GetType().Name}."),
        };
        if (anchor is not null)
        {
            _anchors[anchor] = read;
        }

        if (read.Size > MostNodes)
        {
            _sink.Report(
                Codes.TooMuch, read.Span, "Too much for one instrument; aliases that name each other multiply what they stand for.", $"at most {MostNodes} values", "more");
            throw new GaveUpException();
        }

        return read;
    }

    private YamlNode Resolve(AnchorAlias alias)
    {
        if (!_anchors.TryGetValue(alias.Value.Value, out YamlNode? node))
        {
            _sink.Report(
                Codes.Alias, Span(alias), "Nothing before it has this anchor.", "an alias of an anchor further up", $"`*{alias.Value.Value}`",
                Nearest.Mend("*" + alias.Value.Value, _anchors.Keys.Select(a => "*" + a)));
            return new ScalarNode(Span(alias), "", true);
        }

        if (node is null)
        {
            _sink.Report(Codes.Alias, Span(alias), "An alias stands inside what it names.", "an alias of something else", $"`*{alias.Value.Value}`");
            throw new GaveUpException();
        }

        return node;
    }

    private ScalarNode ReadScalar(Scalar scalar)
    {
        ScalarNode node = new(Span(scalar), scalar.Value, scalar.Style == ScalarStyle.Plain);
        if (!double.IsFinite(node.Number))
        {
            _sink.Report(Codes.NotFinite, node.Span, "Not a finite number.", "a finite number", node.Found);
        }

        return node;
    }

    private ListNode ReadList(SequenceStart start, int depth)
    {
        ImmutableArray<YamlNode>.Builder items = ImmutableArray.CreateBuilder<YamlNode>();
        long size = 0;
        while (Peek() is not SequenceEnd)
        {
            YamlNode item = ReadNode(depth + 1);
            items.Add(item);
            size += item.Size;
            if (size > MostNodes)
            {
                break;
            }
        }

        int lastItem = items.Count > 0 ? items[^1].Span.End : 0;
        return new ListNode(Whole(start, start.Style == SequenceStyle.Flow, size, lastItem), items.ToImmutable());
    }

    private MapNode ReadMap(MappingStart start, int depth)
    {
        ImmutableArray<MapEntry>.Builder entries = ImmutableArray.CreateBuilder<MapEntry>();
        HashSet<string> seen = [];
        long size = 0;
        while (Peek() is not MappingEnd && size <= MostNodes)
        {
            YamlNode key = ReadNode(depth + 1);
            YamlNode value = ReadNode(depth + 1);
            size += key.Size + value.Size;
            if (key is not ScalarNode text)
            {
                _sink.Report(Codes.KeyNotText, key.Span, "A key is a word, not a list or a map.", "a word", key.Found);
                continue;
            }

            if (!seen.Add(text.Text))
            {
                _sink.Report(Codes.DuplicateKey, key.Span, $"The key `{ScalarNode.Short(text.Text)}` stands twice in one map.", "each key once", text.Found, "delete one of the two");
                continue;
            }

            // A key is text whatever it looks like, as in JSON: 7: is the key "7".
            entries.Add(new MapEntry(new ScalarNode(text.Span, text.Text, false), value));
        }

        int lastValue = entries.Count > 0 ? Math.Max(entries[^1].Key.Span.End, entries[^1].Value.Span.End) : 0;
        return new MapNode(Whole(start, start.Style == MappingStyle.Flow, size, lastValue), entries.ToImmutable());
    }

    /// <summary>Takes the end of a collection and gives its place: to its bracket, or to the end of its last entry. An alias's entry lies further up.</summary>
    private SourceSpan Whole(ParsingEvent start, bool isFlow, long size, int lastEntry)
    {
        int from = Start(start);
        if (size > MostNodes)
        {
            return new SourceSpan(_source, from, Math.Max(from, Math.Min(_last, _source.Content.Length)));
        }

        int end = Start(Advance());
        string content = _source.Content;
        end = isFlow ? end < content.Length && content[end] is ']' or '}' ? end + 1 : end : Math.Min(lastEntry, end);
        return new SourceSpan(_source, from, Math.Max(from, end));
    }

    /// <summary>The event ahead, without taking it.</summary>
    private ParsingEvent Peek()
    {
        if (_ahead is null)
        {
            while (_parser.MoveNext())
            {
                if (_parser.Current is not Comment)
                {
                    _ahead = _parser.Current;
                    break;
                }
            }

            _last = Math.Max(_last, Math.Min(_source.Content.Length, (int)(_ahead?.End.Index ?? 0)));
        }

        return _ahead ?? throw new InvalidOperationException("The document ended early.");
    }

    private ParsingEvent? _ahead;

    private ParsingEvent Advance()
    {
        ParsingEvent current = Peek();
        _ahead = null;
        return current;
    }

    private void Next<T>()
        where T : ParsingEvent
    {
        if (Advance() is not T)
        {
            throw new InvalidOperationException($"Expected {typeof(T).Name}.");
        }
    }

    private int Start(ParsingEvent e) => Math.Clamp((int)e.Start.Index, 0, _source.Content.Length);

    private int End(ParsingEvent e) => Math.Clamp((int)e.End.Index, 0, _source.Content.Length);

    private SourceSpan Span(ParsingEvent e) => new(_source, Start(e), Math.Max(Start(e), End(e)));

    /// <summary>Ends the reading of a document; what made it end is reported already.</summary>
    private sealed class GaveUpException : Exception;
}
