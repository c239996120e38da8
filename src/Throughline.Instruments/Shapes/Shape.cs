using System.Text.Json.Nodes;

namespace Throughline.Instruments;

/// <summary>
/// What may be written at a place of the file. The reader's check, the JSON Schema and the reference all come from it, so that they say the same.
/// </summary>
internal abstract class Shape
{
    /// <summary>What is asked for, in words, such as <c>a resistance such as 4.7 kΩ</c>.</summary>
    public abstract string Expected { get; }

    /// <summary>Reports everything in the node that is not of the shape, and what a single scalar says that can't be.</summary>
    public abstract void Check(YamlNode node, ShapeContext context);

    /// <summary>The same as JSON Schema, draft 2020-12.</summary>
    public abstract JsonObject ToSchema(SchemaWriter writer);

    /// <summary>The first shape of a type among this and its alternatives.</summary>
    public virtual T? Find<T>()
        where T : Shape => this as T;

    protected void WrongType(YamlNode node, ShapeContext context) =>
        context.Sink.Report(Codes.WrongType, node.Span, $"Expected {Expected}, found {node.Found}.", Expected, node.Found);
}

/// <summary>Where a shape is checked.</summary>
/// <param name="IsTemplate">Inside a block's definition, where <c>=NAME</c> stands for a value of the block.</param>
internal sealed record ShapeContext(DiagnosticSink Sink, bool IsTemplate = false);

/// <summary>A shape of scalars.</summary>
internal abstract class ScalarShape : Shape
{
    public override void Check(YamlNode node, ShapeContext context)
    {
        if (node is not ScalarNode scalar)
        {
            WrongType(node, context);
        }
        else if (Accepts(scalar, context))
        {
            Judge(scalar, context);
        }
        else
        {
            Complain(scalar, context);
        }
    }

    /// <summary>Whether the scalar is of the shape.</summary>
    public abstract bool Accepts(ScalarNode node, ShapeContext context);

    /// <summary>Reports what an accepted scalar says that can't be.</summary>
    public virtual void Judge(ScalarNode node, ShapeContext context)
    {
    }

    /// <summary>Reports why a scalar is not of the shape.</summary>
    public abstract void Complain(ScalarNode node, ShapeContext context);
}
