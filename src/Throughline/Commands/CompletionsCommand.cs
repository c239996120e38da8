using System.CommandLine;
using Throughline.Completion;
using Throughline.Json;

namespace Throughline.Commands;

/// <summary><c>completions SHELL</c>: a script by which a shell completes commands, options and files.</summary>
internal static class CompletionsCommand
{
    public static Command Create(Surroundings surroundings, Func<RootCommand> root)
    {
        Argument<string> shell = new("SHELL")
        {
            Description = "bash or zsh. For bash: source <(throughline completions bash)",
            HelpName = "bash|zsh",
        };
        shell.AcceptOnlyFromAmong("bash", "zsh");
        shell.CompletionSources.Add("bash", "zsh");
        Option<bool> json = Words.Json();
        Command command = new("completions", "Write the script with which a shell completes commands, options and files.") { shell, json };
        command.SetAction(parsed =>
        {
            string name = parsed.GetRequiredValue(shell);
            string script = name == "bash" ? BashScript.Of(root()) : ZshScript.Of(root());
            if (parsed.GetValue(json))
            {
                Documents.Write(surroundings, new CompletionsDocument { Shell = name, Script = script });
            }
            else
            {
                surroundings.Output.Write(script);
            }

            return ExitCode.AllMet;
        });
        return command;
    }
}
