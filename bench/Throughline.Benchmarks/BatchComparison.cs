using System.Diagnostics;
using System.Globalization;
using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;
using Throughline.Analysis;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Benchmarks;

/// <summary>
/// Cost of a unit in the batched solver beside the scalar one, for two stages like those of demo/nutrient-ph, and the share of the multiply-add peak that is
/// measured in the same run. Times are the least of many short ones, so that a busy machine shows as little as can be.
/// </summary>
internal static class BatchComparison
{
    private const int Lanes = 32;
    private const double SpanSeconds = 1;

    private sealed record Stage(string Name, Network Network, double[] Values, Probe[] Probes, BatchSlots Slots);

    public static int Run()
    {
        double peak = Peak();
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"multiply-add peak of one core {peak:F1} GFLOP/s, {(Vector512.IsHardwareAccelerated ? 8 : Vector256.IsHardwareAccelerated ? 4 : 2)} lanes in a vector"));
        Console.WriteLine("per unit                 prepare ns   solve ns  sources ns   GFLOP/s  of peak   scalar µs    ratio   settled");
        foreach (Stage stage in (Stage[])[Input(), Output(0.3), Output(0), Whole("nutrient-ph")])
            Measure(stage, peak);
        return 0;
    }

    private static void Measure(Stage stage, double peak)
    {
        NetworkSolver solver = stage.Network.CreateSolver();
        OperatingPoint nominal = solver.Solve(stage.Values);
        if (nominal.Status != SolveStatus.Solved)
            throw new InvalidOperationException(nominal.Trouble);
        BatchProgram program = BatchProgram.Create(stage.Network, nominal.Snapshot(), stage.Probes, stage.Slots);
        BatchRun run = program.CreateRun(Lanes);
        var random = new Random(1);
        foreach (int slot in stage.Slots.Fixed.Concat(stage.Slots.Changing).Concat(stage.Slots.Sources))
        {
            for (int lane = 0; lane < Lanes; lane++)
                run.Slot(slot)[lane] *= 1 + (0.02 * ((2 * random.NextDouble()) - 1));
        }

        double prepare = Least(run.Prepare) / Lanes;
        double solve = Least(() => run.Solve()) / Lanes;
        int settled = Enumerable.Range(0, Lanes).Count(run.IsSettled);
        double flops = program.OperationsPerSolve(run.Iterations);
        double sources = Least(() => run.SolveSources()) / Lanes;
        double[] values = [.. stage.Values];
        double scalar = Least(() => solver.Solve(values));
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{stage.Name,-24} {prepare * 1e9,10:F1}  {solve * 1e9,9:F1}  {sources * 1e9,10:F1}  {flops / solve / 1e9,8:F2}  {flops / solve / 1e9 / peak,6:P0}  {scalar * 1e6,10:F2}  {scalar / solve,7:F0}×  {settled,4} of {Lanes}"));
    }

    /// <summary>Seconds of one call: the least of many spans of some ten microseconds.</summary>
    private static double Least(Action action)
    {
        int calls = 1;
        double least = double.PositiveInfinity;
        long start = Stopwatch.GetTimestamp();
        while (Stopwatch.GetElapsedTime(start).TotalSeconds < SpanSeconds)
        {
            long begin = Stopwatch.GetTimestamp();
            for (int k = 0; k < calls; k++)
                action();
            double seconds = Stopwatch.GetElapsedTime(begin).TotalSeconds;
            least = Math.Min(least, seconds / calls);
            if (seconds < 20e-6)
                calls *= 2;
        }

        return least;
    }

    /// <summary>Twelve chains of multiply-adds in registers: what the core can do when nothing is loaded or stored.</summary>
    private static double Peak()
    {
        double sink = 0;
        double seconds = Least(() => sink += Chains(2000));
        return double.IsFinite(sink) ? 2000.0 * 12 * 8 * 2 / seconds / 1e9 : 0;
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization | MethodImplOptions.NoInlining)]
    private static double Chains(int turns)
    {
        Vector512<double> m = Vector512.Create(0.999);
        Vector512<double> c = Vector512.Create(0.001);
        Vector512<double> a0 = c, a1 = c, a2 = c, a3 = c, a4 = c, a5 = c, a6 = c, a7 = c, a8 = c, a9 = c, a10 = c, a11 = c;
        for (int k = 0; k < turns; k++)
        {
            a0 = Vector512.FusedMultiplyAdd(a0, m, c);
            a1 = Vector512.FusedMultiplyAdd(a1, m, c);
            a2 = Vector512.FusedMultiplyAdd(a2, m, c);
            a3 = Vector512.FusedMultiplyAdd(a3, m, c);
            a4 = Vector512.FusedMultiplyAdd(a4, m, c);
            a5 = Vector512.FusedMultiplyAdd(a5, m, c);
            a6 = Vector512.FusedMultiplyAdd(a6, m, c);
            a7 = Vector512.FusedMultiplyAdd(a7, m, c);
            a8 = Vector512.FusedMultiplyAdd(a8, m, c);
            a9 = Vector512.FusedMultiplyAdd(a9, m, c);
            a10 = Vector512.FusedMultiplyAdd(a10, m, c);
            a11 = Vector512.FusedMultiplyAdd(a11, m, c);
        }

        return Vector512.Sum(a0 + a1 + a2 + a3 + (a4 + a5 + a6 + a7) + (a8 + a9 + a10 + a11));
    }

    /// <summary>A glass electrode of 100 MΩ on a biased reference, zero and span trimmers, gain 5.5, filter and converter.</summary>
    private static Stage Input()
    {
        var b = new Builder();
        b.Source("A5", "a5", "0", 5);
        b.Source("VREF", "vref", "0", 1.25);
        b.Fixed("R6", "a5", "vref", 10e3);
        b.Fixed("R4", "vref", "zero-top", 1e3);
        b.Turned("VR1a", "zero-top", "zero", 500);
        b.Turned("VR1b", "zero", "zero-bottom", 500);
        b.Fixed("R5", "zero-bottom", "0", 10.2e3);
        b.OpAmp("U2", "zero", "probe-return", "probe-return", "a5", "0");
        b.Source("electrode", "glass", "probe-return", 0.15);
        b.Turned("RE", "glass", "probe", 100e6);
        b.Fixed("R7", "probe", "in", 1e6);
        b.Fixed("LK1", "in", "probe-return", 5e12);
        b.OpAmp("U1", "in", "fb", "amp", "a5", "0");
        b.Fixed("R1", "amp", "span", 42.2e3);
        b.Turned("VR2", "span", "fb", 2.5e3);
        b.Fixed("R2", "fb", "probe-return", 10e3);
        b.Fixed("R3", "amp", "adc", 10e3);
        b.Drain("IADC", "adc", "0", 1e-9);
        return b.Build("input stage", [("probe-return", "0"), ("adc", "0")], []);
    }

    /// <summary>A trimmed divider, an op amp and a transistor that sinks 0.1 V per milliampere through the load.</summary>
    private static Stage Output(double saturation)
    {
        var b = new Builder();
        b.Source("L18", "l18", "0", 18);
        b.Source("L5", "l5", "0", 5);
        b.Source("dac", "dac", "0", 1.2);
        b.Fixed("R11", "dac", "set", 2e3);
        b.Fixed("R12", "set", "loop-span", 16.9e3);
        b.Turned("VR3", "loop-span", "0", 5e3);
        b.OpAmp("U3", "set", "sense", "drive", "l5", "0");
        b.Fixed("R14", "drive", "base", 1e3);
        b.Bipolar("Q1", "loop-", "base", "sense", 5e-14, 200, saturation);
        b.Fixed("R15", "sense", "0", 90.9);
        b.Fixed("R13", "l18", "loop+", 10);
        b.Turned("load", "loop+", "loop-", 250);
        return b.Build(saturation > 0 ? "output stage" : "output, full equations", [("sense", "0")], ["load"]);
    }

    /// <summary>A demo from sensor to loop: every number of every part varies, its trimmers change, its sources drive, the output of every amplifier is read.</summary>
    private static Stage Whole(string demo)
    {
        string folder = Path.Combine(CheckBenchmarks.Root(), "demo", demo);
        string file = Path.Combine(folder, "instrument.yaml");
        Parsed<Instrument> parsed = InstrumentReader.ReadText(file, File.ReadAllText(file), folder);
        var evaluator = new Evaluator(Model.Compile(parsed.Value ?? throw new InvalidOperationException($"{file} has mistakes.")));
        UnitState state = evaluator.NewState();
        state.Measurand = evaluator.Instrument.Specification.Range.Middle;
        evaluator.Chain(state);
        var bound = evaluator.Field.Bound;
        Network network = bound.Network;
        double[] values = network.CreateValues();
        foreach (Binding binding in bound.Bindings)
            values[binding.Slot] = binding.Law(state);
        var classes = new List<int>[3];
        for (int k = 0; k < 3; k++)
            classes[k] = [];
        for (int slot = 0; slot < values.Length; slot++)
        {
            if (values[slot] == 0 || !double.IsFinite(values[slot]))
                continue;
            string name = network.Slots[slot].ElementName;
            classes[network.Slots[slot].Quantity is "voltage" or "current" ? 2 : name.StartsWith("VR", StringComparison.Ordinal) ? 1 : 0].Add(slot);
        }

        Probe[] probes = [.. bound.Amplifiers.Select(amplifier => network.Pins(amplifier.Element)[2]!.Value).Select(node => Probe.Voltage(node, bound.ReturnOf(node) ?? new NodeId(0)))];
        return new Stage($"whole of {demo}", network, values, probes, new BatchSlots { Fixed = [.. classes[0]], Changing = [.. classes[1]], Sources = [.. classes[2]] });
    }

    private sealed class Builder
    {
        private readonly NetworkBuilder _builder = new();
        private readonly List<(ElementId Element, int Slot, double Value, int Class)> _values = [];
        private readonly Dictionary<string, ElementId> _elements = [];

        public Builder() => _builder.Return(_builder.Node("0"));

        public void Fixed(string name, string a, string b, double ohms) => Add(name, _builder.Resistor(name, Node(a), Node(b)), (0, ohms, 1));

        public void Turned(string name, string a, string b, double ohms) => Add(name, _builder.Resistor(name, Node(a), Node(b)), (0, ohms, 2));

        public void Source(string name, string a, string b, double volts) => Add(name, _builder.VoltageSource(name, Node(a), Node(b)), (0, volts, 3));

        public void Drain(string name, string a, string b, double amperes) => Add(name, _builder.CurrentSource(name, Node(a), Node(b)), (0, amperes, 3));

        public void Bipolar(string name, string c, string b, string e, double saturation, double gain, double stated) =>
            Add(name, _builder.Bipolar(name, Node(c), Node(b), Node(e), true), (0, saturation, 1), ((int)BipolarSlot.ForwardGain, gain, 1), ((int)BipolarSlot.SaturationVoltage, stated, 0));

        public void OpAmp(string name, string plus, string minus, string output, string positive, string negative) => Add(
            name, _builder.OpAmp(name, Node(plus), Node(minus), Node(output), Node(positive), Node(negative)),
            ((int)OpAmpSlot.Gain, 2e5, 1), ((int)OpAmpSlot.Offset, 5e-4, 1), ((int)OpAmpSlot.BiasPlus, 1e-12, 1), ((int)OpAmpSlot.BiasMinus, 1e-12, 1),
            ((int)OpAmpSlot.CommonModeError, 1e-4, 1), ((int)OpAmpSlot.SupplyError, 1e-4, 1), ((int)OpAmpSlot.NominalSupply, 5, 0),
            ((int)OpAmpSlot.SwingBelowPositive, 0.05, 0), ((int)OpAmpSlot.SwingAboveNegative, 0.05, 0),
            ((int)OpAmpSlot.SourceCurrent, 0.01, 0), ((int)OpAmpSlot.SinkCurrent, 0.01, 0), ((int)OpAmpSlot.SupplyCurrent, 1e-3, 0));

        public Stage Build(string name, (string Plus, string Minus)[] voltages, string[] currents)
        {
            Network network = _builder.Build();
            double[] values = network.CreateValues();
            var classes = new List<int>[4];
            for (int k = 0; k < 4; k++)
                classes[k] = [];
            foreach ((ElementId element, int slot, double value, int @class) in _values)
            {
                values[network.FirstSlot(element) + slot] = value;
                classes[@class].Add(network.FirstSlot(element) + slot);
            }

            Probe[] probes = [.. voltages.Select(pair => Probe.Voltage(Node(pair.Plus), Node(pair.Minus))), .. currents.Select(current => Probe.Current(_elements[current]))];
            return new Stage(name, network, values, probes, new BatchSlots { Fixed = [.. classes[1]], Changing = [.. classes[2]], Sources = [.. classes[3]] });
        }

        private NodeId Node(string name) => _builder.Node(name);

        private void Add(string name, ElementId element, params (int Slot, double Value, int Class)[] values)
        {
            _elements.Add(name, element);
            foreach ((int slot, double value, int @class) in values)
                _values.Add((element, slot, value, @class));
        }
    }
}
