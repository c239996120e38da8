using System.CommandLine;
using System.CommandLine.Completions;

namespace Throughline.Completion;

/// <summary>What may stand where an argument stands.</summary>
internal enum ArgumentKind
{
    /// <summary>An instrument file.</summary>
    File,
    Folder,

    /// <summary>One of a few words.</summary>
    Choice,

    /// <summary>A text that nobody can guess.</summary>
    Other,
}

/// <summary>An option as a completion script needs it.</summary>
internal sealed record OptionWords(IReadOnlyList<string> Names, string Description, bool TakesValue, string ValueName, IReadOnlyList<string> Choices);

/// <summary>A command as a completion script needs it.</summary>
internal sealed record CommandWords(
    string Name, string Description, IReadOnlyList<OptionWords> Options, ArgumentKind Argument, bool TakesMany, int ArgumentCount, IReadOnlyList<string> Choices);

/// <summary>Reads the words from the command line's own definition, so that a script never knows other commands than the program.</summary>
internal static class Vocabulary
{
    public static IReadOnlyList<OptionWords> RootOptions(RootCommand root) => [.. root.Options.Select(Words)];

    public static IReadOnlyList<CommandWords> Commands(RootCommand root) =>
        [.. root.Subcommands.Where(command => !command.Hidden).Select(command => Words(command, root))];

    private static CommandWords Words(Command command, RootCommand root)
    {
        Argument? first = command.Arguments.Count > 0 ? command.Arguments[0] : null;
        IReadOnlyList<string> choices = first is null ? [] : Choices(first.CompletionSources);
        ArgumentKind kind = first?.Name switch
        {
            Throughline.Commands.Words.File or "OLD" or "NEW" => ArgumentKind.File,
            Throughline.Commands.Words.Folder => ArgumentKind.Folder,
            _ => choices.Count > 0 ? ArgumentKind.Choice : ArgumentKind.Other,
        };
        IEnumerable<Option> options = command.Options.Concat(root.Options.Where(option => option.Recursive));
        return new(command.Name, command.Description ?? "", [.. options.Select(Words)], kind, first?.Arity.MaximumNumberOfValues > 1, command.Arguments.Count, choices);
    }

    private static OptionWords Words(Option option) => new(
        [.. option.Aliases.Prepend(option.Name).Where(name => name.StartsWith('-')).Order(StringComparer.Ordinal)],
        option.Description ?? "",
        option.ValueType != typeof(bool) && option.Arity.MaximumNumberOfValues > 0,
        option.HelpName ?? "",
        option.ValueType == typeof(bool) ? [] : Choices(option.CompletionSources));

    private static IReadOnlyList<string> Choices(IEnumerable<Func<CompletionContext, IEnumerable<CompletionItem>>> sources) =>
        [.. sources.SelectMany(source => source(CompletionContext.Empty)).Select(item => item.Label).Distinct().Order(StringComparer.Ordinal)];
}
