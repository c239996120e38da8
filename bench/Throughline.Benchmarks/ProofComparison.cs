using System.Diagnostics;
using System.Globalization;
using Throughline.Firmware;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>
/// Time of the firmware's proofs: arithmetic, calibration, trim of the output, settings memory and panel of each demo, and how they grow with the items of a record, with records and with screens.
/// First is the first time in this process, with the compiling of what the demos before did not need; then the least of several. Times of the processor, so that a busy machine does not show.
/// </summary>
internal static class ProofComparison
{
    private const double SpanSeconds = 0.5;

    public static int Run()
    {
        Console.WriteLine("proof                                                                     first ms   then ms");
        foreach (string demo in (string[])["nutrient-ph", "cold-store-pt100", "hopper-bridge"])
        {
            Demo(demo, InstrumentReader.ReadFile(Path.Combine(CheckBenchmarks.Root(), "demo", demo, "instrument.yaml")).Value ?? throw new InvalidOperationException(demo));
        }

        foreach (int items in (int[])[1, 2, 4, 8, 16, 32])
        {
            Settings(FormattableString.Invariant($"1 record of {items} items"), Memory(1, items));
        }

        foreach (int records in (int[])[2, 4, 8])
        {
            Settings(FormattableString.Invariant($"{records} records of 4 items"), Memory(records, 4));
        }

        foreach (int screens in (int[])[4, 16, 64, 250])
        {
            Panel(FormattableString.Invariant($"{screens} screens"), Screens(screens));
        }

        return 0;
    }

    private static void Demo(string name, Instrument instrument)
    {
        double total = 0;
        total += Measure(instrument, i => ArithmeticDesign.Of(i)!, d => Line(name, "arithmetic chosen", $"{d.Program.Nodes.Count} numbers"));
        total += Measure(instrument, i => ArithmeticDesign.Of(i)!, ArithmeticProof.Of, p => Line(name, "arithmetic", $"{p.CodesRun} codes, every {p.Stride}"));
        if (CalibrationDesign.Of(instrument) is not null)
        {
            total += Measure(instrument, i => CalibrationDesign.Of(i)!, CalibrationProof.Of, p => Line(name, "calibration", $"{p.Design.Program.Nodes.Count} numbers, {p.TakingsAccepted} takings"));
        }

        if (OutputTrimDesign.Of(instrument) is not null)
        {
            total += Measure(instrument, i => OutputTrimDesign.Of(i)!, OutputTrimProof.Of, p => Line(name, "output trim", $"{p.Design.Program.Nodes.Count} numbers, {p.Runs} runs"));
        }

        total += Settings(name, instrument) + Panel(name, instrument);
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{name,-24} all of them {total,59:F1}"));
    }

    private static double Settings(string name, Instrument instrument) =>
        Measure(instrument, i => SettingsLayout.Of(i)!, SettingsProof.Of, p => Line(name, "settings", $"{p.Layout.End} bytes, {p.Writes} writes, {p.Cuts + p.Spoilt} memories"));

    private static double Panel(string name, Instrument instrument) =>
        Measure(instrument, i => new PanelMachine(i), m => new PanelSpace(m), s => Line(name, "panel", $"{s.States.Count} states, {s.Transitions} steps{(s.IsWhole ? "" : ", not all")}"));

    private static string Line(string name, string proof, FormattableString counted) => string.Create(CultureInfo.InvariantCulture, $"{name,-24} {proof,-18} {FormattableString.Invariant(counted),-38}");

    private static double Measure<TResult>(Instrument instrument, Func<Instrument, TResult> prove, Func<TResult, string> tell) => Measure(instrument, i => i, prove, tell);

    /// <summary>Times a proof, what it is made of not counted, on copies of the instrument so that nothing known of it helps.</summary>
    /// <returns>The time of the first, ms.</returns>
    private static double Measure<TMade, TResult>(Instrument instrument, Func<Instrument, TMade> make, Func<TMade, TResult> prove, Func<TResult, string> tell)
    {
        double first = 0;
        double least = double.PositiveInfinity;
        long start = Stopwatch.GetTimestamp();
        for (int run = 0; run < 5 || Stopwatch.GetElapsedTime(start).TotalSeconds < SpanSeconds; run++)
        {
            TMade made = make(instrument with { Revision = null });
            TimeSpan begin = Environment.CpuUsage.TotalTime;
            TResult result = prove(made);
            double time = (Environment.CpuUsage.TotalTime - begin).TotalMilliseconds;
            if (run == 0)
            {
                first = time;
                Console.Write(tell(result));
            }
            else
            {
                least = Math.Min(least, time);
            }
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $" {first,9:F1} {least,9:F2}"));
        return first;
    }

    private static Instrument Memory(int records, int items)
    {
        string list = string.Join(", ", Enumerable.Range(1, items).Select(i => FormattableString.Invariant($"{{ name: item R{i}, kind: i16, factory: {i}, accepted: −1000 .. 1000 }}")));
        string memory = string.Concat(Enumerable.Range(1, records).Select(r => FormattableString.Invariant($"    record {r}: {{ items: [{list.Replace("item R", $"item {r}.", StringComparison.Ordinal)}] }}\n")));
        return Read("memory:\n  size: 4 KiB\n  records:\n" + memory);
    }

    /// <summary>A ring of screens: a key to the next, a key home, and a time after which the panel goes home.</summary>
    private static Instrument Screens(int count)
    {
        string Screen(int i) => FormattableString.Invariant($"    {(i == 0 ? "measuring" : $"screen {i}")}:\n      lines: [\"\", \"NEXT HOME\"]\n      keys: [NEXT: {(i + 1 == count ? "measuring" : $"screen {i + 1}")}, {(i == 0 ? "none" : "HOME: measuring")}]\n{(i == 0 ? "" : "      after: { 60 s: measuring }\n")}");
        return Read("panel:\n  display: 16 x 2\n  keys: 2\n  screens:\n" + string.Concat(Enumerable.Range(0, count).Select(Screen)));
    }

    private static Instrument Read(string sections) => InstrumentReader.ReadText("sketch.yaml", "instrument: Sketch\nspecification: { measurand: pH, range: 4 .. 9, display: { step: 0.01, error: ±0.1 } }\n"
        + "sensor: { kind: glass electrode, resistance: 100 MΩ, between: [probe, probe-return] }\n" + sections) is { Value: { } read }
            ? read
            : throw new InvalidOperationException("The sketch cannot be read.");
}
