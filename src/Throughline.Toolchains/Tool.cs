using System.Diagnostics;

namespace Throughline.Toolchains;

/// <summary>Programs of the machine that the code is built and run with: found on the PATH, never fetched.</summary>
internal static class Tool
{
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(2);

    /// <summary>The full path of a program; null where the PATH has none of the name.</summary>
    public static string? Find(string name) =>
        (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator, StringSplitOptions.RemoveEmptyEntries)
            .Select(folder => Path.Combine(folder, name))
            .FirstOrDefault(File.Exists);

    /// <summary>Runs a program to its end.</summary>
    /// <param name="input">What it reads from its standard input.</param>
    /// <returns>Its exit code and all that it said; −1 when it was stopped after two minutes.</returns>
    public static (int Code, string Said) Run(string folder, string program, IEnumerable<string> words, string input = "")
    {
        using Process process = new()
        {
            StartInfo = new ProcessStartInfo(program, words) { WorkingDirectory = folder, RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true },
        };

        // Messages are read by a machine: in the words of the program itself.
        process.StartInfo.Environment["LC_ALL"] = "C";
        process.Start();
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        Task<string> errors = process.StandardError.ReadToEndAsync();
        try
        {
            process.StandardInput.Write(input);
            process.StandardInput.Close();
        }
        catch (IOException)
        {
            // It ended without reading all of its input; its exit code tells the rest.
        }

        if (!process.WaitForExit(Longest))
        {
            process.Kill(entireProcessTree: true);
            return (-1, $"{Path.GetFileName(program)} did not end within {Longest.TotalMinutes} minutes.");
        }

        return (process.ExitCode, output.Result + errors.Result);
    }
}
