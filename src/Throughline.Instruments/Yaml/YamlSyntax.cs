namespace Throughline.Instruments;

/// <summary>Says in our own words what is wrong with a YAML document, from where its reader stopped.</summary>
internal static class YamlSyntax
{
    /// <param name="start">Where the reader's complaint begins.</param>
    /// <param name="end">Where it ends.</param>
    /// <param name="complaint">The reader's own words, by which the kinds of mistake are told apart.</param>
    /// <param name="last">The end of the last thing that was read well.</param>
    public static void Report(SourceText source, DiagnosticSink sink, int start, int end, string complaint, int last)
    {
        int length = source.Content.Length;
        start = Math.Clamp(start, 0, length);
        end = Math.Clamp(end, start, length);
        if (FindTab(source, last) is { } tab)
        {
            sink.Report(Codes.Tab, new SourceSpan(source, tab, tab + 1), "A tab indents this line.", "spaces", "a tab", "indent with spaces");
            return;
        }

        // Some complaints carry no place; what comes after the last thing read is the best there is.
        if (start == 0 && end == 0 && last > 0)
        {
            start = end = last;
        }

        (string message, string expected, string? mend) = KeyBefore(source, start) is { } key
            ? ("A key lacks its colon.", "`key: value`", $"put `: ` behind `{ScalarNode.Short(key)}`")
            : Explain(source, complaint);
        SourceSpan span = new(source, start, Math.Max(end, Math.Min(start + 1, length)));
        string found = FoundAt(source, span.Start);
        sink.Report(Codes.Yaml, span, message, expected, found, mend);
    }

    /// <summary>The word straight before a bracket that opens at a place, as in <c>between [a, b]</c>; null when there is none.</summary>
    private static string? KeyBefore(SourceText source, int at)
    {
        string text = source.Content;
        if (at >= text.Length || text[at] is not ('[' or '{'))
        {
            return null;
        }

        int end = at;
        while (end > 0 && text[end - 1] == ' ')
        {
            end--;
        }

        int start = end;
        while (start > 0 && (char.IsLetterOrDigit(text[start - 1]) || text[start - 1] is '_' or '-' or '+'))
        {
            start--;
        }

        return start == end ? null : text[start..end];
    }

    private static (string Message, string Expected, string? Mend) Explain(SourceText source, string complaint)
    {
        bool Says(string words) => complaint.Contains(words, StringComparison.OrdinalIgnoreCase);

        if (Says("quoted scalar"))
        {
            return Says("escape")
                ? ("A backslash in double quotes begins an escape that YAML doesn't know.", "an escape such as \\n or \\u00B5", "use single quotes to take backslashes as they are")
                : ("A quotation is not closed.", "the closing quotation mark", "close the quotation");
        }

        if (Says("invalid mapping") || Says("mapping values are not allowed"))
        {
            return ("A second `: ` stands where the value of a key is still being written.", "one key and one value",
                "indent the line as its neighbours, or put the value into quotation marks");
        }

        if (Says("flow sequence") || Says("flow mapping") || Says("current state"))
        {
            return ("A bracket or brace is not closed.", "`,` and the next entry, or the closing bracket", "close the bracket");
        }

        if (Says("block mapping") || Says("block collection") || Says("expected key"))
        {
            return ("The line fits neither the lines above it nor a new entry.", "a key of the same indentation", "indent it as its neighbours");
        }

        if (Says("simple key") || Says("could not find expected ':'"))
        {
            return ("A key lacks its colon.", "`key: value`", "put `: ` behind the key");
        }

        if (Says("cannot start any token"))
        {
            return ("No value begins with this character.", "a value", "put the value into quotation marks");
        }

        if (Says("anchor") || Says("alias"))
        {
            return ("An anchor or alias lacks its name.", "`&name` or `*name`", "put the value into quotation marks when no anchor is meant");
        }

        if (Says("tag"))
        {
            return ("A tag has no use in an instrument file.", "a value without a tag", "put the value into quotation marks when no tag is meant");
        }

        if (Says("directive"))
        {
            return ("A directive has no use in an instrument file.", "no line that begins with %", "delete the line");
        }

        if (Says("block scalar"))
        {
            return ("The text behind `|` or `>` is not indented as it should be.", "lines indented by spaces", null);
        }

        return source.Content.Length == 0
            ? ("The file says nothing.", "an instrument", null)
            : ("The text is not well-formed YAML from here on.", "`key: value` lines, lists and maps", null);
    }

    /// <summary>The first tab that indents a line, looked for from the line of the last thing that was read well to the end of the next two.</summary>
    private static int? FindTab(SourceText source, int last)
    {
        int line = source.Position(last).Line;
        for (int i = line; i <= Math.Min(source.LineCount, line + 2); i++)
        {
            int start = source.LineStart(i);
            for (int at = start; at < source.Content.Length && source.Content[at] is ' ' or '\t'; at++)
            {
                if (source.Content[at] == '\t' && at >= start && source.Line(i).Trim().Length > 0)
                {
                    return at;
                }
            }
        }

        return null;
    }

    private static string FoundAt(SourceText source, int at)
    {
        if (at >= source.Content.Length)
        {
            return "the end of the file";
        }

        string rest = source.Line(source.Position(at).Line);
        int column = source.Position(at).Column - 1;
        string shown = column < rest.Length ? rest[column..].Trim() : "";
        return shown.Length == 0 ? "the end of the line" : $"`{ScalarNode.Short(shown)}`";
    }
}
