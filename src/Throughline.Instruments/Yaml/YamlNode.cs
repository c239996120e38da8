using System.Collections.Frozen;
using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What a scalar is by the core schema of YAML 1.2.2, section 10.3.2.</summary>
internal enum ScalarType
{
    Null,
    Boolean,
    Number,
    Text,
}

/// <summary>A node of a YAML document with its place.</summary>
internal abstract class YamlNode(SourceSpan span)
{
    public SourceSpan Span { get; } = span;

    /// <summary>Nodes in it, itself included, counting a node as often as aliases name it.</summary>
    public long Size { get; protected init; } = 1;

    /// <summary>What stands there, in words, for messages.</summary>
    public abstract string Found { get; }
}

/// <summary>A scalar.</summary>
internal sealed class ScalarNode : YamlNode
{
    private const int LongestShown = 60;
    private Reading? _reading;

    public ScalarNode(SourceSpan span, string text, bool isPlain)
        : base(span)
    {
        Text = text;
        Type = isPlain ? CoreSchema.Resolve(text, out double number) : Quoted(out number);
        Number = number;
    }

    /// <summary>The characters after YAML's quoting is undone.</summary>
    public string Text { get; }

    public ScalarType Type { get; }

    /// <summary>The value when it is a number.</summary>
    public double Number { get; }

    public override string Found => Type switch
    {
        ScalarType.Null => "nothing",
        ScalarType.Text when Text.Length == 0 => "an empty text",
        _ => $"`{Short(Text)}`",
    };

    /// <summary>The text read as a quantity; null when it is none of the form. The last reading is kept, since it is asked for when the shape is
    /// checked and again when the model is built.</summary>
    public ParsedQuantity? ReadAs(QuantityForm form)
    {
        // One reference, so that threads that share the generic parts library never see half of it.
        Reading? reading = _reading;
        if (!ReferenceEquals(reading?.Form, form))
        {
            reading = new Reading(form, Type switch
            {
                ScalarType.Text => QuantityParser.Parse(Text, form),
                ScalarType.Number => QuantityParser.FromNumber(Number, form),
                _ => null,
            });
            _reading = reading;
        }

        return reading!.Result;
    }

    private sealed record Reading(QuantityForm Form, ParsedQuantity? Result);

    public static string Short(string text)
    {
        text = text.ReplaceLineEndings(" ");
        return text.Length <= LongestShown ? text : text[..(LongestShown - 1)] + "…";
    }

    private static ScalarType Quoted(out double number)
    {
        number = 0;
        return ScalarType.Text;
    }
}

/// <summary>A list.</summary>
internal sealed class ListNode : YamlNode
{
    public ListNode(SourceSpan span, ImmutableArray<YamlNode> items)
        : base(span)
    {
        Items = items;
        Size = 1 + items.Sum(i => i.Size);
    }

    public ImmutableArray<YamlNode> Items { get; }

    public override string Found => Items.Length == 0 ? "an empty list" : "a list";
}

/// <summary>One key of a map with its value.</summary>
internal readonly record struct MapEntry(ScalarNode Key, YamlNode Value);

/// <summary>A map with text keys, no key twice.</summary>
internal sealed class MapNode : YamlNode
{
    private const int FewEntries = 12;
    private readonly FrozenDictionary<string, YamlNode>? _byKey;

    public MapNode(SourceSpan span, ImmutableArray<MapEntry> entries)
        : base(span)
    {
        Entries = entries;
        Size = 1 + entries.Sum(e => 1 + e.Value.Size);
        _byKey = entries.Length > FewEntries ? entries.ToFrozenDictionary(e => e.Key.Text, e => e.Value) : null;
    }

    public ImmutableArray<MapEntry> Entries { get; }

    public override string Found => Entries.Length == 0 ? "an empty map" : "a map of keys and values";

    public YamlNode? this[string key]
    {
        get
        {
            if (_byKey is not null)
            {
                return _byKey.GetValueOrDefault(key);
            }

            foreach (MapEntry entry in Entries)
            {
                if (entry.Key.Text == key)
                {
                    return entry.Value;
                }
            }

            return null;
        }
    }

    public ScalarNode? KeyNode(string key)
    {
        foreach (MapEntry entry in Entries)
        {
            if (entry.Key.Text == key)
            {
                return entry.Key;
            }
        }

        return null;
    }
}
