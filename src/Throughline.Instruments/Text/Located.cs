namespace Throughline.Instruments;

/// <summary>A value and the place in the file where it is said.</summary>
public readonly record struct Located<T>(T Value, SourceSpan Span)
{
    public override string ToString() => Value?.ToString() ?? "";
}
