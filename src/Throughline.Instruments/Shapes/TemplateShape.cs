using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>A shape inside a block's definition, where <c>=NAME</c> may stand for any quantity.</summary>
internal sealed class TemplateShape(Shape inner) : Shape
{
    public Shape Inner => inner;

    public override string Expected => inner.Expected;

    public override void Check(YamlNode node, ShapeContext context) => inner.Check(node, context with { IsTemplate = true });

    public override JsonObject ToSchema(SchemaWriter writer) => inner.ToSchema(writer.Template);
}
