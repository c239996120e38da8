using System.Collections.Immutable;
using System.Globalization;
using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>Any text; numbers and the words true and false are texts here as well.</summary>
internal sealed class TextShape(string expected = "a text") : ScalarShape
{
    public bool AllowEmpty { get; init; }

    public override string Expected => expected;

    public override bool Accepts(ScalarNode node, ShapeContext context) =>
        node.Type != ScalarType.Null && (AllowEmpty || node.Text.Length > 0);

    public override void Complain(ScalarNode node, ShapeContext context) => WrongType(node, context);

    public override JsonObject ToSchema(SchemaWriter writer)
    {
        JsonObject schema = new() { ["type"] = new JsonArray("string", "number", "boolean") };
        if (!AllowEmpty)
        {
            schema["minLength"] = 1;
        }

        return schema;
    }
}

/// <summary>A name: letters, digits and <c>_ + . -</c>, no blank.</summary>
internal sealed class NameShape(string expected) : ScalarShape
{
    public const string Letters = "[A-Za-z0-9_+.\\-]+";

    public override string Expected => expected;

    public override bool Accepts(ScalarNode node, ShapeContext context) =>
        node.Type == ScalarType.Number || (node.Type == ScalarType.Text && IsName(node.Text));

    public override void Complain(ScalarNode node, ShapeContext context)
    {
        if (node.Type != ScalarType.Text)
        {
            WrongType(node, context);
            return;
        }

        string cleaned = string.Concat(node.Text.Trim().Select(c => IsNameCharacter(c) ? c : '-'));
        context.Sink.Report(
            Codes.NotAName, node.Span, $"Expected {Expected}, found {node.Found}.", $"{Expected}: letters, digits, _ + . -", node.Found,
            cleaned.Length > 0 && cleaned.Length < 40 ? $"write `{cleaned}`" : null);
    }

    public override JsonObject ToSchema(SchemaWriter writer) => new()
    {
        ["anyOf"] = new JsonArray(
            new JsonObject { ["type"] = "string", ["pattern"] = PatternText.Whole(Letters) },
            new JsonObject { ["type"] = "number" }),
    };

    public static bool IsName(string text)
    {
        foreach (char c in text)
        {
            if (!IsNameCharacter(c))
            {
                return false;
            }
        }

        return text.Length > 0;
    }

    private static bool IsNameCharacter(char c) => char.IsAsciiLetterOrDigit(c) || c is '_' or '+' or '.' or '-';
}

/// <summary>One of some words. A word that is a number is taken as a number too.</summary>
internal sealed class WordShape(params string[] words) : ScalarShape
{
    public ImmutableArray<string> Words { get; } = [.. words];

    public override string Expected => Words.Length == 1 ? $"`{Words[0]}`" : Nearest.OneOf(Words);

    public override bool Accepts(ScalarNode node, ShapeContext context) => Word(node) is not null;

    /// <summary>The word that the scalar says.</summary>
    public string? Word(ScalarNode node)
    {
        foreach (string word in Words)
        {
            bool same = node.Type switch
            {
                ScalarType.Text => node.Text == word,
                ScalarType.Number => CoreSchema.Resolve(word, out double number) == ScalarType.Number && number == node.Number,
                _ => false,
            };
            if (same)
            {
                return word;
            }
        }

        return null;
    }

    public override void Complain(ScalarNode node, ShapeContext context) =>
        context.Sink.Report(Codes.UnknownWord, node.Span, $"Expected {Expected}, found {node.Found}.", Expected, node.Found, Nearest.Mend(node.Text, Words));

    public override JsonObject ToSchema(SchemaWriter writer)
    {
        JsonArray values = [];
        foreach (string word in Words)
        {
            values.Add(word);
            if (CoreSchema.Resolve(word, out double number) == ScalarType.Number)
            {
                values.Add(number);
            }
        }

        return new JsonObject { ["enum"] = values };
    }
}

/// <summary>A whole number.</summary>
internal sealed class IntegerShape(int least, int greatest) : ScalarShape
{
    public override string Expected => string.Create(CultureInfo.InvariantCulture, $"a whole number from {QuantityText.Integer(least)} to {QuantityText.Integer(greatest)}");

    public override bool Accepts(ScalarNode node, ShapeContext context) =>
        node.Type == ScalarType.Number && node.Number >= least && node.Number <= greatest && Math.Floor(node.Number) == node.Number;

    public override void Complain(ScalarNode node, ShapeContext context) =>
        context.Sink.Report(Codes.NotAnInteger, node.Span, $"Expected {Expected}, found {node.Found}.", Expected, node.Found);

    public override JsonObject ToSchema(SchemaWriter writer) => new() { ["type"] = "integer", ["minimum"] = least, ["maximum"] = greatest };
}

/// <summary>A plain number.</summary>
internal sealed class NumberShape(double least, double greatest) : ScalarShape
{
    public override string Expected => string.Create(CultureInfo.InvariantCulture, $"a number from {least} to {greatest}");

    public override bool Accepts(ScalarNode node, ShapeContext context) => node.Type == ScalarType.Number && node.Number >= least && node.Number <= greatest;

    public override void Complain(ScalarNode node, ShapeContext context) => WrongType(node, context);

    public override JsonObject ToSchema(SchemaWriter writer) => new() { ["type"] = "number", ["minimum"] = least, ["maximum"] = greatest };
}

/// <summary>Yes or no.</summary>
internal sealed class FlagShape : ScalarShape
{
    public override string Expected => "`true` or `false`";

    public override bool Accepts(ScalarNode node, ShapeContext context) => node.Type == ScalarType.Boolean;

    public override void Complain(ScalarNode node, ShapeContext context) => WrongType(node, context);

    public override JsonObject ToSchema(SchemaWriter writer) => new() { ["type"] = "boolean" };
}

/// <summary>A text of a given form.</summary>
/// <param name="pattern">ECMA-262, without anchors; the predicate takes exactly the same texts.</param>
internal sealed class PatternShape(string expected, string pattern, Func<string, bool> predicate) : ScalarShape
{
    public override string Expected => expected;

    public override bool Accepts(ScalarNode node, ShapeContext context) => node.Type == ScalarType.Text && predicate(node.Text);

    public override void Complain(ScalarNode node, ShapeContext context) => WrongType(node, context);

    public override JsonObject ToSchema(SchemaWriter writer) => new() { ["type"] = "string", ["pattern"] = PatternText.Whole(pattern) };
}
