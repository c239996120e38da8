using System.Globalization;
using System.Text;

namespace Throughline;

/// <summary>What a command writes to: two streams, whether a person looks at them, and how wide they are.</summary>
/// <param name="Output">Results.</param>
/// <param name="Error">Mistakes and faults.</param>
internal sealed record Surroundings(TextWriter Output, TextWriter Error)
{
    /// <summary>What is typed or sent into the program.</summary>
    public TextReader Input { get; init; } = TextReader.Null;

    /// <summary>The keyboard, where a person sits at it and looks at the output; else null.</summary>
    public IKeyboard? Keyboard { get; init; }

    /// <summary>Columns of the terminal; null when the output goes to a file or another program, which take lines of any length.</summary>
    public int? OutputWidth { get; init; }

    public int? ErrorWidth { get; init; }

    public bool OutputHasColour { get; init; }

    public bool ErrorHasColour { get; init; }

    /// <summary>Whether a fault shows where in the program it happened.</summary>
    public bool ShowsTrace { get; init; }

    public static Surroundings OfProcess()
    {
        bool wantsColour = string.IsNullOrEmpty(Environment.GetEnvironmentVariable("NO_COLOR"))
            && Environment.GetEnvironmentVariable("TERM") is not (null or "" or "dumb");
        bool outputIsTerminal = !Console.IsOutputRedirected;
        bool errorIsTerminal = !Console.IsErrorRedirected;
        int? width = outputIsTerminal || errorIsTerminal ? TerminalWidth() : null;
        return new Surroundings(Writer(Console.OpenStandardOutput()), Writer(Console.OpenStandardError()))
        {
            Input = Console.IsInputRedirected ? new StreamReader(Console.OpenStandardInput(), new UTF8Encoding(encoderShouldEmitUTF8Identifier: false)) : TextReader.Null,
            Keyboard = outputIsTerminal && !Console.IsInputRedirected ? new ConsoleKeyboard() : null,
            OutputWidth = outputIsTerminal ? width : null,
            ErrorWidth = errorIsTerminal ? width : null,
            OutputHasColour = outputIsTerminal && wantsColour,
            ErrorHasColour = errorIsTerminal && wantsColour,
            ShowsTrace = !string.IsNullOrEmpty(Environment.GetEnvironmentVariable("THROUGHLINE_TRACE")),
        };
    }

    /// <summary>UTF-8 and \n whatever the locale says, and buffered: a page is one write.</summary>
    private static StreamWriter Writer(Stream stream) =>
        new(new UntilClosedStream(stream), new UTF8Encoding(encoderShouldEmitUTF8Identifier: false), bufferSize: 16_384) { NewLine = "\n", AutoFlush = false };

    private static int TerminalWidth()
    {
        if (int.TryParse(Environment.GetEnvironmentVariable("COLUMNS"), NumberStyles.None, CultureInfo.InvariantCulture, out int columns) && columns > 0)
        {
            return columns;
        }

        try
        {
            return Console.WindowWidth is > 0 and int width ? width : 80;
        }
        catch (IOException)
        {
            return 80;
        }
    }
}
