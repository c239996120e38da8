using System.Diagnostics;
using Xunit;

namespace Throughline.Firmware.Tests;

/// <summary>C compiled and run on this machine: every warning an error, every undefined behaviour caught.</summary>
internal sealed class HostProgram : IDisposable
{
    private static readonly string[] Strict =
        ["-std=c99", "-O1", "-Wall", "-Wextra", "-Wconversion", "-Wpedantic", "-Werror", "-fsanitize=undefined,address", "-fno-sanitize-recover=all"];

    private readonly string _folder = Directory.CreateTempSubdirectory("throughline-").FullName;

    /// <param name="files">Sources and headers.</param>
    /// <param name="compiler">Such as gcc.</param>
    public HostProgram(IEnumerable<GeneratedFile> files, string compiler = "gcc")
    {
        List<string> sources = [];
        foreach (GeneratedFile file in files)
        {
            File.WriteAllText(Path.Combine(_folder, file.Name), file.Text);
            if (file.Name.EndsWith(".c", StringComparison.Ordinal))
            {
                sources.Add(file.Name);
            }
        }

        (int code, string said) = Start(compiler, [.. Strict, "-o", "program", .. sources], "");
        Assert.True(code == 0, said);
    }

    /// <summary>Runs it; what it says must be an outcome of 0.</summary>
    public string Run(string input, params string[] words)
    {
        (int code, string said) = Start(Path.Combine(_folder, "program"), words, input);
        Assert.True(code == 0, said.Length > 4000 ? said[^4000..] : said);
        return said;
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private (int Code, string Said) Start(string program, string[] words, string input)
    {
        using Process process = new()
        {
            StartInfo = new ProcessStartInfo(program, words) { WorkingDirectory = _folder, RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true },
        };

        // A sanitizer that watches for leaks cannot work under a tracer, and nothing here allocates.
        process.StartInfo.Environment["ASAN_OPTIONS"] = "detect_leaks=0";
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
            // It ended before it had read everything; its code and its words say why.
        }

        process.WaitForExit();
        return (process.ExitCode, output.Result + errors.Result);
    }
}
