using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>response FILE</c>: how fast, how quiet and how stable the nominal unit is.</summary>
internal static class ResponseCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<bool> json = Words.Json();
        Command command = new("response", "Show attenuation, response to a step, noise and stability of the feedback loops.") { file, json };
        command.SetAction(parsed => Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        ResponseReport? report = instrument is null ? null : engine.Response(instrument);
        if (asJson)
        {
            Documents.Write(surroundings, Documents.Response(file, parsed, report));
        }
        else if (instrument is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else
        {
            ResponseText.Write(Page.ForOutput(surroundings), instrument, report);
        }

        return instrument is null ? ExitCode.Unreadable : report is null ? ExitCode.SomeNotMet : ExitCode.AllMet;
    }
}
