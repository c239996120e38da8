using System.CommandLine;

namespace Throughline.Commands;

/// <summary>The command line: one line here for each command, one file for each.</summary>
internal static class CommandTree
{
    public static RootCommand Create(Surroundings surroundings, Engine engine)
    {
        RootCommand root = new(
            """
            Checks a measuring transmitter from one file: sensor, conditioning, converter, arithmetic, display and output, 4–20 mA or 0–10 V.

            Exit codes: 0 all met, 1 some not met, 2 the file or the command line can't be read, 3 a fault of the program.
            """);
        root.Directives.Clear();
        root.Add(CheckCommand.Create(surroundings, engine));
        root.Add(ReadingsCommand.Create(surroundings, engine));
        root.Add(BudgetCommand.Create(surroundings, engine));
        root.Add(ResponseCommand.Create(surroundings, engine));
        root.Add(SuppliesCommand.Create(surroundings, engine));
        root.Add(FaultsCommand.Create(surroundings, engine));
        root.Add(BomCommand.Create(surroundings, engine));
        root.Add(LoopCommand.Create(surroundings, engine));
        root.Add(FirmwareCommand.Create(surroundings, engine));
        root.Add(PanelCommand.Create(surroundings, engine));
        root.Add(BatchCommand.Create(surroundings, engine));
        root.Add(MergeCommand.Create(surroundings, engine));
        root.Add(CompareCommand.Create(surroundings, engine));
        root.Add(WorkbenchCommand.Create(surroundings));
        root.Add(NewCommand.Create(surroundings));
        root.Add(SchemaCommand.Create(surroundings, engine));
        root.Add(CompletionsCommand.Create(surroundings, () => root));
        return root;
    }
}
