using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;
using Throughline.Papers;

namespace Throughline.Commands;

/// <summary><c>loop FILE</c>: what the output says, passes and survives, be it a current or a voltage.</summary>
internal static class LoopCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<double[]> current = Words.Numbers("--current", "mA", "Currents to read back as values of the measurand, mA: --current 12,18.5.", "12,18.5");
        Option<double[]> voltage = Words.Numbers("--voltage", "V", "The same with voltages where the output is one, V: --voltage 2.5,7.", "2.5,7");
        Option<string?> picture = new("--out") { Description = "A file to draw the compliance map into, as SVG.", HelpName = Words.File };
        Option<bool> csv = new("--csv") { Description = "Write the compliance map as comma-separated values." };
        Option<bool> json = Words.Json();
        Command command = new("loop", "Show the scale of the loop or of the voltage output in both directions, its compliance over load and supply, what happens when it is connected wrongly, and its noise.")
        {
            file, current, voltage, picture, csv, json,
        };
        command.Validators.Add(result =>
        {
            if (result.GetValue(csv) && result.GetValue(json))
            {
                result.AddError("--csv and --json exclude each other.");
            }

            if (result.GetResult(current) is not null && result.GetResult(voltage) is not null)
            {
                result.AddError("--current and --voltage exclude each other.");
            }
        });
        command.SetAction(parsed => Run(
            surroundings, engine, parsed.GetRequiredValue(file), Asked(parsed, current), Asked(parsed, voltage), parsed.GetValue(picture),
            parsed.GetValue(csv), parsed.GetValue(json)));
        return command;
    }

    private static double[] Asked(ParseResult parsed, Option<double[]> option) => parsed.GetResult(option) is null ? [] : parsed.GetValue(option) ?? [];

    private static int Run(Surroundings surroundings, Engine engine, string file, double[] milliamperes, double[] volts, string? picture, bool asCsv, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        OutputSignal signal = instrument?.Output ?? OutputSignal.Current;
        if (instrument is not null && (signal.IsVoltage ? milliamperes : volts).Length > 0)
        {
            Page.ForError(surroundings).Line($"throughline: the output of this instrument is a {signal.Noun}: ask with --{signal.Noun}.");
            return ExitCode.Unreadable;
        }

        double[] asked = [.. (signal.IsVoltage ? volts : milliamperes).Select(v => v * signal.ShownScale)];
        LoopReport? report = instrument is null ? null : engine.Loop(instrument, asked);
        if (picture is not null && report is not null && TryDraw(picture, instrument!, report) is { } mistake)
        {
            Page.ForError(surroundings).Line("throughline: " + mistake);
            return ExitCode.Unreadable;
        }

        if (asJson)
        {
            Documents.Write(surroundings, Documents.Loop(file, parsed, report));
        }
        else if (instrument is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else if (asCsv && report is not null)
        {
            LoopCsv.Write(surroundings, report);
        }
        else
        {
            LoopText.Write(Page.ForOutput(surroundings), instrument, report, picture);
        }

        return instrument is null ? ExitCode.Unreadable : report is null ? ExitCode.SomeNotMet : ExitCode.AllMet;
    }

    /// <summary>Draws the map; returns what is in the way.</summary>
    private static string? TryDraw(string path, Instrument instrument, LoopReport report) =>
        report.Map is { } map ? PictureFile.TryWrite(path, ComplianceDrawing.Draw(instrument, map)) : "nothing drives this output, so there is no map to draw.";
}
