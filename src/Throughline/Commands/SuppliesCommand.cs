using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;
using Throughline.Papers;

namespace Throughline.Commands;

/// <summary><c>supplies FILE</c>: rails, currents, dissipation, start-up.</summary>
internal static class SuppliesCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<string?> picture = new("--out") { Description = "A file to draw the tree of the supplies into, as SVG.", HelpName = Words.File };
        Option<bool> json = Words.Json();
        Command command = new("supplies", "Show every rail's voltage, current and heat, typical and at worst, where the power goes, ripple, start-up and what a missing rail does.") { file, picture, json };
        command.SetAction(parsed => Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetValue(picture), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, string? picture, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        SupplyReport? report = instrument is null ? null : engine.Supplies(instrument);
        if (picture is not null && instrument is not null)
        {
            string? mistake = report?.Typical is { } typical
                ? PictureFile.TryWrite(picture, SupplyDrawing.Draw(instrument, typical, report.Worst))
                : "the supplies have no operating point, so there is no tree to draw.";
            if (mistake is not null)
            {
                Page.ForError(surroundings).Line("throughline: " + mistake);
                return ExitCode.Unreadable;
            }
        }

        if (asJson)
        {
            Documents.Write(surroundings, Documents.Supplies(file, parsed, report));
        }
        else if (instrument is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else
        {
            SuppliesText.Write(Page.ForOutput(surroundings), instrument, report, picture);
        }

        return instrument is null ? ExitCode.Unreadable : report is { Typical: null } ? ExitCode.SomeNotMet : ExitCode.AllMet;
    }
}
