using System.CommandLine;
using System.Text;

namespace Throughline.Completion;

/// <summary>The completion script for zsh.</summary>
internal static class ZshScript
{
    public static string Of(RootCommand root)
    {
        IReadOnlyList<CommandWords> commands = Vocabulary.Commands(root);
        StringBuilder script = new();
        script.Append(
            """
            #compdef throughline
            # Completion of throughline for zsh. To use it now: source <(throughline completions zsh)
            _throughline() {
                local context state state_descr line
                typeset -A opt_args
                _arguments -C \

            """);
        foreach (OptionWords option in Vocabulary.RootOptions(root))
        {
            script.Append("        ").Append(Specification(option)).Append(" \\\n");
        }

        script.Append("        '1:command:->command' '*::argument:->argument'\n    case $state in\n        command)\n            local -a commands=(\n");
        foreach (CommandWords command in commands)
        {
            script.Append("                ").Append(Quoted(command.Name + ":" + Plain(command.Description))).Append('\n');
        }

        script.Append("            )\n            _describe command commands\n            ;;\n        argument)\n            case $line[1] in\n");
        foreach (CommandWords command in commands)
        {
            script.Append($"                {command.Name})\n                    _arguments");
            foreach (OptionWords option in command.Options)
            {
                script.Append(" \\\n                        ").Append(Specification(option));
            }

            foreach (string argument in Arguments(command))
            {
                script.Append(" \\\n                        ").Append(argument);
            }

            script.Append("\n                    ;;\n");
        }

        script.Append(
            """
                        esac
                        ;;
                esac
            }
            if [[ $funcstack[1] = _throughline ]]; then _throughline "$@"; else compdef _throughline throughline; fi

            """);
        return script.ToString().ReplaceLineEndings("\n");
    }

    private static string Specification(OptionWords option)
    {
        string value = !option.TakesValue ? ""
            : option.Choices.Count > 0 ? $":value:({string.Join(' ', option.Choices)})"
            : $":{Plain(option.ValueName)}: ";
        IEnumerable<string> one = option.Names.Select(name => Quoted($"{name}[{Plain(option.Description)}]{value}"));
        return string.Join(' ', one);
    }

    private static IEnumerable<string> Arguments(CommandWords command)
    {
        string action = command.Argument switch
        {
            ArgumentKind.File => "instrument file:_files -g \"*.(yaml|yml)\"",
            ArgumentKind.Folder => "folder:_files -/",
            ArgumentKind.Choice => $"word:({string.Join(' ', command.Choices)})",
            _ => "",
        };
        if (action.Length == 0)
        {
            yield break;
        }

        if (command.TakesMany)
        {
            yield return Quoted("*:" + action);
            yield break;
        }

        for (int i = 1; i <= command.ArgumentCount; i++)
        {
            yield return Quoted(FormattableString.Invariant($"{i}:{action}"));
        }
    }

    /// <summary>Without the characters that mean something in a specification.</summary>
    private static string Plain(string text) => text.ReplaceLineEndings(" ").Replace(':', ',').Replace("[", "(", StringComparison.Ordinal).Replace("]", ")", StringComparison.Ordinal);

    private static string Quoted(string text) => "'" + text.Replace("'", "'\\''", StringComparison.Ordinal) + "'";
}
