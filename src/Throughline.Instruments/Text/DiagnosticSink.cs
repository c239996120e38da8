using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>Collects diagnostics of one run. One thread.</summary>
internal sealed class DiagnosticSink
{
    /// <summary>More than this helps nobody and a hostile file could ask for millions.</summary>
    private const int Most = 500;

    private readonly List<Diagnostic> _found = [];
    private readonly HashSet<(string Code, SourceSpan Span, string Message)> _seen = [];

    public int Count => _found.Count;

    /// <summary>Whether no more is taken, so that nobody need work out what to say.</summary>
    public bool IsFull => _found.Count >= Most;

    public void Report(string code, SourceSpan span, string message, string expected, string found, string? mend = null)
    {
        // A node that is named by several aliases is judged at every use and reported once.
        if (_found.Count < Most && _seen.Add((code, span, message)))
        {
            _found.Add(new Diagnostic(code, span, message, expected, found.Length == 0 ? "nothing" : found, mend));
        }
    }

    public bool HasAny(DiagnosticClass kind) => _found.Exists(d => Codes.ClassOf(d.Code) == kind);

    /// <summary>Sorted by file, place, code and message, the file named first being the instrument's.</summary>
    public ImmutableArray<Diagnostic> ToSorted() =>
    [
        .. _found.OrderBy(d => d.Span.Source?.Name, StringComparer.Ordinal)
            .ThenBy(d => d.Span.Start).ThenBy(d => d.Span.End)
            .ThenBy(d => d.Code, StringComparer.Ordinal).ThenBy(d => d.Message, StringComparer.Ordinal),
    ];
}
