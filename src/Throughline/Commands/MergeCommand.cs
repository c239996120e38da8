using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>merge FILE PART…</c>: the parts of a batch, run anywhere, as one.</summary>
internal static class MergeCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Argument<string[]> parts = new("PART")
        {
            Description = "Parts that `batch --shard … --keep PART` wrote.",
            HelpName = Words.File,
            Arity = ArgumentArity.OneOrMore,
        };
        Option<string> keep = new("--keep") { Description = "Also write the parts together to a file that `merge` reads.", HelpName = "PART" };
        Option<bool> csv = new("--csv") { Description = "Write the readings as comma-separated values." };
        Option<bool> json = Words.Json();
        Command command = new("merge", "Put the parts of a batch together.") { file, parts, keep, csv, json };
        command.SetAction(parsed => Run(
            surroundings,
            engine,
            parsed.GetRequiredValue(file),
            parsed.GetRequiredValue(parts),
            parsed.GetValue(keep),
            parsed.GetValue(json) ? Form.Json : parsed.GetValue(csv) ? Form.Csv : Form.Text));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, string[] parts, string? keep, Form form)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        if (CheckCommand.Readable(parsed) is not Instrument instrument)
        {
            return BatchCommand.Unreadable(surroundings, file, parsed, form);
        }

        Batch? all = null;
        foreach (string path in parts)
        {
            if (!PartFile.TryRead(path, instrument, out Batch? part, out string? trouble))
            {
                surroundings.Error.Write($"throughline: {path} can't be read: {trouble}\n");
                return ExitCode.Unreadable;
            }

            try
            {
                all = all is null ? part : all.Merge(part!);
            }
            catch (ArgumentException e)
            {
                surroundings.Error.Write($"throughline: {path} does not belong to the parts before it: {e.Message}\n");
                return ExitCode.Unreadable;
            }
        }

        if (keep is not null && !PartFile.TryWrite(keep, all!, out string? why))
        {
            surroundings.Error.Write($"throughline: {keep} can't be written: {why}\n");
            return ExitCode.Fault;
        }

        BatchCommand.Write(surroundings, file, parsed, all!.Report(), form);
        return ExitCode.AllMet;
    }
}
