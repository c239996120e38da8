using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>A quantity or a range of one.</summary>
internal sealed class QuantityShape(QuantityForm form) : ScalarShape
{
    /// <summary>A value of a block: <c>=R</c>.</summary>
    public const string PlaceholderPattern = "=[A-Za-z][A-Za-z0-9_]*";

    public QuantityForm Form => form;

    public override string Expected => form.Expected;

    public override bool Accepts(ScalarNode node, ShapeContext context) =>
        (context.IsTemplate && IsPlaceholder(node)) || node.ReadAs(form) is not null;

    public override void Judge(ScalarNode node, ShapeContext context)
    {
        if (!(context.IsTemplate && IsPlaceholder(node)) && node.ReadAs(form)?.Problem is { } problem)
        {
            context.Sink.Report(problem.Code, node.Span, problem.Message, problem.Expected, node.Found, problem.Mend);
        }
    }

    public override void Complain(ScalarNode node, ShapeContext context)
    {
        (string code, string found, string? mend) = QuantityComplaint.Explain(node, form);
        context.Sink.Report(code, node.Span, $"Expected {form.Expected}, found {found}.", form.Expected, found, mend);
    }

    /// <summary>Judges what an instance gives for a block's value. A schema doesn't know the block, so it is a matter of meaning.</summary>
    public bool CheckMeaning(ScalarNode node, MapView map)
    {
        ParsedQuantity? parsed = node.ReadAs(form);
        if (parsed is null)
        {
            (_, string found, string? mend) = QuantityComplaint.Explain(node, form);
            map.Report(Codes.WrongKind, node.Span, $"Expected {form.Expected}, found {found}.", form.Expected, found, mend);
            return false;
        }

        if (parsed.Problem is { } problem)
        {
            map.Report(problem.Code, node.Span, problem.Message, problem.Expected, node.Found, problem.Mend);
            return false;
        }

        return true;
    }

    public override JsonObject ToSchema(SchemaWriter writer) => writer.Quantity(form);

    public static bool IsPlaceholder(YamlNode node)
    {
        if (node is not ScalarNode { Type: ScalarType.Text, Text: ['=', var first, ..] } scalar || !char.IsAsciiLetter(first))
        {
            return false;
        }

        foreach (char c in scalar.Text.AsSpan(2))
        {
            if (!char.IsAsciiLetterOrDigit(c) && c != '_')
            {
                return false;
            }
        }

        return true;
    }
}
