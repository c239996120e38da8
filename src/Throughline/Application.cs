using System.CommandLine;
using Throughline.Commands;
using Throughline.Output;

namespace Throughline;

/// <summary>The outer edge: reads the command line, runs the command, and turns whatever goes wrong into one sentence and an exit code.</summary>
internal static class Application
{
    public static int Run(IReadOnlyList<string> arguments, Surroundings surroundings, Engine engine)
    {
        try
        {
            int code = Dispatch(arguments, surroundings, engine);
            surroundings.Output.Flush();
            surroundings.Error.Flush();
            return code;
        }
        catch (IOException e)
        {
            // Instrument files are read, and new ones written, where their failures are results; what is left is the output itself.
            return Report("the output can't be written: " + Sentence(e) + ".", surroundings);
        }
#pragma warning disable CA1031 // The last resort: a user never sees a stack trace that they did not ask for.
        catch (Exception e)
#pragma warning restore CA1031
        {
            return Report(
                $"a fault of the program, not of your file: {Sentence(e)} ({e.GetType().Name}); "
                    + (surroundings.ShowsTrace ? "it happened here:\n" + e : "set THROUGHLINE_TRACE=1 to see where."),
                surroundings);
        }
    }

    private static int Dispatch(IReadOnlyList<string> arguments, Surroundings surroundings, Engine engine)
    {
        RootCommand root = CommandTree.Create(surroundings, engine);
        ParseResult parsed = root.Parse(arguments);
        InvocationConfiguration configuration = new()
        {
            Output = surroundings.Output,
            Error = surroundings.Error,
            EnableDefaultExceptionHandler = false,
            ProcessTerminationTimeout = null,
        };

        if (arguments.Count == 0)
        {
            root.Parse(["--help"]).Invoke(configuration);
            return ExitCode.Unreadable;
        }

        // Help and version are asked for even where the rest of the line is not complete.
        bool isAskedFor = parsed.Action is not null && parsed.Action.ClearsParseErrors;
        if ((parsed.Errors.Count > 0 || CommandLineMistakes.WrongOption(parsed) is not null) && !isAskedFor)
        {
            CommandLineMistakes.Write(parsed, surroundings);
            return ExitCode.Unreadable;
        }

        return parsed.Invoke(configuration);
    }

    private static string Sentence(Exception exception) => Cells.Clean(exception.Message.ReplaceLineEndings(" ").Trim().TrimEnd('.'));

    private static int Report(string sentence, Surroundings surroundings)
    {
        try
        {
            surroundings.Error.Write("throughline: " + sentence + "\n");
            surroundings.Error.Flush();
        }
        catch (IOException)
        {
            // Nowhere left to say it.
        }

        return ExitCode.Fault;
    }
}
