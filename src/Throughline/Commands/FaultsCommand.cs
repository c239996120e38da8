using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>faults FILE</c>: what display and loop say when a part breaks.</summary>
internal static class FaultsCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<bool> json = Words.Json();
        Command command = new("faults", "List what display and loop say with each part open or short, each supply missing, the sensor broken.") { file, json };
        command.SetAction(parsed => Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        FaultTable? table = instrument is null ? null : engine.Faults(instrument);
        if (asJson)
        {
            Documents.Write(surroundings, Documents.Faults(file, parsed, table));
        }
        else if (table is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else
        {
            FaultsText.Write(Page.ForOutput(surroundings), instrument!, table);
        }

        return table is null ? ExitCode.Unreadable : ExitCode.AllMet;
    }
}
