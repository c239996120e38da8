using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>A shape that is asked for only when it is needed: blocks hold parts and are parts themselves.</summary>
internal sealed class LateShape(Func<Shape> get) : Shape
{
    public Shape Target => get();

    public override string Expected => get().Expected;

    public override void Check(YamlNode node, ShapeContext context) => get().Check(node, context);

    public override JsonObject ToSchema(SchemaWriter writer) => get().ToSchema(writer);
}
