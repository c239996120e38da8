using System.CommandLine;
using System.Globalization;
using Throughline.Analysis;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;

namespace Throughline.Commands;

/// <summary><c>batch FILE</c>: many simulated units, each built, adjusted, calibrated and tested.</summary>
internal static class BatchCommand
{
    private const long MostUnits = 1_000_000_000_000;

    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<long> units = new("--units")
        {
            Description = "How many units: 10000 when not said.",
            HelpName = "COUNT",
            DefaultValueFactory = _ => 10_000,
            CustomParser = result => Count(result.Tokens[0].Value, 1, MostUnits, "--units", result.AddError),
        };
        Option<ulong> seed = new("--seed")
        {
            Description = "Chooses the units: unit 7 of seed 1 is always the same unit.",
            HelpName = "NUMBER",
            DefaultValueFactory = _ => 1,
            CustomParser = result => (ulong)Count(result.Tokens[0].Value, 0, long.MaxValue, "--seed", result.AddError),
        };
        Option<(int Number, int Of)> shard = new("--shard")
        {
            Description = "Only the k-th of n parts, as k/n; put the parts together with `merge`.",
            HelpName = "K/N",
            DefaultValueFactory = _ => (1, 1),
            CustomParser = result => Shard(result.Tokens[0].Value, result.AddError),
        };
        Option<string> keep = new("--keep") { Description = "Also write what was counted to a file that `merge` reads.", HelpName = "PART" };
        Option<long?> unit = new("--unit")
        {
            Description = "Look at one unit of the batch instead: its parts, its adjustment, its readings.",
            HelpName = "NUMBER",
            CustomParser = result => Count(result.Tokens[0].Value, 0, MostUnits, "--unit", result.AddError),
        };
        Option<bool> even = new("--even") { Description = "Spread the units evenly (quasi-random) instead of drawing each for itself: the same confidence from fewer units." };
        Option<int> causes = new("--causes")
        {
            Description = "Rank what makes the readings scatter, from so many of the units.",
            HelpName = "COUNT",
            DefaultValueFactory = _ => 0,
            CustomParser = result => (int)Count(result.Tokens[0].Value, 0, 1_000_000, "--causes", result.AddError),
        };
        Option<int> threads = new("--threads")
        {
            Description = "Threads to use: as many as the machine has processors when not said. The result is the same.",
            HelpName = "COUNT",
            DefaultValueFactory = _ => Environment.ProcessorCount,
            CustomParser = result => (int)Count(result.Tokens[0].Value, 1, 4096, "--threads", result.AddError),
        };
        Option<bool> csv = new("--csv") { Description = "Write the readings as comma-separated values." };
        Option<bool> json = Words.Json();
        Command command = new("batch", "Build, adjust, calibrate and test many simulated units.")
        {
            file, units, seed, shard, keep, unit, even, causes, threads, csv, json,
        };
        command.SetAction(parsed =>
        {
            (int number, int of) = parsed.GetValue(shard);
            BatchOptions options = new()
            {
                Units = parsed.GetValue(units),
                Seed = parsed.GetValue(seed),
                Shard = number,
                Shards = of,
                IsEven = parsed.GetValue(even),
                CauseUnits = parsed.GetValue(causes),
                Threads = parsed.GetValue(threads),
            };
            Form form = parsed.GetValue(json) ? Form.Json : parsed.GetValue(csv) ? Form.Csv : Form.Text;
            string path = parsed.GetRequiredValue(file);
            return parsed.GetValue(unit) is { } one
                ? LookAt(surroundings, engine, path, options, one, form)
                : Run(surroundings, engine, path, options, parsed.GetValue(keep), form);
        });
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, BatchOptions options, string? keep, Form form)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        if (CheckCommand.Readable(parsed) is not Instrument instrument)
        {
            return Unreadable(surroundings, file, parsed, form);
        }

        Batch batch;
        using (CancellationTokenSource stop = new())
        using (ProgressLine progress = new(surroundings))
        {
            void Stop(object? sender, ConsoleCancelEventArgs e)
            {
                // The first Ctrl-C ends the batch and keeps what is done; a second one ends the program.
                e.Cancel = !stop.IsCancellationRequested;
                stop.Cancel();
            }

            Console.CancelKeyPress += Stop;
            try
            {
                batch = engine.Batch(instrument, options, progress.Show, stop.Token);
            }
            finally
            {
                Console.CancelKeyPress -= Stop;
            }
        }

        if (keep is not null && !PartFile.TryWrite(keep, batch, out string? trouble))
        {
            surroundings.Error.Write($"throughline: {keep} can't be written: {trouble}\n");
            return ExitCode.Fault;
        }

        Write(surroundings, file, parsed, batch.Report(), form);
        return ExitCode.AllMet;
    }

    /// <summary>Writes a report in the form asked for.</summary>
    public static void Write(Surroundings surroundings, string file, Parsed<Instrument> parsed, BatchReport report, Form form)
    {
        switch (form)
        {
            case Form.Json:
                Documents.Write(surroundings, Documents.Batch(file, parsed, report));
                break;
            case Form.Csv:
                BatchCsv.Write(surroundings, report);
                break;
            default:
                BatchText.Write(Page.ForOutput(surroundings), report);
                break;
        }
    }

    /// <summary>Says what can't be read.</summary>
    public static int Unreadable(Surroundings surroundings, string file, Parsed<Instrument> parsed, Form form)
    {
        if (form == Form.Json)
        {
            Documents.Write(surroundings, Documents.Batch(file, parsed, null));
        }
        else
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }

        return ExitCode.Unreadable;
    }

    private static int LookAt(Surroundings surroundings, Engine engine, string file, BatchOptions options, long unit, Form form)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        if (CheckCommand.Readable(parsed) is not Instrument instrument)
        {
            return Unreadable(surroundings, file, parsed, form);
        }

        UnitReport report = engine.BatchUnit(instrument, options, unit);
        switch (form)
        {
            case Form.Json:
                Documents.Write(surroundings, Documents.Unit(file, parsed, report));
                break;
            case Form.Csv:
                BatchCsv.Write(surroundings, report);
                break;
            default:
                UnitText.Write(Page.ForOutput(surroundings), report);
                break;
        }

        return ExitCode.AllMet;
    }

    private static long Count(string text, long least, long greatest, string name, Action<string> complain)
    {
        // 1e6 and 1_000_000 are how people write large counts.
        string plain = text.Replace("_", "", StringComparison.Ordinal);
        if (double.TryParse(plain, NumberStyles.AllowDecimalPoint | NumberStyles.AllowExponent, CultureInfo.InvariantCulture, out double number)
            && number >= least && number <= greatest && Math.Floor(number) == number)
        {
            return long.TryParse(plain, NumberStyles.None, CultureInfo.InvariantCulture, out long exact) ? exact : (long)number;
        }

        complain(FormattableString.Invariant($"{name} takes a whole number from {least} to {greatest}, and '{text}' is none."));
        return least;
    }

    private static (int, int) Shard(string text, Action<string> complain)
    {
        string[] parts = text.Split('/');
        if (parts.Length == 2
            && int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out int number)
            && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out int of)
            && number >= 1 && number <= of && of <= 1_000_000)
        {
            return (number, of);
        }

        complain($"--shard takes a part and how many there are, such as 3/8, and '{text}' is none.");
        return (1, 1);
    }
}

/// <summary>In what form a result is written.</summary>
internal enum Form
{
    Text,
    Json,
    Csv,
}
