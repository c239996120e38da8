using System.CommandLine;
using System.Text;

namespace Throughline.Completion;

/// <summary>The completion script for bash 4 and later. It needs no package beside bash.</summary>
internal static class BashScript
{
    public static string Of(RootCommand root)
    {
        IReadOnlyList<CommandWords> commands = Vocabulary.Commands(root);
        StringBuilder script = new();
        script.Append(
            """
            # Completion of throughline for bash. To use it now: source <(throughline completions bash)
            _throughline() {
                local current=${COMP_WORDS[COMP_CWORD]} previous= command= word i options= choices= kind=
                ((COMP_CWORD > 0)) && previous=${COMP_WORDS[COMP_CWORD - 1]}
                for ((i = 1; i < COMP_CWORD; i++)); do
                    word=${COMP_WORDS[i]}
                    [[ $word = -* ]] || { command=$word; break; }
                done
                COMPREPLY=()
                case $command in

            """);
        script.Append($"        '') options={Quoted(Vocabulary.RootOptions(root).SelectMany(o => o.Names))} choices={Quoted(commands.Select(c => c.Name))} kind=choice ;;\n");
        foreach (CommandWords command in commands)
        {
            script.Append($"        {command.Name}) options={Quoted(command.Options.SelectMany(o => o.Names))} choices={Quoted(command.Choices)} kind={Kind(command.Argument)} ;;\n");
        }

        script.Append("    esac\n    case $command:$previous in\n");
        foreach (CommandWords command in commands)
        {
            foreach (OptionWords option in command.Options.Where(o => o.TakesValue))
            {
                string patterns = string.Join('|', option.Names.Select(name => $"{command.Name}:{name}"));
                script.Append($"        {patterns}) COMPREPLY=($(compgen -W {Quoted(option.Choices)} -- \"$current\")); return ;;\n");
            }
        }

        script.Append(
            """
                esac
                if [[ $current = -* ]]; then
                    COMPREPLY=($(compgen -W "$options" -- "$current"))
                    return
                fi
                case $kind in
                    choice) COMPREPLY=($(compgen -W "$choices" -- "$current")) ;;
                    folder)
                        compopt -o filenames 2>/dev/null
                        while IFS= read -r word; do COMPREPLY+=("$word"); done < <(compgen -d -- "$current")
                        ;;
                    file)
                        # Folders to go through, and files that may hold an instrument.
                        compopt -o filenames 2>/dev/null
                        while IFS= read -r word; do
                            [[ -d $word || $word = *.yaml || $word = *.yml ]] && COMPREPLY+=("$word")
                        done < <(compgen -f -- "$current")
                        ;;
                esac
            }
            complete -F _throughline throughline

            """);
        return script.ToString().ReplaceLineEndings("\n");
    }

    private static string Kind(ArgumentKind kind) => kind switch
    {
        ArgumentKind.File => "file",
        ArgumentKind.Folder => "folder",
        ArgumentKind.Choice => "choice",
        _ => "none",
    };

    private static string Quoted(IEnumerable<string> words) => "'" + string.Join(' ', words) + "'";
}
