using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>bom FILE</c>: what is bought for one instrument, what it costs, and which part is better or worse than it need be.</summary>
internal static class BomCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<bool> classes = new("--classes") { Description = "Also try every part in every other class of tolerance that has a price. Takes some seconds." };
        Option<bool> csv = new("--csv") { Description = "Write the bill as comma-separated values." };
        Option<bool> json = Words.Json();
        Command command = new("bom", "List what is bought for one instrument and what it costs.") { file, classes, csv, json };
        command.Validators.Add(result =>
        {
            if (result.GetValue(csv) && (result.GetValue(json) || result.GetValue(classes)))
            {
                result.AddError("--csv writes the bill alone; leave out --json and --classes.");
            }
        });
        command.SetAction((parsed, cancel) => Task.FromResult(
            Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetValue(classes), parsed.GetValue(csv), parsed.GetValue(json), cancel)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, bool withClasses, bool asCsv, bool asJson, CancellationToken cancel)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        BillOfMaterials? bill = instrument is null ? null : engine.Bill(instrument);
        ClassReport? classes = instrument is null || !withClasses ? null : engine.Classes(instrument, cancel);
        if (asJson)
        {
            Documents.Write(surroundings, Documents.Bill(file, parsed, bill, classes));
        }
        else if (bill is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else if (asCsv)
        {
            BomText.WriteCsv(surroundings, bill);
        }
        else
        {
            BomText.Write(Page.ForOutput(surroundings), instrument!, bill, classes);
        }

        return bill is null ? ExitCode.Unreadable : ExitCode.AllMet;
    }
}
