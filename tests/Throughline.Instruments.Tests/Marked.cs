namespace Throughline.Instruments.Tests;

/// <summary>A text in which <c>[|</c> and <c>|]</c> mark where a mistake has to be shown.</summary>
internal sealed class Marked
{
    public Marked(string text)
    {
        Start = text.IndexOf("[|", StringComparison.Ordinal);
        text = text.Remove(Start, 2);
        End = text.IndexOf("|]", StringComparison.Ordinal);
        Text = text.Remove(End, 2);
    }

    public string Text { get; }

    public int Start { get; }

    public int End { get; }
}
