using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Throughline.Circuits.Tests;

/// <summary>Runs Reference/networks.py, which needs NumPy and SciPy: Debian's python3-numpy and python3-scipy, installed by ./test.</summary>
internal static class NumericalPython
{
    public static JsonArray Run(string task, IEnumerable<JsonObject> networks, JsonObject? arguments = null)
    {
        var request = new JsonObject { ["task"] = task, ["networks"] = new JsonArray([.. networks]) };
        foreach ((string key, JsonNode? value) in arguments ?? [])
            request[key] = value?.DeepClone();
        string script = Path.Combine(ReferenceTables.Root, "tests", "Throughline.Circuits.Tests", "Reference", "networks.py");
        // Debian's own interpreter sees Debian's packages; another one on the path need not.
        string interpreter = Environment.GetEnvironmentVariable("THROUGHLINE_PYTHON") is { Length: > 0 } named ? named : File.Exists("/usr/bin/python3") ? "/usr/bin/python3" : "python3";
        using var process = new Process
        {
            StartInfo = new ProcessStartInfo(interpreter, [script])
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
        if (process.ExitCode != 0)
            throw new InvalidOperationException($"The reference solution failed; it needs python3 with NumPy and SciPy.\n{errors.Result}");
        return JsonSerializer.Deserialize<JsonArray>(output.Result)!;
    }
}
