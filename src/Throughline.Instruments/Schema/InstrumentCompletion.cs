using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What may be written at a place of an instrument file, from the same grammar that checks it.</summary>
public static class InstrumentCompletion
{
    /// <summary>A word that no file has: it stands where the cursor is.</summary>
    private const string Marker = "zz-here-zz";

    /// <summary>Finds what may stand at the cursor.</summary>
    /// <param name="text">The whole text as it is, finished or not.</param>
    /// <param name="position">The cursor, in characters from the beginning.</param>
    /// <returns>Nothing where anything may stand, or where the text around the cursor can't be understood.</returns>
    public static Completion At(string text, int position)
    {
        position = Math.Clamp(position, 0, text.Length);
        Cursor cursor = Cursor.In(text, position);
        if (cursor.IsInComment)
        {
            return Completion.Nothing(position);
        }

        string before = text[..cursor.WordStart];
        string after = text[cursor.WordEnd..];
        bool hasColon = after.TrimStart(' ').StartsWith(':');
        foreach (string marked in cursor.IsKey && !hasColon ? new[] { Marker + ": 0", Marker } : [Marker])
        {
            if (Parse(before + marked + after, cursor.WordStart) is { } root && Find(root, InstrumentShape.Root) is { } place)
            {
                return new Completion(cursor.WordStart, position, Options(place, root, isFollowed: hasColon));
            }
        }

        return Completion.Nothing(position);
    }

    /// <summary>The tree of the text; where the rest of it can't be read, of the text up to the cursor's line with its braces closed.</summary>
    private static YamlNode? Parse(string text, int cursor)
    {
        if (Try(text) is { } whole)
        {
            return whole;
        }

        int end = text.IndexOf('\n', cursor);
        string head = end < 0 ? text : text[..end];
        return Try(head) ?? Try(head + Cursor.Closing(head)) ?? Try(text[..(cursor + Marker.Length)] + Cursor.Closing(text[..cursor]));

        static YamlNode? Try(string text)
        {
            DiagnosticSink sink = new();
            YamlNode? root = YamlReader.Read(new SourceText("", text), sink);
            return sink.Count == 0 ? root : null;
        }
    }

    /// <summary>The place of the marker: the map it is a key of, or the shape that it is a value of.</summary>
    private static Place? Find(YamlNode node, Shape shape)
    {
        shape = Plain(shape, node);
        switch (node)
        {
            case ScalarNode scalar when scalar.Text == Marker:
                return new Place(shape, null);
            case ListNode list:
                Shape? item = (shape as ListShape)?.Item;
                return list.Items.Select(i => Find(i, item ?? Anything)).FirstOrDefault(p => p is not null);
            case MapNode map:
                foreach (MapEntry entry in map.Entries)
                {
                    if (entry.Key.Text == Marker)
                    {
                        return new Place(shape, map);
                    }

                    if (Find(entry.Value, ValueShape(shape, map, entry.Key.Text)) is { } inner)
                    {
                        return inner;
                    }
                }

                return null;
            default:
                return null;
        }
    }

    private static Shape Anything { get; } = new TextShape();

    /// <summary>The shape itself, alternatives resolved by the node that stands there.</summary>
    private static Shape Plain(Shape shape, YamlNode node) => shape switch
    {
        LateShape late => Plain(late.Target, node),
        TemplateShape template => Plain(template.Inner, node),
        EitherShape either => node switch
        {
            ScalarNode => either,
            ListNode => (Shape?)either.Find<ListShape>() ?? either,
            _ => either.Alternatives.Select(a => Plain(a, node)).FirstOrDefault(a => a is MapShape or DictionaryShape or KindShape or PartShape) ?? either,
        },
        _ => shape,
    };

    private static Shape ValueShape(Shape shape, MapNode map, string key) => shape switch
    {
        MapShape m => m[key]?.Shape ?? m.Others ?? Anything,
        DictionaryShape d => d.Value,
        KindShape k when key == k.Telling.Key => k.Telling.Words,
        KindShape k => k.Case(map) is { } found ? ValueShape(found, map, key) : k.Cases.Select(c => c.Shape[key]?.Shape).FirstOrDefault(s => s is not null) ?? Anything,
        PartShape p => p.Kind(map) is { } kind ? ValueShape(kind, map, key) : Anything,
        _ => Anything,
    };

    private static ImmutableArray<CompletionOption> Options(Place place, YamlNode root, bool isFollowed)
    {
        if (place.Map is { } map)
        {
            return Keys(place.Shape, map, isFollowed);
        }

        List<CompletionOption> options = [];
        Values(place.Shape, root, options);
        return [.. options.DistinctBy(o => o.Label)];
    }

    private static ImmutableArray<CompletionOption> Keys(Shape shape, MapNode map, bool isFollowed)
    {
        string ending = isFollowed ? "" : ": ";
        return shape switch
        {
            MapShape m =>
            [
                .. m.Keys.Where(k => map[k.Name] is null && IsStillFree(m, map, k.Name))
                    .Select(k => new CompletionOption(k.Name, k.Name + ending, k.Shape.Expected, k.Doc.Replace("`", "", StringComparison.Ordinal) + (k.Default is null ? "" : $" When left out: {k.Default}."), k.IsRequired)),
            ],
            KindShape k => k.Case(map) is { } found ? Keys(found, map, isFollowed) : [new CompletionOption(k.Telling.Key, k.Telling.Key + ending, k.Expected, "What it is.", true)],
            PartShape p => p.Kind(map) is { } kind
                ? Keys(kind, map, isFollowed)
                : [.. p.Kinds.Select(k => new CompletionOption(k.Title, k.Title + ending, k.Expected, k.Doc.Replace("`", "", StringComparison.Ordinal), false))],
            _ => [],
        };
    }

    private static bool IsStillFree(MapShape shape, MapNode map, string key)
    {
        IEnumerable<ImmutableArray<string>> groups = shape.ExactlyOneOf.Where(g => g.Contains(key));
        return !groups.Any() || groups.Any(g => !shape.ExactlyOneOf.Any(other => other != g && !other.Contains(key) && other.Any(k => map[k] is not null)));
    }

    private static void Values(Shape shape, YamlNode root, List<CompletionOption> options)
    {
        switch (shape)
        {
            case LateShape late:
                Values(late.Target, root, options);
                break;
            case TemplateShape template:
                Values(template.Inner, root, options);
                break;
            case EitherShape either:
                foreach (Shape alternative in either.Alternatives)
                {
                    Values(alternative, root, options);
                }

                break;
            case WordShape words:
                options.AddRange(words.Words.Select(w => new CompletionOption(w, w, "", "", false)));
                break;
            case FlagShape:
                options.Add(new CompletionOption("true", "true", "", "", false));
                options.Add(new CompletionOption("false", "false", "", "", false));
                break;
            case NameShape name:
                SortedSet<string> names = new(StringComparer.Ordinal);
                Gather(root, InstrumentShape.Root, name.Expected, names);
                options.AddRange(names.Where(n => n != Marker).Select(n => new CompletionOption(n, n, name.Expected, "", false)));
                break;
        }
    }

    /// <summary>Names that the file itself has, wherever one of that kind is asked for.</summary>
    private static void Gather(YamlNode node, Shape shape, string expected, SortedSet<string> names)
    {
        Shape plain = Plain(shape, node);
        switch (node)
        {
            case ScalarNode scalar:
                IEnumerable<Shape> shapes = plain is EitherShape either ? either.Alternatives : [plain];
                if (shapes.OfType<NameShape>().Any(n => n.Expected == expected) && NameShape.IsName(scalar.Text))
                {
                    names.Add(scalar.Text);
                }

                break;
            case ListNode list:
                foreach (YamlNode item in list.Items)
                {
                    Gather(item, (plain as ListShape)?.Item ?? Anything, expected, names);
                }

                break;
            case MapNode map:
                foreach (MapEntry entry in map.Entries)
                {
                    if (plain is DictionaryShape { KeyShape: NameShape key } && key.Expected == expected)
                    {
                        names.Add(entry.Key.Text);
                    }

                    Gather(entry.Value, ValueShape(plain, map, entry.Key.Text), expected, names);
                }

                break;
        }
    }

    /// <param name="Map">The map that the marker is a key of; null where it is a value.</param>
    private sealed record Place(Shape Shape, MapNode? Map);

    /// <summary>The word at the cursor and what kind of word it is, by the characters before it.</summary>
    private readonly record struct Cursor(int WordStart, int WordEnd, bool IsKey, bool IsInComment)
    {
        public static Cursor In(string text, int position)
        {
            int line = position == 0 ? 0 : text.LastIndexOf('\n', position - 1) + 1;
            string head = text[line..position];
            int comment = head.IndexOf('#', StringComparison.Ordinal);
            if (comment >= 0 && (comment == 0 || head[comment - 1] == ' '))
            {
                return new Cursor(position, position, false, IsInComment: true);
            }

            int start = head.Length;
            while (start > 0 && head[start - 1] is not ('{' or '[' or ',' or ':' or '"' or '\''))
            {
                start--;
            }

            string lead = head[..start];
            string word = head[start..];
            int blanks = word.Length - word.TrimStart(' ').Length;
            int dashes = lead.Length == 0 && word.TrimStart(' ').StartsWith("- ", StringComparison.Ordinal) ? 2 : 0;
            int wordStart = line + start + blanks + dashes;
            int end = position;
            while (end < text.Length && text[end] is not ('{' or '}' or '[' or ']' or ',' or ':' or '\n' or '#'))
            {
                end++;
            }

            while (end > position && text[end - 1] == ' ')
            {
                end--;
            }

            char delimiter = lead.Length > 0 ? lead[^1] : '\n';
            bool isKey = delimiter switch
            {
                '{' => true,
                ',' => Closing(text[..position]).StartsWith('}'),
                '\n' => true,
                _ => false,
            };
            return new Cursor(Math.Min(wordStart, position), end, isKey, IsInComment: false);
        }

        /// <summary>The brackets that would close what is open at the end of a text.</summary>
        public static string Closing(string text)
        {
            Stack<char> open = new();
            char quote = '\0';
            for (int i = 0; i < text.Length; i++)
            {
                char c = text[i];
                if (quote != '\0')
                {
                    quote = c == quote || c == '\n' ? '\0' : quote;
                    continue;
                }

                switch (c)
                {
                    case '"' when i == 0 || text[i - 1] is ' ' or '[' or '{' or ',':
                        quote = c;
                        break;
                    case '#' when i == 0 || text[i - 1] is ' ' or '\n':
                        i = text.IndexOf('\n', i) is >= 0 and int end ? end - 1 : text.Length;
                        break;
                    case '{':
                        open.Push('}');
                        break;
                    case '[':
                        open.Push(']');
                        break;
                    case '}' or ']' when open.Count > 0:
                        open.Pop();
                        break;
                }
            }

            return string.Concat(open);
        }
    }
}

/// <summary>What may stand at a place.</summary>
/// <param name="From">Where the word at the cursor begins.</param>
/// <param name="To">The cursor.</param>
public sealed record Completion(int From, int To, ImmutableArray<CompletionOption> Options)
{
    /// <summary>Nothing to offer.</summary>
    public static Completion Nothing(int position) => new(position, position, []);
}

/// <summary>One of the words.</summary>
/// <param name="Label">As it is listed.</param>
/// <param name="Text">As it is written.</param>
/// <param name="Expected">What is to follow it, or what it is; may be empty.</param>
/// <param name="Doc">A sentence; may be empty.</param>
/// <param name="IsRequired">Whether the place needs it.</param>
public sealed record CompletionOption(string Label, string Text, string Expected, string Doc, bool IsRequired);
