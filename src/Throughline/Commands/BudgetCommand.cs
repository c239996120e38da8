using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>budget FILE</c>: where the error at display and loop comes from, and what adjustment and calibration take of it.</summary>
internal static class BudgetCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<double[]> at = Words.At();
        Option<bool> json = Words.Json();
        Command command = new("budget", "Show the error budget as built, adjusted, calibrated and over rated conditions.") { file, at, json };
        command.SetAction(parsed =>
            Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetResult(at) is null ? null : parsed.GetValue(at), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, double[]? at, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        ErrorBudgetReport? report = instrument is null ? null : engine.Budget(instrument, at);
        if (asJson)
        {
            Documents.Write(surroundings, Documents.Budget(file, parsed, report));
        }
        else if (report is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else
        {
            BudgetText.Write(Page.ForOutput(surroundings), instrument!, report, isChosen: at is not null);
        }

        return report switch
        {
            null => ExitCode.Unreadable,
            { Tables.IsEmpty: true } => ExitCode.SomeNotMet,
            _ => ExitCode.AllMet,
        };
    }
}
