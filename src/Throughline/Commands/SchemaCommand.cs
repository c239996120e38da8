using System.CommandLine;

namespace Throughline.Commands;

/// <summary><c>schema</c>: the JSON Schema of the instrument file or of a parts file, for editors.</summary>
internal static class SchemaCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Option<bool> parts = new("--parts") { Description = "The schema of a parts file instead." };
        Option<bool> json = new("--json") { Description = "The schema is JSON as it is; accepted so that every command takes it." };
        Command command = new("schema", "Write the JSON Schema of the instrument file, with which an editor completes and checks it.") { parts, json };
        command.SetAction(parsed =>
        {
            surroundings.Output.Write((parsed.GetValue(parts) ? engine.PartsSchema() : engine.Schema()).TrimEnd('\n') + "\n");
            return ExitCode.AllMet;
        });
        return command;
    }
}
