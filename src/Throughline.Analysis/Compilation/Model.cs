using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>An instrument as computation sees it: its two networks (with the sensor, and with the bench's source in its place), its trimmers and the
/// relations that its code holds. Immutable and shared between threads.</summary>
public sealed partial class Model
{
    internal const string DriveElement = "output converter";
    internal const string ReturnProbeElement = "probe at the sensor's return";
    internal const string LoadElement = "loop load";
    internal const string LoopSupplyElement = "loop supply";
    internal const string LoopClampElement = "loop clamps";
    private const string CableElement = "output cable";
    private const string CableCapacitanceElement = "output cable capacitance";

    /// <summary>The node between receiver and supply of a loop that is fed from outside, and that behind the cable of a voltage.</summary>
    internal const string ReceiverNode = "loop.receiver";

    private readonly ImmutableArray<BoundNetwork> _benches;

    /// <summary>What the nodes of the output converter's reference give on the nominal unit, V; 1 until they were solved, while the drive is 0.</summary>
    private readonly double _outputReference = 1;

    private Model(Instrument instrument)
    {
        Instrument = instrument;
        CircuitStages = [.. instrument.Stages.OfType<CircuitStage>()];
        Arithmetic = instrument.Stages.OfType<ArithmeticStage>().FirstOrDefault();
        Converter = FindConverter();
        OutputConverter = instrument.Stages.OfType<OutputConverterStage>().FirstOrDefault();
        ConverterLaw = Converter is { } adc ? new ConverterLaw(adc) : null;
        OutputConverterLaw = OutputConverter is { } dac ? new OutputConverterLaw(dac) : null;
        Parts = [.. CircuitStages.SelectMany(s => s.Parts)];
        TestPoints = [.. CircuitStages.SelectMany(s => s.TestPoints.Select(t => (Stage: s, Point: t)))];
        Trimmers = [.. Parts.Where(p => p is ITrimmer)];
        Parameters = new ParameterSet(instrument.Parameters);
        Field = Bind(simulated: false);
        _outputReference = SolveOutputReference();
        Bench = Bind(simulated: true);
        _benches = BindBenches();
        InputStages = FindInputStages();
        OutputStages = FindOutputStages();
    }

    public Instrument Instrument { get; }

    public ParameterSet Parameters { get; }

    /// <summary>Trimmers in the order of the file; a state's positions are in this order.</summary>
    public ImmutableArray<Part> Trimmers { get; }

    public ImmutableArray<Part> Parts { get; }

    public ImmutableArray<CircuitStage> CircuitStages { get; }

    /// <summary>Test points in the order of the file, with their stages.</summary>
    public ImmutableArray<(CircuitStage Stage, TestPoint Point)> TestPoints { get; }

    public ConverterStage? Converter { get; }

    public ArithmeticStage? Arithmetic { get; }

    public OutputConverterStage? OutputConverter { get; }

    internal ConverterLaw? ConverterLaw { get; }

    internal OutputConverterLaw? OutputConverterLaw { get; }

    /// <summary>Circuit stages that stand before the converter, or all of them when there is none.</summary>
    public ImmutableArray<CircuitStage> InputStages { get; }

    /// <summary>Circuit stages behind the output converter, or those that end in the loop when there is none.</summary>
    public ImmutableArray<CircuitStage> OutputStages { get; }

    /// <summary>The network with the sensor.</summary>
    internal BoundNetwork Field { get; }

    /// <summary>The slot of <see cref="Field"/> of which one more is a volt more at the output converter; there has to be one.</summary>
    internal int DriveSlot =>
        Field.Network.FirstSlot(Field.Elements[DriveElement]) + (OutputConverter?.ReferenceNodes is null ? 0 : (int)IsolationAmplifierSlot.OutputOffset);

    /// <summary>The network with the bench's source in the sensor's place.</summary>
    internal BoundNetwork Bench { get; }

    public static Model Compile(Instrument instrument) => new(instrument);

    /// <summary>A nominal unit under reference conditions: 25 °C, middle of the range, middle of the load, trimmers where the file says.</summary>
    public UnitState CreateState()
    {
        UnitState state = CreateBareState();
        Specification specification = Instrument.Specification;
        state.Measurand = specification.Range.Middle;
        state.ProcessCelsius = Math.Clamp(UnitState.ReferenceCelsius, specification.Process.Low, specification.Process.High);
        state.Burden = Instrument.Loop?.Burden.Middle ?? 0;
        return state;
    }

    /// <summary>Index of a trimmer in <see cref="Trimmers"/>; −1 when there is none of that name.</summary>
    public int TrimmerIndex(string name)
    {
        for (int i = 0; i < Trimmers.Length; i++)
        {
            if (Trimmers[i].Name.Value == name)
            {
                return i;
            }
        }

        return -1;
    }

    /// <summary>The converter that the arithmetic reads: the one it names, else the last before it, else the first there is.</summary>
    private ConverterStage? FindConverter()
    {
        ConverterStage[] all = [.. Instrument.Stages.OfType<ConverterStage>()];
        return Arithmetic is null
            ? all.FirstOrDefault()
            : Arithmetic.From is { } from && all.FirstOrDefault(c => c.Name.Value == from.Value) is { } named
                ? named
                : Instrument.Stages.TakeWhile(s => s != Arithmetic).OfType<ConverterStage>().LastOrDefault() ?? all.FirstOrDefault();
    }

    private UnitState CreateBareState()
    {
        UnitState state = new(Parameters, Trimmers.Length);
        for (int i = 0; i < Trimmers.Length; i++)
        {
            state.Positions[i] = ((ITrimmer)Trimmers[i]).InitialPosition;
        }

        return state;
    }

    /// <summary>The network with the sensor and a fault in it.</summary>
    internal BoundNetwork BindFault(Fault fault) => Bind(simulated: false, fault);

    /// <summary>The network that a step of the adjustment sees: the bench's, with its jumpers as they are then and with what the step sets at inner nodes.</summary>
    internal BoundNetwork BenchOf(AdjustmentStep step) => _benches[Instrument.Adjustment.IndexOf(step)];

    private ImmutableArray<BoundNetwork> BindBenches()
    {
        Dictionary<string, BoundNetwork> known = [];
        return [.. Instrument.Adjustment.Select(Of)];

        BoundNetwork Of(AdjustmentStep step)
        {
            SetSource[] inner = [.. step.With.Where(IsInnerSource)];
            if (inner.Length == 0 && step.Jumpers.IsEmpty)
            {
                return Bench;
            }

            // Steps that see the same network share it.
            string key = string.Join(';', step.Jumpers.Select(j => j.Part.Value + "=" + j.Position.Value).Order(StringComparer.Ordinal))
                + string.Join(';', inner.Select(s => FormattableString.Invariant($"{s.Node.Value}:{s.Value.Value:R}")).Order(StringComparer.Ordinal));
            if (!known.TryGetValue(key, out BoundNetwork? network))
            {
                network = known[key] = Bind(simulated: true, step: step);
            }

            return network;
        }
    }

    /// <summary>Whether a step sets a voltage at a node within the circuit, beside the sensor's simulated signal: not in the sensor's place, nor at the output converter.</summary>
    internal bool IsInnerSource(SetSource source) =>
        !Evaluator.IsOutputCode(source)
        && source.Node.Value != OutputConverter?.Output.Value
        && source.Value.Dimension == Dimension.Voltage
        && Instrument.Sensor.Terminals.All(t => t.Node.Value != source.Node.Value);

    /// <summary>A part as it is during a step; null when it is taken out.</summary>
    private static Part? During(Part part, AdjustmentStep? step) =>
        step?.Jumpers.FirstOrDefault(j => j.Part.Value == part.Name.Value) is not { } moved ? part
        : moved.Position.Value == AdjustmentStep.Opened ? null
        : part is Jumper jumper ? jumper with { Position = moved.Position }
        : part;

    private BoundNetwork Bind(bool simulated, Fault? fault = null, AdjustmentStep? step = null, GroundPath? grounds = null)
    {
        NetworkBuilder builder = new();
        NetworkSink sink = new(builder);
        if (grounds is null)
        {
            DescribeReturns(builder);
        }
        else
        {
            DescribeGrounds(sink, builder, grounds);
        }

        DescribeSupplies(sink, fault);
        if (simulated)
        {
            Instrument.Sensor.DescribeSimulated(sink, s => ((UnitState)s).SimulatedSignal);
        }
        else
        {
            Instrument.Sensor.Describe(fault is { Part: null, OpenNode: { } lifted } ? new LiftedSink(sink, lifted) : sink);
        }

        if (fault?.Shorted is var (first, second))
        {
            sink.Resistor(Fault.ShortElement, first, second, _ => Fault.ShortOhms);
        }

        DescribeReturnProbe(sink);
        Settings settings = new(Trimmers);
        foreach (Part whole in Parts)
        {
            if (During(whole, step) is not { } part)
            {
                continue;
            }

            INetworkSink into = fault is { OpenNode: { } open } && fault.Part == part.Name.Value ? new LiftedSink(sink, open)
                : fault is { HasWeakSupplies: true } || (fault is { Wiring: null } && IsFed(part)) ? Weak(sink, part, fault)
                : fault?.Wiring is null ? sink
                : new ReverseConductingSink(sink);
            part.Describe(into, settings);
        }

        foreach (SetSource source in step?.With.Where(IsInnerSource) ?? [])
        {
            (Parameter? error, Parameter? added) = (Instrument.Bench.Source.Error, Instrument.Bench.Source.Fixed);
            added = added?.Quantity.Dimension == Dimension.Voltage ? added : null;
            double volts = source.Value.Value;
            sink.VoltageSource(
                "bench source at " + source.Node.Value, source.Node.Value, NearestReturn(source.Node.Value) ?? DefaultReturn,
                s => (volts * (1 + (error is null ? 0 : s.Value(error)))) + (added is null ? 0 : s.Value(added)));
        }

        DescribeConverter(sink);
        DescribeOutputConverter(sink, fault?.OpenDrive == true);
        DescribeLoop(sink, builder, fault?.Wiring);
        UnitState sample = CreateBareState();
        sample.Measurand = Instrument.Specification.Range.Middle;
        sample.SimulatedSignal = 0;
        return new BoundNetwork(builder.Build(), sink, sample, Parameters) { Output = OutputProbe(sink, builder) };
    }

    /// <summary>The node that the sensor's signal is taken against: the second node of the first stage's incoming pair, else the sensor's second terminal.</summary>
    internal Located<string>? SignalReturn =>
        CircuitStages.FirstOrDefault()?.FromReturn ?? (Instrument.Sensor.Terminals.Length > 1 ? Instrument.Sensor.Terminals[1].Node : null);

    /// <summary>A source of no current at the sensor's return: the sensitivity to it is the resistance that the circuit shows there.</summary>
    private void DescribeReturnProbe(NetworkSink sink)
    {
        if (SignalReturn is { } node && !ReturnNames().Contains(node.Value))
        {
            sink.CurrentSource(ReturnProbeElement, DefaultReturn, node.Value, _ => 0);
        }
    }

    private void DescribeReturns(NetworkBuilder builder)
    {
        foreach (string name in ReturnNames())
        {
            builder.Return(builder.Node(name));
        }
    }

    /// <summary>The returns of the supplies in the order of the file; where nothing is supplied, the node called 0V.</summary>
    public IEnumerable<string> ReturnNames() =>
        Instrument.Supplies.IsEmpty ? ["0V"] : Instrument.Supplies.Select(s => s.Return.Value).Distinct();

    private void DescribeConverter(NetworkSink sink)
    {
        if (Converter is not { } adc)
        {
            return;
        }

        string back = adc.InputReturn?.Value ?? DefaultReturn;
        if (adc.InputResistance is { } resistance)
        {
            sink.Resistor(adc.Name.Value + " input resistance", adc.Input.Value, back, s => s.Value(resistance));
        }

        if (adc.InputCurrent is { } current)
        {
            sink.CurrentSource(adc.Name.Value + " input current", adc.Input.Value, back, s => s.Value(current));
        }
    }

    private void DescribeOutputConverter(NetworkSink sink, bool isOpen)
    {
        if (OutputConverter is not { } dac)
        {
            return;
        }

        Law volts = OutputConverterLaw!.Law;
        string back = dac.OutputReturn?.Value ?? OutputReturnGuess(dac);
        string output = dac.Output.Value;
        if (isOpen)
        {
            output = dac.Name.Value + ".source";
            sink.Resistor(dac.Name.Value + " open output", output, dac.Output.Value, _ => Fault.OpenOhms);
        }
        else if (dac.OutputResistance is { } resistance)
        {
            output = dac.Name.Value + ".source";
            sink.Resistor(dac.Name.Value + " output resistance", output, dac.Output.Value, s => s.Value(resistance));
        }

        if (dac.ReferenceNodes is not var (plus, minus))
        {
            sink.VoltageSource(DriveElement, output, back, volts);
            return;
        }

        // The drive is in volts of the nominal reference: what the nodes give beside that moves the output in proportion. An amplifier without errors or limits
        // does it, and none that anyone has to look after.
        OutputConverterLaw law = OutputConverterLaw;
        sink.IsolationAmplifier(
            DriveElement, plus.Value, minus?.Value ?? NearestReturn(plus.Value) ?? DefaultReturn, output, back,
            new IsolationAmplifierLaws
            {
                Gain = s => law.InProportion((UnitState)s) / _outputReference,
                OutputOffset = s => law.Of((UnitState)s).Added,
            });
        sink.Amplifiers.RemoveAll(a => a.Name == DriveElement);
    }

    private void DescribeLoop(NetworkSink sink, NetworkBuilder builder, LoopWiring? wiring)
    {
        if (Instrument.Loop is not { } loop)
        {
            return;
        }

        if (loop.Signal.IsVoltage)
        {
            DescribeVoltage(sink, loop, wiring);
            HoldOutput(builder, loop);
            return;
        }

        Law load = s => ((UnitState)s).Burden;
        (string plus, string minus) = wiring is { IsReversed: true } ? (loop.Minus.Value, loop.Plus.Value) : (loop.Plus.Value, loop.Minus.Value);
        if (loop.Supply is { } supply)
        {
            sink.Resistor(LoadElement, minus, ReceiverNode, load);
            sink.VoltageSource(LoopSupplyElement, plus, ReceiverNode, s => s.Value(supply));
        }
        else if (wiring?.ForeignVolts is { } foreign)
        {
            sink.Resistor(LoadElement, plus, ReceiverNode, load);
            sink.VoltageSource(LoopSupplyElement, ReceiverNode, minus, _ => foreign);
        }
        else
        {
            sink.Resistor(LoadElement, plus, minus, load);
        }

        if (loop.Clamps is { } clamps)
        {
            sink.CurrentSource(LoopClampElement, loop.Plus.Value, loop.Minus.Value, clamps.Law);
        }

        HoldOutput(builder, loop);
    }

    /// <summary>The receiver across the terminals, behind its cable; a supply that it brings along stands in series with it.</summary>
    private static void DescribeVoltage(NetworkSink sink, Loop loop, LoopWiring? wiring)
    {
        // An open output asks nothing: no conductance at all would be no resistance that a number can say.
        const double Least = 1e-12;
        Law load = s => 1 / Math.Max(((UnitState)s).Burden, Least);
        if (wiring?.ForeignVolts is { } foreign)
        {
            sink.Resistor(LoadElement, loop.Plus.Value, ReceiverNode, load);
            sink.VoltageSource(LoopSupplyElement, ReceiverNode, loop.Minus.Value, _ => foreign);
            return;
        }

        string far = loop.Plus.Value;
        if (loop.SeriesResistance is { } cable)
        {
            far = ReceiverNode;
            sink.Resistor(CableElement, loop.Plus.Value, far, s => s.Value(cable));
        }

        if (loop.CableCapacitance is { } capacitance)
        {
            sink.Capacitor(CableCapacitanceElement, loop.Plus.Value, loop.Minus.Value, _ => capacitance.Value);
        }

        sink.Resistor(LoadElement, far, loop.Minus.Value, load);
    }

    private Probe? OutputProbe(NetworkSink sink, NetworkBuilder builder) =>
        Instrument.Loop is not { } loop ? null
        : loop.Signal.IsVoltage ? Probe.Voltage(builder.Node(sink.Elements.ContainsKey(CableElement) ? ReceiverNode : loop.Plus.Value), builder.Node(loop.Minus.Value))
        : Probe.Current(sink.Elements[LoadElement]);

    /// <summary>Gives an output without a supply of its own a return: its second terminal.</summary>
    private void HoldOutput(NetworkBuilder builder, Loop loop)
    {
        bool held = Instrument.Supplies.Any() && ReachesReturn(loop);
        if (!held)
        {
            builder.Return(builder.Node(loop.Minus.Value));
        }
    }

    /// <summary>Whether anything conducting leads from the loop's terminals to a declared return.</summary>
    private bool ReachesReturn(Loop loop)
    {
        HashSet<string> reached = [loop.Minus.Value, loop.Plus.Value];
        HashSet<string> returns = [.. ReturnNames()];
        List<string[]> groups = [];
        foreach (Part part in Parts)
        {
            if (part is IBarrier barrier)
            {
                string[] first = [.. barrier.FirstSide.Select(t => t.Node.Value)];
                groups.Add(first);
                groups.Add([.. part.Terminals.Select(t => t.Node.Value).Except(first)]);
            }
            else
            {
                groups.Add([.. part.Terminals.Select(t => t.Node.Value)]);
            }
        }

        groups.AddRange(Instrument.Supplies.Select(s => new[] { s.Name.Value, s.Return.Value }));
        bool grew = true;
        while (grew)
        {
            grew = false;
            foreach (string[] group in groups)
            {
                if (group.Any(reached.Contains) && !group.All(reached.Contains))
                {
                    reached.UnionWith(group);
                    grew = true;
                }
            }
        }

        return returns.Overlaps(reached);
    }

    private double SolveOutputReference()
    {
        if (OutputConverter?.ReferenceNodes is not var (plus, minus))
        {
            return 1;
        }

        NetworkRun run = new(Field);
        run.Solve(CreateState(), limited: true);
        double volts = Evaluator.Volts(run, plus.Value, minus?.Value);
        return volts != 0 && double.IsFinite(volts) ? volts : 1;
    }

    /// <summary>The first supply's return.</summary>
    internal string DefaultReturn => ReturnNames().First();

    private string OutputReturnGuess(OutputConverterStage dac) => NearestReturn(dac.Output.Value) ?? DefaultReturn;

    /// <summary>The return nearest to a node; null when none is reached.</summary>
    private string? NearestReturn(string node)
    {
        // A node of its own says nothing about its return: take the nearest one through the parts around the output, so that a part that bridges
        // two domains does not move the converter to the other one.
        HashSet<string> returns = [.. ReturnNames()];
        HashSet<string> reached = [node];
        string[][] groups = [.. Parts.Where(p => p is not IBarrier).Select(p => p.Terminals.Select(t => t.Node.Value).ToArray())];
        for (int before = 0; before < reached.Count;)
        {
            before = reached.Count;
            string[] next = [.. groups.Where(g => g.Any(reached.Contains)).SelectMany(g => g)];
            reached.UnionWith(next);
            if (returns.FirstOrDefault(reached.Contains) is { } found)
            {
                return found;
            }
        }

        return null;
    }

    private ImmutableArray<CircuitStage> FindInputStages()
    {
        if (Converter is not { } adc)
        {
            return OutputConverter is null ? CircuitStages : [];
        }

        int index = Instrument.Stages.IndexOf(adc);
        return [.. Instrument.Stages.Take(index).OfType<CircuitStage>()];
    }

    private ImmutableArray<CircuitStage> FindOutputStages()
    {
        if (OutputConverter is { } dac)
        {
            int index = Instrument.Stages.IndexOf(dac);
            return [.. Instrument.Stages.Skip(index + 1).OfType<CircuitStage>()];
        }

        return Converter is null && Instrument.Loop is not null ? CircuitStages : [];
    }

    private sealed class Settings(ImmutableArray<Part> trimmers) : IPartSettings
    {
        public Law Position(Part trimmer)
        {
            int index = trimmers.IndexOf(trimmer);
            return s => ((UnitState)s).Position(index);
        }
    }
}
