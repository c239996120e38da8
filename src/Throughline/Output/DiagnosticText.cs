using System.Collections.Immutable;
using System.Globalization;
using Throughline.Instruments;

namespace Throughline.Output;

/// <summary>The mistakes of a file: each with its line, a caret run under what is wrong, and what was expected, found and would mend it.</summary>
internal static class DiagnosticText
{
    /// <summary>More than this many mistakes of one file say no more; the count does.</summary>
    private const int Most = 50;

    private const int Indent = 6;

    public static void Write(Page page, string file, ImmutableArray<Diagnostic> diagnostics)
    {
        foreach (Diagnostic diagnostic in diagnostics.Take(Most))
        {
            One(page, diagnostic);
            page.Line();
        }

        string count = diagnostics.Length == 1 ? "1 mistake" : Throughline.Analysis.Engineering.Fixed(diagnostics.Length, 0) + " mistakes";
        string left = diagnostics.Length > Most ? $", of which the first {Most} are shown" : "";
        page.Write(count, Ink.NotMet).Line($" in {file}{left}");
    }

    private static void One(Page page, Diagnostic diagnostic)
    {
        SourceSpan span = diagnostic.Span;
        if (!span.IsNowhere)
        {
            page.Write(span.ToString(), Ink.Strong).Write(": ");
        }

        page.Line(diagnostic.Message);
        if (span.Source is SourceText source && source.Content.Length > 0)
        {
            Excerpt(page, span, source.Line(span.Line));
        }

        // A message may say both itself: then once is enough.
        if (!diagnostic.Message.Contains(diagnostic.Expected, StringComparison.Ordinal) || !diagnostic.Message.Contains(diagnostic.Found, StringComparison.Ordinal))
        {
            page.Paragraph(Indent, "expected  ", diagnostic.Expected);
            page.Paragraph(Indent, "found     ", diagnostic.Found);
        }

        if (diagnostic.Mend is string mend)
        {
            page.Paragraph(Indent, "mend      ", mend);
        }
    }

    /// <summary>The line that holds the span, or the part of it around the span when it is too long, and the carets.</summary>
    private static void Excerpt(Page page, SourceSpan span, string line)
    {
        int from = Math.Min(span.Column - 1, line.Length);
        int to = Math.Clamp(from + Math.Max(1, span.End - span.Start), from, Math.Max(from, line.Length));
        string number = Cells.PadLeft(span.Line.ToString(CultureInfo.InvariantCulture), Indent - 1);
        int room = (page.Width ?? 160) - Indent - 3;
        int start = 0;
        if (line.Length > room)
        {
            start = Math.Clamp(from - (room / 3), 0, line.Length - room + 1);
        }

        // Never half of a character outside the basic plane.
        if (start > 0 && char.IsLowSurrogate(line[start]))
        {
            start++;
        }

        string before = (start > 0 ? "…" : "") + Cells.Clean(line[start..from]);
        string marked = Cells.Clean(line[from..to]);
        string after = Cells.Clean(line[to..]);
        string shown = Cells.Fit(before + marked + after, room);
        int caretRoom = Math.Max(1, Math.Min(Cells.Width(shown), room) - Cells.Width(before));
        int carets = Math.Clamp(Cells.Width(marked), 1, caretRoom);
        page.Write(number + " │ ", Ink.Quiet).Line(shown);
        page.Write(new string(' ', Indent) + "│ ", Ink.Quiet).Write(new string(' ', Cells.Width(before)));
        page.Line(new string('^', carets), Ink.NotMet);
    }
}
