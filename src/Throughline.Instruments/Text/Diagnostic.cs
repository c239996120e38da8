using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>One mistake in what the user wrote.</summary>
/// <param name="Code">Stable name from the table of codes.</param>
/// <param name="Span">Where it stands.</param>
/// <param name="Message">A sentence that says what is wrong.</param>
/// <param name="Expected">What may stand there.</param>
/// <param name="Found">What stands there.</param>
/// <param name="Mend">What would mend it; null when nothing better than <paramref name="Expected"/> can be said.</param>
public sealed record Diagnostic(string Code, SourceSpan Span, string Message, string Expected, string Found, string? Mend = null);

/// <summary>A result with every mistake met on the way, sorted by file, place, code and message. The value is null when a mistake prevents it.</summary>
public sealed record Parsed<T>(T? Value, ImmutableArray<Diagnostic> Diagnostics)
    where T : class;
