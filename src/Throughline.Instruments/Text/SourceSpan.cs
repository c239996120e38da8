namespace Throughline.Instruments;

/// <summary>A half-open stretch of characters of one file. The default value is nowhere.</summary>
public readonly record struct SourceSpan(SourceText? Source, int Start, int End)
{
    public bool IsNowhere => Source is null;

    /// <summary>Line counted from 1; 0 when nowhere.</summary>
    public int Line => Source?.Position(Start).Line ?? 0;

    /// <summary>Column counted from 1; 0 when nowhere.</summary>
    public int Column => Source?.Position(Start).Column ?? 0;

    /// <summary>The characters of the span, empty when nowhere.</summary>
    public string Text => Source is null ? "" : Source.Content[Start..Math.Min(End, Source.Content.Length)];

    /// <summary>The file's name with line and column, such as <c>instrument.yaml:12:5</c>.</summary>
    public override string ToString() => Source is null ? "" : FormattableString.Invariant($"{Source.Name}:{Line}:{Column}");
}
