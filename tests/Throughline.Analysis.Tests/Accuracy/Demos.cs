using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Analysis.Tests.Accuracy;

/// <summary>Demos by name, and one of them with its output trimmed besides.</summary>
internal static class Demos
{
    public const string Trimmed = "hopper-bridge, output trimmed";

    public static string[] All => ["nutrient-ph", "cold-store-pt100", "hopper-bridge", "loop-powered-level", Trimmed];

    public static Instrument Read(string name)
    {
        string file = Repository.PathOf("demo", name.Split(',')[0], "instrument.yaml");
        Parsed<Instrument> parsed = name == Trimmed ? InstrumentReader.ReadText(file, Trim(File.ReadAllText(file)), Path.GetDirectoryName(file)) : InstrumentReader.ReadFile(file);
        Assert.Empty(parsed.Diagnostics);
        return parsed.Value!;
    }

    private static string Trim(string text)
    {
        const string Load = "  load: 0 .. 500 Ω\n";
        Assert.Contains(Load, text, StringComparison.Ordinal);
        return text.Replace(Load, Load + "  trim: { low: 5 mA, high: 19 mA, meter: 4.5 digit, accept: ±0.5 mA }\n", StringComparison.Ordinal)
            + "\nbench: { ammeter: { error: ±0.02 %, fixed: ±1 µA } }\n";
    }
}
