using BenchmarkDotNet.Attributes;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>What an edit in the workbench waits for: reading the file and every check, warm.</summary>
[MemoryDiagnoser]
public class CheckBenchmarks
{
    private string _file = "";
    private string _folder = "";
    private string _text = "";
    private Instrument _instrument = null!;

    [ParamsSource(nameof(Demos))]
    public string Demo { get; set; } = "";

    public static IEnumerable<string> Demos => Directory.EnumerateDirectories(Path.Combine(Root(), "demo"))
        .Where(folder => File.Exists(Path.Combine(folder, "instrument.yaml")))
        .Select(folder => Path.GetFileName(folder))
        .Order(StringComparer.Ordinal);

    [GlobalSetup]
    public void Setup()
    {
        _folder = Path.Combine(Root(), "demo", Demo);
        _file = Path.Combine(_folder, "instrument.yaml");
        _text = File.ReadAllText(_file);
        _instrument = Read();
    }

    /// <summary>The file's text, already in memory, to the model of the instrument.</summary>
    [Benchmark]
    public Instrument Read()
    {
        Parsed<Instrument> parsed = InstrumentReader.ReadText(_file, _text, _folder);
        return parsed.Diagnostics.IsEmpty && parsed.Value is Instrument instrument
            ? instrument
            : throw new InvalidOperationException($"{_file} has mistakes, and a benchmark of those would say nothing.");
    }

    /// <summary>The model to every finding and the readings.</summary>
    [Benchmark]
    public Review Review() => Reviewer.Review(_instrument);

    /// <summary>Both, as after every edit. Aim: 16 ms, one frame of a screen.</summary>
    [Benchmark(Baseline = true)]
    public Review ReadAndReview() => Reviewer.Review(Read());

    /// <summary>The folder that holds the solution.</summary>
    public static string Root()
    {
        // BenchmarkDotNet runs from a folder of its own below the output.
        for (DirectoryInfo? folder = new(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (File.Exists(Path.Combine(folder.FullName, "Throughline.slnx")))
            {
                return folder.FullName;
            }
        }

        throw new InvalidOperationException("The benchmarks run outside the working copy.");
    }
}
