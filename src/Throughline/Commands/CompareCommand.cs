using System.Collections.Immutable;
using System.CommandLine;
using Throughline.Analysis;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>compare OLD NEW</c>: what a change moved. The exit code judges NEW as <c>check</c> would.</summary>
internal static class CompareCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> old = Words.FileArgument("OLD", "The instrument file before the change.");
        Argument<string> @new = Words.FileArgument("NEW", "The instrument file after it; the exit code judges this one.");
        Option<bool> all = new("--all") { Description = "List what did not move, too." };
        Option<bool> json = Words.Json();
        Command command = new("compare", "Show what a change moved downstream, what it left alone, and which findings turned.") { old, @new, all, json };
        command.SetAction(parsed =>
            Run(surroundings, engine, parsed.GetRequiredValue(old), parsed.GetRequiredValue(@new), parsed.GetValue(all), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string oldFile, string newFile, bool isFull, bool asJson)
    {
        Parsed<Instrument> old = engine.Read(oldFile);
        Parsed<Instrument> @new = engine.Read(newFile);
        Comparison? comparison = CheckCommand.Readable(old) is Instrument before && CheckCommand.Readable(@new) is Instrument after
            ? engine.Compare(before, after)
            : null;
        ImmutableArray<CodeChange> code = comparison is null ? [] : engine.CompareCode(comparison.Old.Instrument, comparison.New.Instrument);
        if (asJson)
        {
            Documents.Write(surroundings, Documents.Comparison((oldFile, old), (newFile, @new), comparison, code));
        }
        else if (comparison is null)
        {
            Page page = Page.ForError(surroundings);
            foreach ((string file, Parsed<Instrument> parsed) in new[] { (oldFile, old), (newFile, @new) })
            {
                if (CheckCommand.Readable(parsed) is null)
                {
                    DiagnosticText.Write(page, file, parsed.Diagnostics);
                }
            }
        }
        else
        {
            ComparisonText.Write(Page.ForOutput(surroundings), comparison, code, isFull);
        }

        return CheckCommand.CodeOf(comparison?.New);
    }
}
