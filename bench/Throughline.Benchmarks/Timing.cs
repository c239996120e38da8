using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Throughline.Benchmarks;

/// <summary>What the comparisons with NumPy and SciPy have in common.</summary>
internal static class Timing
{
    private const double SpanSeconds = 0.3;

    /// <summary>Median time of an action, s, once it has run long enough to be compiled for good.</summary>
    public static double Median(Action action)
    {
        Times(action);
        List<double> times = Times(action);
        times.Sort();
        return times[times.Count / 2];
    }

    public static JsonArray Numbers<T>(IEnumerable<T> numbers) => new([.. numbers.Select(number => (JsonNode)JsonValue.Create(number)!)]);

    /// <summary>Runs a script of the folder Reference: what it is handed on its input, and the array that it answers.</summary>
    public static JsonArray Reference(string script, JsonObject request)
    {
        using var process = new Process
        {
            StartInfo = new ProcessStartInfo(
                File.Exists("/usr/bin/python3") ? "/usr/bin/python3" : "python3", [Path.Combine(CheckBenchmarks.Root(), "bench", "Throughline.Benchmarks", "Reference", script)])
            {
                RedirectStandardInput = true,
                RedirectStandardOutput = true,
            },
        };
        // More threads than cores to share only slow a small dense solve down.
        process.StartInfo.Environment["OPENBLAS_NUM_THREADS"] = "1";
        process.Start();
        Task<string> output = process.StandardOutput.ReadToEndAsync();
        process.StandardInput.Write(request.ToJsonString());
        process.StandardInput.Close();
        process.WaitForExit();
        return process.ExitCode == 0
            ? JsonSerializer.Deserialize<JsonArray>(output.Result)!
            : throw new InvalidOperationException("The reference failed; it needs python3 with NumPy and SciPy.");
    }

    private static List<double> Times(Action action)
    {
        var times = new List<double>();
        long start = Stopwatch.GetTimestamp();
        while (Stopwatch.GetElapsedTime(start).TotalSeconds < SpanSeconds || times.Count < 5)
        {
            long begin = Stopwatch.GetTimestamp();
            action();
            times.Add(Stopwatch.GetElapsedTime(begin).TotalSeconds);
        }

        return times;
    }
}
