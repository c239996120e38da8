using System.CommandLine;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>check FILE…</c>: every finding of one or more instruments.</summary>
internal static class CheckCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string[]> files = new(Words.File)
        {
            Description = "One or more instrument files.",
            HelpName = Words.File,
            Arity = ArgumentArity.OneOrMore,
        };
        Option<bool> all = new("--all") { Description = "Give the sentence and the place of what is met, too." };
        Option<bool> json = Words.Json();
        Command command = new("check", "Check an instrument: what must hold, whether it does, and what would mend it.") { files, all, json };
        command.SetAction(parsed => Run(surroundings, engine, parsed.GetRequiredValue(files), parsed.GetValue(all), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string[] files, bool isFull, bool asJson)
    {
        List<(string File, Parsed<Instrument> Parsed, Review? Review)> results = [];
        foreach (string file in files)
        {
            Parsed<Instrument> parsed = engine.Read(file);
            Review? review = Readable(parsed) is Instrument instrument ? engine.Review(instrument) : null;
            results.Add((file, parsed, review));
        }

        if (asJson)
        {
            Documents.Write(surroundings, Documents.Review(results));
        }
        else
        {
            Write(surroundings, results, isFull);
        }

        return results.Max(r => CodeOf(r.Review));
    }

    /// <summary>The instrument, unless its file has a mistake: half an instrument is never judged.</summary>
    public static Instrument? Readable(Parsed<Instrument> parsed) => parsed.Diagnostics.IsEmpty ? parsed.Value : null;

    public static int CodeOf(Review? review) => review switch
    {
        null => ExitCode.Unreadable,
        { NotMet: > 0 } => ExitCode.SomeNotMet,
        _ => ExitCode.AllMet,
    };

    private static void Write(Surroundings surroundings, List<(string File, Parsed<Instrument> Parsed, Review? Review)> results, bool isFull)
    {
        Page page = Page.ForOutput(surroundings);
        bool isFirst = true;
        foreach ((string file, Parsed<Instrument> parsed, Review? review) in results)
        {
            if (review is null)
            {
                // In the order of the files also where both streams are one terminal.
                surroundings.Output.Flush();
                DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
                surroundings.Error.Flush();
                continue;
            }

            if (!isFirst)
            {
                page.Line();
            }

            isFirst = false;
            ReviewText.Write(page, review, isFull);
        }

        if (results.Count > 1)
        {
            Overview(page, results);
        }
    }

    /// <summary>One line for each file, so that a long run ends with what matters.</summary>
    private static void Overview(Page page, List<(string File, Parsed<Instrument> Parsed, Review? Review)> results)
    {
        page.Line();
        int width = ReviewText.Widest(results.Select(r => r.File), 60);
        foreach ((string file, Parsed<Instrument> _, Review? review) in results)
        {
            page.Write(Cells.PadRight(Cells.Clean(file), width)).Write("  ");
            if (review is null)
            {
                page.Write("can't be read", Ink.NotMet);
            }
            else
            {
                ReviewText.Counts(page, review.NotMet, review.Marginal, review.Met);
            }

            page.End();
        }
    }
}
