namespace Throughline.Acceptance;

/// <summary>What one command wrote and said to the shell.</summary>
internal sealed record Invocation(int Code, string Output, string Error)
{
    /// <summary>Runs a command in this process.</summary>
    /// <param name="arguments">The command line after the program's name, split at its spaces.</param>
    /// <param name="engine">Null takes the samples.</param>
    /// <param name="width">Columns of the terminal; null for a pipe.</param>
    public static Invocation Of(string arguments, Engine? engine = null, int? width = null, bool hasColour = false, bool showsTrace = false) =>
        OfWords(arguments.Split(' ', StringSplitOptions.RemoveEmptyEntries), engine, width, hasColour, showsTrace);

    public static Invocation OfWords(string[] arguments, Engine? engine = null, int? width = null, bool hasColour = false, bool showsTrace = false)
    {
        using StringWriter output = new() { NewLine = "\n" };
        using StringWriter error = new() { NewLine = "\n" };
        Surroundings surroundings = new(output, error)
        {
            OutputWidth = width,
            ErrorWidth = width,
            OutputHasColour = hasColour,
            ErrorHasColour = hasColour,
            ShowsTrace = showsTrace,
        };
        int code = Application.Run(arguments, surroundings, engine ?? Samples.Engine);
        return new(code, output.ToString(), error.ToString());
    }
}
