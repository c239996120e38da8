using Throughline.Instruments;

namespace Throughline.Workbench.State;

/// <summary>A place of the last text without a mistake, found again in the text as it stands now.</summary>
internal static class PlaceInText
{
    /// <summary>Where the place stands now: moved by what was changed before it, and as long as what was changed within it has become.</summary>
    /// <returns>Null when the place is of another text, or when a change runs over one of its ends.</returns>
    public static (int Start, int End)? Find(SessionState state, SourceSpan place)
    {
        if (place.Source is not { } source || state.Followed?.Instrument.Source != source)
        {
            return null;
        }

        (string old, string now) = (source.Content, state.Text);
        if (ReferenceEquals(old, now))
        {
            return (place.Start, place.End);
        }

        // Values are changed within their lines, perhaps several of them before the text is sound again; otherwise one stretch of the text was.
        SourceText later = new(source.Name, now);
        int line = place.Line;
        return later.LineCount == source.LineCount && place.End <= source.LineStart(line) + source.Line(line).Length
            ? Carried(source.Line(line), later.Line(line), place.Start - source.LineStart(line), place.End - source.LineStart(line), later.LineStart(line))
            : Carried(old, now, place.Start, place.End, 0);
    }

    /// <summary>Where a stretch stands after the one part in which two texts differ has changed.</summary>
    /// <param name="offset">Added to what is found.</param>
    private static (int Start, int End)? Carried(string old, string now, int start, int end, int offset)
    {
        int from = old.AsSpan().CommonPrefixLength(now);
        int least = Math.Min(old.Length, now.Length) - from;
        int same = 0;
        while (same < least && old[old.Length - 1 - same] == now[now.Length - 1 - same])
        {
            same++;
        }

        (int to, int grown) = (old.Length - same, now.Length - old.Length);
        (int Start, int End)? found = from == old.Length && grown == 0 ? (start, end)
            : from >= start && to <= end ? (start, end + grown)
            : from >= end ? (start, end)
            : to <= start ? (start + grown, end + grown)
            : null;
        return found is var (a, b) ? (a + offset, b + offset) : null;
    }

    /// <summary>What stands there now, and the mistake that lies in it.</summary>
    public static (string Text, Diagnostic? Mistake) Of(SessionState state, SourceSpan place)
    {
        if (state.Diagnostics.IsEmpty || Find(state, place) is not var (start, end))
        {
            return (place.Text, null);
        }

        return (state.Text[start..end], MistakeAt(state.Diagnostics, state.Text, start, end));
    }

    /// <summary>The first mistake of a text that touches a stretch of it.</summary>
    public static Diagnostic? MistakeAt(IEnumerable<Diagnostic> mistakes, string text, int start, int end) =>
        mistakes.FirstOrDefault(d => d.Span.Source?.Content == text && d.Span.Start <= end && d.Span.End >= start);
}
