using System.Runtime.InteropServices;
using System.Text.Json.Nodes;
using Throughline.Testing;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>
/// Reference/nutrient_ph.py: an independent program in NumPy that lives the same units of demo/nutrient-ph from the same drawn figures, by equations
/// written out by hand.
/// </summary>
internal sealed class NutrientPhTwin
{
    private NutrientPhTwin(Dictionary<string, double[]> rows, double seconds, string version) => (Rows, Seconds, Version) = (rows, seconds, version);

    /// <summary>What became of every unit, by the program's own names; empty when it was asked for nothing but the time.</summary>
    public IReadOnlyDictionary<string, double[]> Rows { get; }

    /// <summary>Least time that it took to live all units, drawing and counting left out, s.</summary>
    public double Seconds { get; }

    /// <summary>NumPy's.</summary>
    public string Version { get; }

    /// <param name="figures">What makes each unit, one unit behind the other, each in the order of <see cref="UnitLife.CopyDraws"/>.</param>
    /// <param name="block">Units at a time.</param>
    /// <param name="repeat">How often all units are lived.</param>
    public static NutrientPhTwin Run(LifePlan plan, ReadOnlySpan<double> figures, int block, int repeat = 1, bool withResults = true)
    {
        string[] names = [.. plan.StreamNames];
        int units = figures.Length / names.Length;
        string folder = Directory.CreateTempSubdirectory("throughline-").FullName;
        try
        {
            string results = Path.Combine(folder, "results");
            JsonObject request = new()
            {
                ["figures"] = Path.Combine(folder, "figures"),
                ["names"] = new JsonArray([.. names.Select(n => (JsonNode)n.Replace('\u202F', ' '))]),
                ["units"] = units,
                ["noise"] = plan.NoiseCodes,
                ["results"] = withResults ? results : null,
                ["block"] = block,
                ["repeat"] = repeat,
            };
            WriteByName((string)request["figures"]!, figures, names.Length, units);
            JsonNode answer = Python.Run(["tests", "Throughline.Analysis.Tests", "Reference", "nutrient_ph.py"], request);
            Dictionary<string, double[]> rows = [];
            if (withResults)
            {
                double[] all = MemoryMarshal.Cast<byte, double>(File.ReadAllBytes(results)).ToArray();
                foreach (JsonNode? name in answer["rows"]!.AsArray())
                {
                    rows.Add((string)name!, all[(rows.Count * units)..((rows.Count + 1) * units)]);
                }
            }

            return new NutrientPhTwin(rows, (double)answer["seconds"]!, (string)answer["numpy"]!);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static void WriteByName(string path, ReadOnlySpan<double> figures, int names, int units)
    {
        using FileStream stream = File.Create(path);
        double[] row = new double[units];
        for (int i = 0; i < names; i++)
        {
            for (int unit = 0; unit < units; unit++)
            {
                row[unit] = figures[(unit * names) + i];
            }

            stream.Write(MemoryMarshal.AsBytes(row.AsSpan()));
        }
    }
}
