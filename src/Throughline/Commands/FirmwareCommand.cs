using System.Collections.Immutable;
using System.CommandLine;
using System.Text;
using Throughline.Firmware;
using Throughline.Instruments;
using Throughline.Json;
using Throughline.Output;
using Throughline.Toolchains;

namespace Throughline.Commands;

/// <summary><c>firmware FILE</c>: the integer arithmetic with its proofs, and its C code.</summary>
internal static class FirmwareCommand
{
    public static Command Create(Surroundings surroundings, Engine engine)
    {
        Argument<string> file = Words.FileArgument();
        Option<string?> folder = new("--out") { Description = "A folder to write the C code into, made when it is not there.", HelpName = Words.Folder };
        Option<double?> code = Words.Number("--code", "CODE", "Run the arithmetic at this code of the converter and show every number.", int.MinValue, uint.MaxValue);
        Option<string?> curve = new("--curve") { Description = "Write the error over every code of the converter: a table into a file named .csv, a picture into one named .svg.", HelpName = Words.File };
        Option<bool> build = new("--build") { Description = "Build the code with every compiler that is here; show flash, RAM and, where a simulator is here, cycles." };
        Option<bool> json = Words.Json();
        Command command = new("firmware", "Derive and prove the integer arithmetic; write it as C.") { file, folder, code, curve, build, json };
        command.SetAction(parsed =>
            Run(surroundings, engine, parsed.GetRequiredValue(file), parsed.GetValue(folder), parsed.GetValue(code), parsed.GetValue(curve), parsed.GetValue(build), parsed.GetValue(json)));
        return command;
    }

    private static int Run(Surroundings surroundings, Engine engine, string file, string? folder, double? code, string? curve, bool builds, bool asJson)
    {
        Parsed<Instrument> parsed = engine.Read(file);
        Instrument? instrument = CheckCommand.Readable(parsed);
        FirmwareCode? firmware = instrument is null ? null : engine.Firmware(instrument);
        if (code is { } at && firmware?.Design is { Trouble: null } design && (at != Math.Floor(at) || at < (double)design.Code.Low || at > (double)design.Code.High))
        {
            Page.ForError(surroundings).Line(FormattableString.Invariant($"throughline: the converter has the codes {design.Code.Low} to {design.Code.High}, and {at} is none of them."));
            return ExitCode.Unreadable;
        }

        ImmutableArray<string> written = [];
        if (folder is not null && firmware is { Trouble: null })
        {
            written = [.. firmware.Files.Select(f => Path.Combine(folder, f.Name))];
            if (TryWrite(folder, firmware.Files, written) is { } mistake)
            {
                Page.ForError(surroundings).Line("throughline: " + mistake);
                return ExitCode.Unreadable;
            }
        }

        if (curve is not null && firmware?.Proof is { } proof && TryWriteCurve(curve, proof) is { } trouble)
        {
            Page.ForError(surroundings).Line("throughline: " + trouble);
            return ExitCode.Unreadable;
        }

        ImmutableArray<CompilerResult> built = builds && firmware is { Trouble: null } ? engine.Build(firmware) : [];
        if (asJson)
        {
            Documents.Write(surroundings, Documents.Firmware(file, parsed, firmware, written, (long?)code, built));
        }
        else if (firmware is null)
        {
            DiagnosticText.Write(Page.ForError(surroundings), file, parsed.Diagnostics);
        }
        else
        {
            FirmwareText.Write(Page.ForOutput(surroundings), instrument!, firmware, written, (long?)code, built);
        }

        return firmware is null ? ExitCode.Unreadable : firmware.Trouble is null ? ExitCode.AllMet : ExitCode.SomeNotMet;
    }

    /// <summary>Writes the error over the codes; returns what is in the way.</summary>
    private static string? TryWriteCurve(string path, ArithmeticProof proof)
    {
        try
        {
            switch (Path.GetExtension(path).ToLowerInvariant())
            {
                case ".csv":
                    using (StreamWriter writer = new(path) { NewLine = "\n" })
                    {
                        foreach (string line in ErrorCurve.Csv(proof))
                        {
                            writer.WriteLine(line);
                        }
                    }

                    return null;
                case ".svg":
                    File.WriteAllText(path, ErrorCurve.Svg(proof));
                    return null;
                default:
                    return $"--curve takes a file named .csv or .svg, and {path} is neither.";
            }
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            return $"{path} cannot be written: {e.Message}";
        }
    }

    /// <summary>Writes every file under another name first and gives them their own when all are there; returns what is in the way.</summary>
    private static string? TryWrite(string folder, ImmutableArray<GeneratedFile> files, ImmutableArray<string> paths)
    {
        if (folder.Length == 0)
        {
            return "the folder has no name.";
        }

        const string Unfinished = ".unfinished";
        List<string> begun = [];
        try
        {
            Directory.CreateDirectory(folder);
            if (paths.FirstOrDefault(Directory.Exists) is { } taken)
            {
                return $"{taken} is a folder.";
            }

            foreach ((GeneratedFile generated, string path) in files.Zip(paths))
            {
                begun.Add(path + Unfinished);
                File.WriteAllBytes(path + Unfinished, Encoding.UTF8.GetBytes(generated.Text));
            }

            foreach (string path in paths)
            {
                File.Move(path + Unfinished, path, overwrite: true);
            }

            return null;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            foreach (string path in begun.Where(File.Exists))
            {
                File.Delete(path);
            }

            return $"{folder} cannot be written: {e.Message}";
        }
    }
}
