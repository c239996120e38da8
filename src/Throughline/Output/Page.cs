using System.Text;

namespace Throughline.Output;

/// <summary>The ranks of what is written. Colour and weight go to what is not met; what is met stays quiet.</summary>
internal enum Ink
{
    Plain,
    Strong,
    Quiet,
    NotMet,
    Marginal,
}

/// <summary>Writes lines of inked text to a stream. Everything that passes is made safe to show, and no line ends in spaces.</summary>
internal sealed class Page(TextWriter writer, int? width, bool hasColour)
{
    private readonly StringBuilder _line = new();
    private int _kept;

    /// <summary>Columns to keep within; null for lines of any length.</summary>
    public int? Width { get; } = width is null ? null : Math.Max(40, width.Value);

    /// <summary>Columns within which prose reads well; null for lines of any length.</summary>
    public int? ProseWidth => Width is null ? null : Math.Min(Width.Value, 100);

    public static Page ForOutput(Surroundings surroundings) => new(surroundings.Output, surroundings.OutputWidth, surroundings.OutputHasColour);

    public static Page ForError(Surroundings surroundings) => new(surroundings.Error, surroundings.ErrorWidth, surroundings.ErrorHasColour);

    /// <summary>Adds to the current line.</summary>
    public Page Write(string text, Ink ink = Ink.Plain)
    {
        string clean = Cells.Clean(text);
        if (!hasColour || ink == Ink.Plain || string.IsNullOrWhiteSpace(clean))
        {
            _line.Append(clean);
        }
        else
        {
            // Only the theme's own colours: they are legible on the user's ground, whatever it is.
            _line.Append(ink switch
            {
                Ink.Strong => "\e[1m",
                Ink.Quiet => "\e[2m",
                Ink.NotMet => "\e[1;31m",
                _ => "\e[33m",
            }).Append(clean.TrimEnd(' ')).Append("\e[0m").Append(' ', clean.Length - clean.TrimEnd(' ').Length);
        }

        if (!string.IsNullOrWhiteSpace(clean))
        {
            _kept = _line.Length - (clean.Length - clean.TrimEnd(' ').Length);
        }

        return this;
    }

    /// <summary>Ends the current line.</summary>
    public void End()
    {
        _line.Length = _kept;
        writer.Write(_line.Append('\n'));
        _line.Clear();
        _kept = 0;
    }

    public void Line(string text = "", Ink ink = Ink.Plain) => Write(text, ink).End();

    /// <summary>A paragraph with every line indented; the first line begins with <paramref name="lead"/>, the others under what follows it.</summary>
    public void Paragraph(int indent, string lead, string text, Ink ink = Ink.Plain)
    {
        int hang = indent + Cells.Width(lead);
        int room = ProseWidth is int limit ? Math.Max(20, limit - hang) : int.MaxValue;
        bool isFirst = true;
        foreach (string line in Cells.Wrap(Cells.Clean(text), room))
        {
            Write(new string(' ', isFirst ? indent : hang));
            if (isFirst)
            {
                Write(lead, Ink.Quiet);
            }

            Line(line, ink);
            isFirst = false;
        }
    }
}
