using System.Diagnostics;
using System.Globalization;
using Throughline.Firmware;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>Time of the settings memory's proof: the demos, and its growth with the items of a record and with records. The least of several runs.</summary>
internal static class ProofComparison
{
    private const double SpanSeconds = 1;

    public static int Run()
    {
        Console.WriteLine("settings memory            bytes    writes      states  wrong bytes        ms");
        foreach (string demo in (string[])["nutrient-ph", "cold-store-pt100", "hopper-bridge"])
        {
            Measure(demo, InstrumentReader.ReadFile(Path.Combine(CheckBenchmarks.Root(), "demo", demo, "instrument.yaml")).Value ?? throw new InvalidOperationException(demo));
        }

        foreach (int items in (int[])[1, 2, 4, 8, 16, 32])
        {
            Measure(FormattableString.Invariant($"1 record of {items} items"), Sketch(1, items));
        }

        foreach (int records in (int[])[2, 4, 8])
        {
            Measure(FormattableString.Invariant($"{records} records of 4 items"), Sketch(records, 4));
        }

        return 0;
    }

    private static void Measure(string name, Instrument instrument)
    {
        double least = double.PositiveInfinity;
        SettingsProof? proof = null;
        long start = Stopwatch.GetTimestamp();
        while (Stopwatch.GetElapsedTime(start).TotalSeconds < SpanSeconds)
        {
            // A copy, so that nothing known of the instrument helps.
            SettingsLayout layout = SettingsLayout.Of(instrument with { Revision = null }) ?? throw new InvalidOperationException(name);
            long begin = Stopwatch.GetTimestamp();
            proof = SettingsProof.Of(layout);
            least = Math.Min(least, Stopwatch.GetElapsedTime(begin).TotalMilliseconds);
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{name,-24} {proof!.Layout.End,7} {proof.Writes,9} {proof.Cuts,11} {proof.Spoilt,12} {least,9:F2}"));
    }

    private static Instrument Sketch(int records, int items)
    {
        string list = string.Join(", ", Enumerable.Range(1, items).Select(i => FormattableString.Invariant($"{{ name: item R{i}, kind: i16, factory: {i}, accepted: −1000 .. 1000 }}")));
        string memory = string.Concat(Enumerable.Range(1, records).Select(r => FormattableString.Invariant($"    record {r}: {{ items: [{list.Replace("item R", $"item {r}.", StringComparison.Ordinal)}] }}\n")));
        return InstrumentReader.ReadText("sketch.yaml", "instrument: Sketch\nspecification: { measurand: pH, range: 4 .. 9, display: { step: 0.01, error: ±0.1 } }\n"
            + "sensor: { kind: glass electrode, resistance: 100 MΩ, between: [probe, probe-return] }\nmemory:\n  size: 4 KiB\n  records:\n" + memory).Value ?? throw new InvalidOperationException("The sketch cannot be read.");
    }
}
