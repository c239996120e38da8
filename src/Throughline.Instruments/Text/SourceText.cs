namespace Throughline.Instruments;

/// <summary>A file's text as it was read, with its name, and the way from character offsets to lines and columns.</summary>
public sealed class SourceText
{
    private readonly int[] _lineStarts;

    /// <param name="name">The name shown to the user, as they gave it.</param>
    /// <param name="content">The whole text.</param>
    public SourceText(string name, string content)
    {
        Name = name;
        Content = content;
        List<int> starts = [0];
        for (int i = 0; i < content.Length; i++)
        {
            if (content[i] == '\n')
            {
                starts.Add(i + 1);
            }
        }

        _lineStarts = [.. starts];
    }

    public string Name { get; }

    public string Content { get; }

    public int LineCount => _lineStarts.Length;

    /// <summary>Line and column, both counted from 1, of a character offset; an offset past the end is the end.</summary>
    public (int Line, int Column) Position(int offset)
    {
        offset = Math.Clamp(offset, 0, Content.Length);
        int index = Array.BinarySearch(_lineStarts, offset);
        int line = index >= 0 ? index : ~index - 1;
        return (line + 1, offset - _lineStarts[line] + 1);
    }

    /// <summary>The character offset at which a line counted from 1 begins.</summary>
    public int LineStart(int line) => _lineStarts[line - 1];

    /// <summary>The text of a line counted from 1, without its line break.</summary>
    public string Line(int line)
    {
        int start = _lineStarts[line - 1];
        int end = line < _lineStarts.Length ? _lineStarts[line] : Content.Length;
        return Content[start..end].TrimEnd('\n', '\r');
    }
}
