using System.CommandLine;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>panel FILE</c>: the panel played, by a person at a terminal or from a script.</summary>
internal static class PanelCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<string?> script = new("--script") { Description = "A file with one step in a line; without it, standard input.", HelpName = Words.File };
        Option<bool> json = Words.Json();
        Command command = new("panel", "Play the panel with the chain behind it: keys and the sensor in, display and loop out.") { file, script, json };
        command.SetAction(parsed => Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetValue(script), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, string? script, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        if (instrument is null)
        {
            if (asJson)
            {
                Documents.Write(surroundings, Documents.Panel(file, parsed, []));
            }
            else
            {
                DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
            }

            return ExitCode.Unreadable;
        }

        if (PanelProgram.Of(instrument) is null)
        {
            Page.ForError(surroundings).Line("throughline: " + (instrument.Panel is { IsDescribed: true }
                ? "the panel can't be played, because there is no integer arithmetic behind it: see throughline firmware."
                : "the file does not say what the screens of a panel do."));
            return ExitCode.Unreadable;
        }

        TextReader steps;
        try
        {
            steps = script is null ? surroundings.Input : new StringReader(engine.ReadScript(script));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            Page.ForError(surroundings).Line($"throughline: {script} can't be read: {e.Message}");
            return ExitCode.Unreadable;
        }

        PanelPlayer player = new(instrument);
        if (script is null && surroundings.Keyboard is { } keyboard && !asJson)
        {
            return PanelTerminal.Play(surroundings, keyboard, player);
        }

        return Play(surroundings, file, parsed, player, steps, asJson);
    }

    private static int Play(Surroundings surroundings, string file, Parsed<Instrument> parsed, PanelPlayer player, TextReader steps, bool asJson)
    {
        Page page = Page.ForOutput(surroundings);
        PanelScript script = new(player);
        List<PanelMoment> moments = [PanelMoment.Of(player, 0, "switched on")];
        if (!asJson)
        {
            ReviewText.Title(page, player.Instrument);
            PanelText.Write(page, moments[0]);
        }

        int number = 0;
        string? mistake = null;
        while (mistake is null && steps.ReadLine() is { } line)
        {
            number++;
            if (line.Trim() is not { Length: > 0 } step || step.StartsWith('#'))
            {
                continue;
            }

            mistake = script.Do(step);
            if (mistake is null)
            {
                moments.Add(PanelMoment.Of(player, number, step));
                if (!asJson)
                {
                    PanelText.Write(page, moments[^1]);
                }
            }
        }

        if (asJson && mistake is null)
        {
            Documents.Write(surroundings, Documents.Panel(file, parsed, moments));
        }

        if (mistake is null)
        {
            return ExitCode.AllMet;
        }

        surroundings.Output.Flush();
        Page.ForError(surroundings).Line(FormattableString.Invariant($"throughline: line {number} of the script: {mistake}"));
        return ExitCode.Unreadable;
    }
}
