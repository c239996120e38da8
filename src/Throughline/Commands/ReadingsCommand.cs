using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>readings FILE</c>: what every test point, register, display and output should read.</summary>
internal static class ReadingsCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<double[]> at = Words.At();
        Option<double?> ambient = Words.Number("--ambient", "°C", "Ambient temperature of the instrument, °C.", -90, 250, "°C", "degC", "C");
        Option<double?> process = Words.Number("--process", "°C", "Temperature of what is measured, °C.", -270, 2500, "°C", "degC", "C");
        Option<string> supply = new("--supply") { Description = "Every supply from outside at its low limit, nominal or high limit.", HelpName = "low|nominal|high" };
        supply.AcceptOnlyFromAmong("low", "nominal", "high");
        supply.CompletionSources.Add("low", "nominal", "high");
        Option<double?> load = Words.Number("--load", "OHM", "Resistance in the loop or across the voltage output, Ω.", 0, 1e6, "Ω", "Ohm", "ohm");
        Option<bool> json = Words.Json();
        Command command = new("readings", "List what every test point, register, display and the loop should read.")
        {
            file, at, ambient, process, supply, load, json,
        };
        command.SetAction(parsed =>
        {
            Conditions Chosen(Conditions reference) => reference with
            {
                Ambient = parsed.GetValue(ambient) ?? reference.Ambient,
                Process = parsed.GetValue(process) ?? reference.Process,
                Load = parsed.GetValue(load) ?? reference.Load,
                SupplyShift = parsed.GetValue(supply) switch { "low" => -1, "nominal" => 0, "high" => 1, _ => reference.SupplyShift },
            };
            return Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetResult(at) is null ? null : parsed.GetValue(at), Chosen, parsed.GetValue(json));
        });
        return command;
    }

    private static int Run(
        Surroundings surroundings, Engine engine, string file, double[]? at, Func<Conditions, Conditions> choose, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        ReadingsTable? table = null;
        if (CheckCommand.Readable(parsed) is Instrument instrument)
        {
            table = engine.Readings(instrument, at, choose(engine.ReferenceConditions(instrument)));
        }

        if (asJson)
        {
            Documents.Write(surroundings, Documents.Readings(file, parsed, table));
        }
        else if (table is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else
        {
            ReadingsText.Write(Page.ForOutput(surroundings), parsed.Value!, table);
        }

        return table is null ? ExitCode.Unreadable : ExitCode.AllMet;
    }
}
