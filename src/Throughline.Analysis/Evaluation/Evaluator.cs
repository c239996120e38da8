using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Evaluates one model: networks, adjustment, chain. Holds buffers; one per thread.</summary>
internal sealed partial class Evaluator
{
    private readonly Line? _scaling;
    private readonly Line? _outputScaling;
    private readonly double _greatestOutputCode;
    private readonly double _displayStep;
    private readonly double _under;
    private readonly double _over;
    private readonly double _failure;

    public Evaluator(Model model)
    {
        Model = model;
        Calibrator = new Calibrator(model.Instrument);
        Field = new NetworkRun(model.Field);
        Bench = new NetworkRun(model.Bench);
        Nominal = model.CreateState();
        Field.Solve(Nominal, limited: true);
        NominalReference = ReferenceVolts(Field, Nominal, nominalOwn: true);
        NominalOutputReference = OutputReferenceVolts(Field, Nominal);
        VoltsPerOutputCode = model.OutputConverter is { } dac ? Math.ScaleB(NominalOutputReference * dac.Gain, -dac.Bits) : double.NaN;
        _greatestOutputCode = model.OutputConverter is { } writing ? Math.ScaleB(1, writing.Bits) - 1 : double.NaN;
        _displayStep = model.Instrument.Specification.DisplayStep?.Value ?? 0;
        _under = model.Instrument.Loop?.Under?.Value ?? double.NegativeInfinity;
        _over = model.Instrument.Loop?.Over?.Value ?? double.PositiveInfinity;
        _failure = model.Instrument.Loop?.Failure?.Value ?? double.NaN;
        Nominal.DriveVolts = NominalOutputReference * (model.OutputConverter?.Gain ?? 1) / 2;
        Nominal.SimulatedSignal = NominalMiddleSignal();
        Field.BeginAt(Nominal);
        Bench.BeginAt(Nominal);
        Plan = AdjustmentPlan.Of(model, VoltsPerOutputCode);
        _slopes = new double[model.Instrument.Adjustment.Length];
        Adjustment = Adjust(Nominal, withReadings: true);
        Field.BeginAt(Nominal);
        Bench.BeginAt(Nominal);
        _scaling = CreateScaling();
        _outputScaling = CreateOutputScaling();
        InputTransfer = CreateInputTransfer();
        OutputTransfer = CreateOutputTransfer();
        LoopScale = model.Instrument.Loop is { } loop
            ? Line.TryCreate(loop.Scale.Select(p => (p.From.Value, p.To.Value)))
            : null;
        TrimPlan = OutputTrimPlan.Of(this);
        TrimOutput(Nominal, limited: true);
        if (TrimPlan is not null)
        {
            Field.BeginAt(Nominal);
        }
    }

    /// <summary>Another of the same model, for another thread: adjusted and calibrated already.</summary>
    public Evaluator Again()
    {
        Evaluator again = (Evaluator)MemberwiseClone();
        again.Field = Field.Again();
        again.Bench = Bench.Again();
        again._slopes = [.. _slopes];
        again._benches = new Dictionary<BoundNetwork, NetworkRun>(_benches.Select(b => KeyValuePair.Create(b.Key, b.Value.Again())), ReferenceEqualityComparer.Instance);
        again._joint = _joint?.Of(again);
        return again;
    }

    public Model Model { get; }

    public Instrument Instrument => Model.Instrument;

    /// <summary>Runs of the network with the sensor.</summary>
    public NetworkRun Field { get; private set; }

    /// <summary>Runs of the network with the bench's source in the sensor's place.</summary>
    public NetworkRun Bench { get; private set; }

    /// <summary>A nominal unit, adjusted, under reference conditions. Copy it; do not change it.</summary>
    public UnitState Nominal { get; }

    /// <summary>The adjustment procedure as numbers.</summary>
    public AdjustmentPlan Plan { get; }

    /// <summary>How each step of the adjustment went on the nominal unit.</summary>
    public ImmutableArray<AdjustmentOutcome> Adjustment { get; }

    /// <summary>Reference of the converter on the nominal unit, V.</summary>
    public double NominalReference { get; }

    public double NominalOutputReference { get; }

    /// <summary>From the sensor's signal to the voltage at the converter as intended; null without a converter or where nothing monotone can be made of it.</summary>
    public Transfer? InputTransfer { get; }

    /// <summary>From the drive (output converter's volts, or the sensor's signal without one) to the output's value as intended.</summary>
    public Transfer? OutputTransfer { get; }

    /// <summary>Measurand to the output's value.</summary>
    public Line? LoopScale { get; }

    /// <summary>A copy of the nominal adjusted unit, to be changed.</summary>
    public UnitState NewState() => Nominal.Copy();

    public static Probe? VoltageProbe(BoundNetwork network, string node, string? back)
    {
        if (network.Find(node) is not { } plus)
        {
            return null;
        }

        NodeId? minus = back is null ? network.ReturnOf(plus) : network.Find(back);
        return minus is { } m ? Probe.Voltage(plus, m) : null;
    }

    public Probe? ConverterProbe(BoundNetwork network) =>
        Model.Converter is { } adc ? VoltageProbe(network, adc.Input.Value, adc.InputReturn?.Value) : null;

    /// <summary>What the reading is made of: the voltage at the converter, or, without one, what the last stage of the input gives; null when there is neither.</summary>
    public Probe? ObservedProbe(BoundNetwork network)
    {
        if (ConverterProbe(network) is { } converter)
        {
            return converter;
        }

        (string? node, string? back) = Model.InputStages.LastOrDefault() is { } last ? OutgoingNodes(last) : (null, null);
        return node switch
        {
            null => null,
            Loop.Word => network.Output,
            _ => VoltageProbe(network, node, back),
        };
    }

    /// <summary>Reads a voltage at the point last solved, or NaN when the node is not in the network.</summary>
    public static double Volts(NetworkRun run, string node, string? back)
    {
        Probe? probe = VoltageProbe(run.Bound, node, back);
        return probe is { } p && run.Point is { } point ? point.Voltage(p.Plus, p.Minus) : double.NaN;
    }

    /// <summary>What the receiver gets at the point last solved, A or V; NaN without an output.</summary>
    public static double LoopValue(NetworkRun run) =>
        run.Point is not { } point || run.Bound.Output is not { } output ? double.NaN
        : output.IsCurrent ? point.Current(output.Element) : point.Voltage(output.Plus, output.Minus);

    /// <summary>The current in the receiver's wire at the point last solved, A; NaN without an output.</summary>
    public static double WireAmperes(NetworkRun run) =>
        run.Point is not { } point || run.Bound.Output is null ? double.NaN : point.Current(run.Bound.Elements[Model.LoadElement]);

    /// <summary>The converter's reference at the point last solved, V.</summary>
    public double ReferenceVolts(NetworkRun run, UnitState state, bool nominalOwn = false)
    {
        if (Model.Converter is not { } adc)
        {
            return double.NaN;
        }

        return adc.ReferenceNodes is { } nodes
            ? Volts(run, nodes.Plus.Value, nodes.Minus?.Value)
            : nominalOwn ? adc.Reference!.Quantity.Value : adc.ReferenceVolts(state);
    }

    public double OutputReferenceVolts(NetworkRun run, UnitState state)
    {
        if (Model.OutputConverter is not { } dac)
        {
            return double.NaN;
        }

        _ = state;
        return dac.ReferenceNodes is { } nodes ? Volts(run, nodes.Plus.Value, nodes.Minus?.Value) : dac.Reference!.Quantity.Value;
    }

    /// <summary>Full scale of the converter at its input on the nominal unit, V.</summary>
    public double ConverterFullScale => NominalReference / (Model.Converter?.Gain ?? 1);

    /// <summary>Codes per volt at the input on the nominal unit.</summary>
    public double CodesPerVolt =>
        Model.Converter is { } adc ? Math.ScaleB(adc.Gain / NominalReference, adc.Bipolar ? adc.Bits - 1 : adc.Bits) : double.NaN;

    public (double Low, double High) CodeRange => Model.ConverterLaw?.Range ?? (double.NaN, double.NaN);

    /// <summary>Volts at the output converter per code on the nominal unit.</summary>
    public double VoltsPerOutputCode { get; }

    /// <summary>What the arithmetic makes of a code: the sensor's signal that it takes the code for.</summary>
    public double SignalOfCode(double code)
    {
        if (Model.Arithmetic is { Scaling.Length: >= 2 })
        {
            return _scaling?.Forward(code) ?? double.NaN;
        }

        return InputTransfer?.Inverse(code / CodesPerVolt) ?? double.NaN;
    }

    /// <summary>The constants that the code holds, code against signal; null where none are written or no line can be made of them.</summary>
    private Line? CreateScaling()
    {
        if (Model.Arithmetic is not { Scaling.Length: >= 2 } arithmetic)
        {
            return null;
        }

        bool inVolts = arithmetic.Scaling[0].From.Dimension == Dimension.Voltage;
        return Line.TryCreate(arithmetic.Scaling.Select(p => (inVolts ? p.From.Value * CodesPerVolt : p.From.Value, p.To.Value)));
    }

    /// <summary>The constants for the output, current against code; null as above.</summary>
    private Line? CreateOutputScaling()
    {
        if (Model.Arithmetic is not { OutputScaling.Length: >= 2 } arithmetic)
        {
            return null;
        }

        bool inVolts = arithmetic.OutputScaling[0].To.Dimension == Dimension.Voltage;
        return Line.TryCreate(arithmetic.OutputScaling.Select(p => (p.From.Value, inVolts ? p.To.Value / VoltsPerOutputCode : p.To.Value)));
    }

    /// <summary>The process temperature that the arithmetic uses, °C.</summary>
    public double AssumedProcess(UnitState state) =>
        Model.Arithmetic is { Compensation: Compensation.Fixed } a ? a.AssumedTemperature?.Value ?? UnitState.ReferenceCelsius
        : state.ProcessCelsius + (Model.Arithmetic?.TemperatureError is { } error ? state.Value(error) : 0);

    /// <summary>What the code of this unit, as calibrated, makes of a converter's code.</summary>
    public double MeasurandOfCode(double code, UnitState state) =>
        Calibrator.Indicated(state.Calibration, SignalOfCode(code), AssumedProcess(state), state);

    /// <summary>The output code for a current or a voltage, unrounded, before a unit's trim.</summary>
    public double OutputCodeOf(double value)
    {
        if (Model.OutputConverter is null)
        {
            return double.NaN;
        }

        if (Model.Arithmetic is { OutputScaling.Length: >= 2 })
        {
            return _outputScaling?.Forward(value) ?? double.NaN;
        }

        return OutputTransfer is { } transfer ? transfer.Inverse(value) / VoltsPerOutputCode : double.NaN;
    }

    /// <summary>What the display shows of an indicated value.</summary>
    public double Shown(double indicated) =>
        _displayStep > 0 ? Math.Round(indicated / _displayStep) * _displayStep : indicated;

    /// <summary>The nearest code the output converter has.</summary>
    public double NearestOutputCode(double exact) =>
        Math.Clamp(Math.Round(exact), 0, _greatestOutputCode);

    /// <summary>The output that the arithmetic asks for at an indicated value, A or V, limits applied.</summary>
    public double WantedValue(double indicated)
    {
        if (LoopScale is not { } scale)
        {
            return double.NaN;
        }

        if (double.IsNaN(indicated) || (Model.Arithmetic?.Plausible is { } plausible && !plausible.Contains(indicated)))
        {
            return _failure;
        }

        return Math.Clamp(scale.Forward(indicated), _under, _over);
    }

    /// <summary>Runs the whole chain for a state. The state's drive is set on the way.</summary>
    public ChainPoint Chain(UnitState state, bool limited = true) => Chain(Field, state, limited);

    /// <summary>The same on another network of the instrument, such as one with a fault in it.</summary>
    public ChainPoint Chain(NetworkRun run, UnitState state, bool limited)
    {
        OperatingPoint point = run.Solve(state, limited);
        string? trouble = point.Status == SolveStatus.Solved ? null : point.Trouble;
        ChainPoint result = new() { Measurand = state.Measurand, Signal = Instrument.Sensor.Signal(state) };
        if (Model.Converter is { } adc)
        {
            double volts = Volts(run, adc.Input.Value, adc.InputReturn?.Value);
            double exact = ExactCode(run, volts, state);
            (double low, double high) = CodeRange;
            double code = Math.Clamp(Math.Round(exact), low, high);
            double indicated = MeasurandOfCode(code, state);
            result = result with
            {
                ConverterVolts = volts,
                ExactCode = exact,
                Code = code,
                Indicated = indicated,
                IndicatedExact = MeasurandOfCode(exact, state),
                Display = Shown(indicated),
            };
        }

        if (Model.OutputConverter is not null)
        {
            double wanted = WantedValue(double.IsNaN(result.Indicated) && Model.Converter is null ? state.Measurand : result.Indicated);
            double code = NearestOutputCode(state.OutputTrim.Of(OutputCodeOf(wanted)));
            state.DriveVolts = code * VoltsPerOutputCode;
            point = run.Solve(state, limited);
            result = result with { WantedValue = wanted, OutputCode = code, DriveVolts = state.DriveVolts };
            trouble ??= point.Status == SolveStatus.Solved ? null : point.Trouble;
        }
        else if (LoopScale is not null)
        {
            result = result with { WantedValue = WantedValue(state.Measurand) };
        }

        return result with
        {
            LoopValue = LoopValue(run),
            TestPoints = [.. Model.TestPoints.Select(t => Volts(run, t.Point.Node.Value, t.Point.Return?.Value))],
            Remark = trouble ?? (limited ? LimitRemark(run, point) : null) ?? CodeRemark(result.ExactCode),
        };
    }

    public double ExactCode(NetworkRun run, double volts, UnitState state) => ExactCode(volts, ReferenceVolts(run, state), state);

    /// <summary>The code that a unit's converter makes of a voltage at its input with a reference, before rounding and before the ends of its range.</summary>
    public double ExactCode(double volts, double reference, UnitState state) => Model.ConverterLaw!.Code(volts, reference, Model.ConverterLaw.Of(state));

    private string? CodeRemark(double exact)
    {
        (double low, double high) = CodeRange;
        return Math.Round(exact) > high ? $"{Model.Converter!.Name.Value} at its greatest code"
            : Math.Round(exact) < low ? $"{Model.Converter!.Name.Value} at its least code" : null;
    }

    internal static string? LimitRemark(NetworkRun run, OperatingPoint point)
    {
        foreach (AmplifierPins amplifier in run.Bound.Amplifiers)
        {
            string? word = point.State(amplifier.Element) switch
            {
                AmplifierState.AtPositiveLimit => "at its positive limit",
                AmplifierState.AtNegativeLimit => "at its negative limit",
                AmplifierState.Sourcing => "at its greatest output current",
                AmplifierState.Sinking => "at its greatest input current",
                _ => null,
            };
            if (word is not null)
            {
                return $"{amplifier.Name} {word}";
            }
        }

        return null;
    }
}
