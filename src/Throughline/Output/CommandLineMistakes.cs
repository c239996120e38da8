using System.CommandLine;
using System.CommandLine.Parsing;

namespace Throughline.Output;

/// <summary>Says what is wrong with a command line, and the nearest right word for a wrong one.</summary>
internal static class CommandLineMistakes
{
    public static void Write(ParseResult parsed, Surroundings surroundings)
    {
        Page page = Page.ForError(surroundings);
        Command command = parsed.CommandResult.Command;
        if (WrongOption(parsed) is string option)
        {
            page.Line("throughline: " + Unmatched(option, command));
        }
        else if (parsed.UnmatchedTokens.Count > 0)
        {
            // Only the first: what follows a wrong word is its argument or its value, and right in itself.
            page.Line("throughline: " + Unmatched(parsed.UnmatchedTokens[0], command));
        }
        else
        {
            foreach (ParseError error in parsed.Errors)
            {
                page.Line("throughline: " + string.Join(' ', error.Message.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)));
            }
        }

        string of = command is RootCommand ? "" : command.Name + " ";
        page.Line($"See: throughline {of}--help", Ink.Quiet);
    }

    /// <summary>A word with a dash in front where a file is due: a misspelt option, not a file. A file of such a name can be written <c>./-name</c>.</summary>
    public static string? WrongOption(ParseResult parsed) => parsed.CommandResult.Children
        .OfType<ArgumentResult>()
        .SelectMany(argument => argument.Tokens)
        .Select(token => token.Value)
        .Concat(parsed.UnmatchedTokens)
        .FirstOrDefault(word => word.StartsWith('-') && word.Length > 1);

    private static string Unmatched(string token, Command command)
    {
        if (!token.StartsWith('-') && command.Subcommands.Count == 0)
        {
            return $"'{token}' is one argument too many.";
        }

        string what = token.StartsWith('-') ? "option" : "command";
        string? nearest = Nearest(token, Words(command, token));
        return $"there is no {what} '{token}'" + (nearest is null ? "." : $"; did you mean '{nearest}'?");
    }

    private static IEnumerable<string> Words(Command command, string token) => token.StartsWith('-')
        ? command.Options.SelectMany(option => option.Aliases.Prepend(option.Name))
        : command.Subcommands.Select(sub => sub.Name);

    private static string? Nearest(string word, IEnumerable<string> candidates) => candidates
        .Select(candidate => (candidate, Distance: Distance(word, candidate)))
        .Where(pair => pair.Distance <= Math.Max(1, (word.Length + 1) / 3))
        .OrderBy(pair => pair.Distance).ThenBy(pair => pair.candidate, StringComparer.Ordinal)
        .Select(pair => pair.candidate)
        .FirstOrDefault();

    /// <summary>Levenshtein's distance: the least number of letters to insert, remove or replace.</summary>
    private static int Distance(string a, string b)
    {
        int[] row = [.. Enumerable.Range(0, b.Length + 1)];
        for (int i = 1; i <= a.Length; i++)
        {
            int diagonal = row[0];
            row[0] = i;
            for (int j = 1; j <= b.Length; j++)
            {
                int replaced = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
                diagonal = row[j];
                row[j] = Math.Min(replaced, Math.Min(row[j], row[j - 1]) + 1);
            }
        }

        return row[^1];
    }
}
