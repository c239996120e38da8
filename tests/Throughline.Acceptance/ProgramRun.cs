using System.Diagnostics;
using System.Text;

namespace Throughline.Acceptance;

/// <summary>One run of the program as a user starts it, with what it wrote.</summary>
internal sealed record ProgramRun(int ExitCode, string Output, string Errors)
{
    /// <summary>Starts the program that was built with these tests and waits for its end.</summary>
    public static async Task<ProgramRun> StartAsync(CancellationToken cancel, params string[] arguments)
    {
        ProcessStartInfo start = new("dotnet")
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            RedirectStandardInput = true,
            StandardOutputEncoding = Encoding.UTF8,
            StandardErrorEncoding = Encoding.UTF8,
            UseShellExecute = false,
        };
        start.ArgumentList.Add(Path.Combine(AppContext.BaseDirectory, "throughline.dll"));
        foreach (string argument in arguments)
        {
            start.ArgumentList.Add(argument);
        }

        using Process process = Process.Start(start) ?? throw new InvalidOperationException("The program did not start.");
        process.StandardInput.Close();
        Task<string> output = process.StandardOutput.ReadToEndAsync(cancel);
        Task<string> errors = process.StandardError.ReadToEndAsync(cancel);
        await process.WaitForExitAsync(cancel);
        return new(process.ExitCode, await output, await errors);
    }
}
