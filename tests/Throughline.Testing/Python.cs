using System.Diagnostics;
using System.Text.Json.Nodes;

namespace Throughline.Testing;

/// <summary>Runs a program in NumPy that the tests compare with: Debian's python3-numpy and python3-scipy, installed by ./test.</summary>
public static class Python
{
    /// <param name="script">Path below the root.</param>
    /// <param name="request">What it reads from its standard input.</param>
    /// <returns>What it wrote to its standard output.</returns>
    /// <exception cref="InvalidOperationException">It failed; the message holds what it said.</exception>
    public static JsonNode Run(string[] script, JsonObject request)
    {
        // Debian's own interpreter sees Debian's packages; another one on the path need not.
        string interpreter = Environment.GetEnvironmentVariable("THROUGHLINE_PYTHON") is { Length: > 0 } named ? named : File.Exists("/usr/bin/python3") ? "/usr/bin/python3" : "python3";
        using Process process = new()
        {
            StartInfo = new ProcessStartInfo(interpreter, [Repository.PathOf(script)])
            {
                RedirectStandardInput = true,
                RedirectStandardOutput = true,
                RedirectStandardError = true,
            },
        };

        // Matrices of twenty rows are solved sooner by one thread than shared among several.
        process.StartInfo.Environment["OPENBLAS_NUM_THREADS"] = "1";
        process.Start();
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        Task<string> errors = process.StandardError.ReadToEndAsync();
        process.StandardInput.Write(request.ToJsonString());
        process.StandardInput.Close();
        process.WaitForExit();
        return process.ExitCode == 0
            ? JsonNode.Parse(output.Result)!
            : throw new InvalidOperationException($"The reference failed; it needs python3 with NumPy and SciPy.\n{errors.Result}");
    }
}
