using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>Demos by name, and one of them with its output trimmed inside of the scale, by a worse meter.</summary>
internal static class Demos
{
    public const string Trimmed = "hopper-bridge, trimmed otherwise";

    public static string[] All => ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", "duct-temperature", Trimmed];

    public static Instrument Read(string name)
    {
        string file = Repository.PathOf("demo", name.Split(',')[0], "instrument.yaml");
        Parsed<Instrument> parsed = name == Trimmed ? InstrumentReader.ReadText(file, Trim(File.ReadAllText(file)), Path.GetDirectoryName(file)) : InstrumentReader.ReadFile(file);
        Assert.Empty(parsed.Diagnostics);
        return parsed.Value!;
    }

    private static string Trim(string text)
    {
        const string Trim = "  trim: { low: 4 mA, high: 20 mA, meter: 5.5 digit,";
        Assert.Contains(Trim, text, StringComparison.Ordinal);
        return text.Replace(Trim, "  trim: { low: 5 mA, high: 19 mA, meter: 4.5 digit,", StringComparison.Ordinal) + "\nbench: { ammeter: { error: ±0.02 %, fixed: ±1 µA } }\n";
    }
}
