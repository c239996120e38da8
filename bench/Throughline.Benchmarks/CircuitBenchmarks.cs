using BenchmarkDotNet.Attributes;
using Throughline.Analysis;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>The circuit engine on the network of each demo, sensor to output, warm.</summary>
[MemoryDiagnoser]
public class CircuitBenchmarks
{
    private NetworkRun _run = null!;
    private UnitState _state = null!;
    private Network _network = null!;
    private SmallSignal _signal = null!;
    private Probe _probe;
    private double[] _perSlot = [];
    private NetworkSolver _solver = null!;
    private double[] _values = [];

    [ParamsSource(nameof(Demos))]
    public string Demo { get; set; } = "";

    public static IEnumerable<string> Demos => CheckBenchmarks.Demos;

    [GlobalSetup]
    public void Setup()
    {
        string folder = Path.Combine(CheckBenchmarks.Root(), "demo", Demo);
        string file = Path.Combine(folder, "instrument.yaml");
        Parsed<Instrument> parsed = InstrumentReader.ReadText(file, File.ReadAllText(file), folder);
        var evaluator = new Evaluator(Model.Compile(parsed.Value ?? throw new InvalidOperationException($"{file} has mistakes.")));
        _state = evaluator.NewState();
        _state.Measurand = evaluator.Instrument.Specification.Range.Middle;
        evaluator.Chain(_state);
        _run = evaluator.Field;
        _network = _run.Bound.Network;
        _perSlot = new double[_network.SlotCount];
        if (OperatingPoint().Status != SolveStatus.Solved)
            throw new InvalidOperationException($"{Demo} has no operating point.");
        _signal = _run.TryLinearise()!;
        // The output of the last amplifier, or the last node where there is none.
        AmplifierPins? amplifier = _run.Bound.Amplifiers.LastOrDefault();
        NodeId node = amplifier is null ? new NodeId(_network.NodeCount - 1) : _network.Pins(amplifier.Element)[2]!.Value;
        _probe = Probe.Voltage(node, _run.Bound.ReturnOf(node) ?? new NodeId(0));
        _solver = _network.CreateSolver();
        _values = _network.CreateValues();
        foreach (Binding binding in _run.Bound.Bindings)
            _values[binding.Slot] = binding.Law(_state);
        _solver.Solve(_values, _state.AmbientCelsius + 273.15);
    }

    /// <summary>From nothing, limits included.</summary>
    [Benchmark(Baseline = true)]
    public OperatingPoint OperatingPoint() => _run.Solve(_state, limited: true);

    /// <summary>Of one reading to every slot.</summary>
    [Benchmark]
    public double Sensitivities()
    {
        _solver.Sensitivities(_probe, _perSlot);
        return _perSlot[0];
    }

    /// <summary>Responses of one reading to every slot at 200 frequencies from 10 mHz to 1 MHz.</summary>
    [Benchmark]
    public double Sweep200()
    {
        var perSlot = new System.Numerics.Complex[_network.SlotCount];
        double sum = 0;
        for (int k = 0; k < 200; k++)
        {
            _signal.Transfers(_probe, 0.01 * Math.Pow(1e8, k / 199.0), perSlot);
            sum += perSlot[0].Real;
        }

        return sum;
    }

    /// <summary>Over 0.1 Hz to 100 kHz, ranked.</summary>
    [Benchmark]
    public NoiseReading Noise() => _signal.Noise(_probe, 0.1, 1e5, relativeTolerance: 1e-6);
}
