using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// One unit of an instrument, adjusted and calibrated, that is read at any operating point: for those who move the measurand and look. Holds buffers; safe on any
/// thread, one at a time.
/// </summary>
public sealed class LiveChain
{
    /// <summary>How far a scale goes beyond the measuring range at each end, as a part of the range.</summary>
    private const double Beyond = 0.2;

    private const int ScalePoints = 57;

    private readonly Lock _lock = new();
    private readonly Evaluator _evaluator;
    private readonly UnitState _unit;
    private readonly UnitState _state;
    private LifePlan? _plan;

    private LiveChain(Evaluator evaluator, UnitState unit)
    {
        _evaluator = evaluator;
        _unit = unit;
        _state = evaluator.NewState();
        Reference = ReadingsBuilder.Reference(evaluator);
        (string Stage, ReadingsColumn Column)[] columns = [.. ReadingsBuilder.Columns(evaluator.Model)];
        Columns = [.. columns.Select(c => c.Column)];
        Stages = [.. columns.Select(c => c.Stage)];
    }

    /// <summary>The nominal unit.</summary>
    public static LiveChain Of(Instrument instrument)
    {
        Evaluator evaluator = new(Model.Compile(instrument));
        return new LiveChain(evaluator, evaluator.NewState());
    }

    /// <summary>A unit of a virtual batch, as its adjustment and calibration left it.</summary>
    /// <param name="unit">Its number, from 0.</param>
    public static LiveChain OfUnit(Instrument instrument, BatchOptions options, long unit)
    {
        LifePlan plan = LifePlan.Create(Model.Compile(instrument));
        UnitLife life = BatchRunner.RunOne(plan, options, unit);
        Evaluator evaluator = plan.CreateEvaluator();
        UnitState state = evaluator.NewState();
        state.CopyLane(life.Block, 0);
        return new LiveChain(evaluator, state) { _plan = plan };
    }

    public Instrument Instrument => _evaluator.Instrument;

    /// <summary>The same unit with buffers of its own, for those who would keep others waiting.</summary>
    public LiveChain Another() => new(AnotherEvaluator(), _unit);

    /// <summary>An evaluator of the same instrument, its own buffers.</summary>
    internal Evaluator AnotherEvaluator()
    {
        lock (_lock)
        {
            return _evaluator.Again();
        }
    }

    /// <summary>The conditions of the readings when none are given.</summary>
    public Conditions Reference { get; }

    /// <summary>What is read, in the order of the chain.</summary>
    public ImmutableArray<ReadingsColumn> Columns { get; }

    /// <summary>The stage of each column.</summary>
    public ImmutableArray<string> Stages { get; }

    /// <summary>Reads everything.</summary>
    /// <param name="measurand">In the specification's unit; beyond what the sensor's law is known for it gives what it gives there.</param>
    /// <param name="at">With an age, the sensor has drifted upwards as far as is stated.</param>
    public LiveReading Read(double measurand, Conditions at)
    {
        lock (_lock)
        {
            ChainPoint point = Solve(_unit, measurand, at);
            return new LiveReading([.. ReadingsBuilder.Values(_evaluator, point)], point.Remark, Nodes());
        }
    }

    /// <summary>The scales of the nomogram, in the order of the chain. A quantity that does not follow the measurand has none.</summary>
    /// <param name="processCelsius">The temperature of what is measured, for which the sensor's own law is taken, °C.</param>
    public ImmutableArray<ChainScale> Scales(double processCelsius)
    {
        lock (_lock)
        {
            QuantityRange range = Instrument.Specification.Range;
            double[][] intended = new double[Columns.Length][];
            double[] measurands = [.. Enumerable.Range(0, ScalePoints).Select(i => range.Low + (range.Width * ((i * (1 + (2 * Beyond)) / (ScalePoints - 1)) - Beyond)))];
            for (int c = 0; c < intended.Length; c++)
            {
                intended[c] = new double[ScalePoints];
            }

            for (int i = 0; i < ScalePoints; i++)
            {
                int column = 0;
                foreach (double value in Intended(measurands[i], processCelsius))
                {
                    intended[column++][i] = value;
                }
            }

            (double[] least, double[] greatest) = Ends();
            ImmutableArray<ChainScale>.Builder scales = ImmutableArray.CreateBuilder<ChainScale>();
            for (int c = 0; c < intended.Length; c++)
            {
                if (Monotone(measurands, intended[c], range) is { } part)
                {
                    scales.Add(new ChainScale(c, Columns[c].Name, Stages[c], Columns[c], part.Measurands, part.Intended) { CanLow = least[c], CanHigh = greatest[c] });
                }
            }

            // The readings list every test point first; the chain has those of the output behind the output code.
            HashSet<string> outputs = [.. _evaluator.Model.OutputStages.Select(o => o.Name.Value)];
            bool IsEnd(ChainScale s) => Instrument.Loop is not null && s.Column == Columns.Length - 1;
            bool IsBehind(ChainScale s) => outputs.Contains(s.Stage) && _evaluator.Model.OutputConverter is not null && !IsEnd(s);
            return [.. scales.Where(s => !IsBehind(s) && !IsEnd(s)), .. scales.Where(IsBehind), .. scales.Where(IsEnd)];
        }
    }

    /// <summary>The spread of a virtual batch: 95 % of its units, at the ends and between them.</summary>
    /// <param name="points">How many values of the measurand, at least 2.</param>
    public ImmutableArray<ChainSpread> Spread(Conditions at, int points = 9, ulong seed = 1, CancellationToken cancel = default)
    {
        lock (_lock)
        {
            cancel.ThrowIfCancellationRequested();
            _plan ??= LifePlan.Create(_evaluator.Again());
            UnitLife life = new(_plan, BatchRunner.Lanes, isCompiled: false);
            (UniformSource source, ulong index, _) = new BatchRunner.Sources(_plan, new BatchOptions { Seed = seed, Units = BatchRunner.Lanes }, "").At(0);
            life.Draw(source, index, BatchRunner.Lanes);
            life.Live(BatchRunner.Lanes, cancel);
            QuantityRange range = Instrument.Specification.Range;
            double[][] values = [.. Columns.Select(_ => new double[BatchRunner.Lanes])];
            UnitState unit = _evaluator.NewState();
            ImmutableArray<ChainSpread>.Builder spreads = ImmutableArray.CreateBuilder<ChainSpread>();
            for (int i = 0; i < points; i++)
            {
                double x = range.Low + (range.Width * i / (points - 1));
                for (int lane = 0; lane < BatchRunner.Lanes; lane++)
                {
                    cancel.ThrowIfCancellationRequested();
                    unit.CopyLane(life.Block, lane);
                    int column = 0;
                    foreach (double value in ReadingsBuilder.Values(_evaluator, Solve(unit, x, at)))
                    {
                        values[column++][lane] = value;
                    }
                }

                foreach (double[] row in values)
                {
                    Array.Sort(row);
                }

                // Of 64 units, the second from either end: 1/64 to 63/64, rounded to what 64 units can say of 95 %.
                spreads.Add(new ChainSpread(x, [.. values.Select(v => v[1])], [.. values.Select(v => v[^2])]));
            }

            return spreads.ToImmutable();
        }
    }

    private ChainPoint Solve(UnitState unit, double measurand, Conditions at)
    {
        _state.CopyFrom(unit);
        ReadingsBuilder.Apply(_evaluator, _state, at);
        _state.Measurand = measurand;
        if (at.AgeSeconds > 0)
        {
            foreach (Parameter drift in Instrument.Sensor.Parameters)
            {
                // About 0 on the nominal unit, which has drifted neither way.
                int index = _evaluator.Model.Parameters.IndexOf(drift);
                if (drift.Name.Contains("drift", StringComparison.Ordinal) && _state.Values[index] == 0)
                {
                    _state.Values[index] = _evaluator.Model.Parameters.High(index);
                }
            }
        }

        return _evaluator.Chain(_state);
    }

    private ImmutableSortedDictionary<string, double> Nodes()
    {
        BoundNetwork network = _evaluator.Field.Bound;
        OperatingPoint? point = _evaluator.Field.Point;
        ImmutableSortedDictionary<string, double>.Builder nodes = ImmutableSortedDictionary.CreateBuilder<string, double>(StringComparer.Ordinal);
        if (point is { Status: SolveStatus.Solved })
        {
            foreach (Island island in network.Network.Islands)
            {
                foreach (NodeId node in island.Nodes)
                {
                    if (network.ReturnOf(node) is { } back)
                    {
                        nodes[network.Network.NodeName(node)] = point.Voltage(node, back);
                    }
                }
            }
        }

        return nodes.ToImmutable();
    }

    /// <summary>What the intended chain makes of a value of the measurand, in the order of the columns.</summary>
    private IEnumerable<double> Intended(double measurand, double processCelsius)
    {
        double signal = Instrument.Sensor.NominalSignal(measurand, processCelsius);
        double wanted = _evaluator.LoopScale?.Forward(measurand) ?? double.NaN;
        double code = _evaluator.OutputCodeOf(wanted);
        yield return measurand;
        yield return signal;
        _state.CopyFrom(_evaluator.Nominal);
        _state.ProcessCelsius = processCelsius;
        _state.SimulatedSignal = signal;
        _state.Measurand = measurand;
        _state.DriveVolts = code * _evaluator.VoltsPerOutputCode;
        bool isSolved = double.IsFinite(signal) && _evaluator.Field.Solve(_state, limited: false).Status == SolveStatus.Solved;
        foreach ((CircuitStage stage, TestPoint point) in _evaluator.Model.TestPoints)
        {
            yield return MeantAt(stage, point, signal)
                ?? (isSolved ? Evaluator.Volts(_evaluator.Field, point.Node.Value, point.Return?.Value) : double.NaN);
        }

        if (_evaluator.Model.Converter is not null)
        {
            yield return _evaluator.InputTransfer is { } transfer ? transfer.Forward(signal) * _evaluator.CodesPerVolt : double.NaN;
            yield return measurand;
        }

        if (_evaluator.Model.OutputConverter is not null)
        {
            yield return code;
        }

        if (Instrument.Loop is not null)
        {
            yield return wanted;
        }
    }

    /// <summary>What the intents of the stages up to a test point make of the sensor's signal; null where none speaks of it.</summary>
    private double? MeantAt(CircuitStage stage, TestPoint point, double signal)
    {
        ImmutableArray<CircuitStage> stages = _evaluator.Model.InputStages;
        int index = stages.IndexOf(stage);
        (string? node, string? back) = _evaluator.OutgoingNodes(stage);
        if (index < 0 || node != point.Node.Value || back != point.Return?.Value || _evaluator.InputTransfer is not { } transfer)
        {
            return null;
        }

        // One line for each stage, and before them one more where the sensor's signal is no voltage.
        int count = index + 1 + (transfer.Lines.Length - stages.Length);
        return transfer.Lines.Length >= stages.Length && stages.All(s => s.Intent.Length >= 2) ? transfer.Lines.Take(count).Aggregate(signal, (v, line) => line.Forward(v)) : null;
    }

    /// <summary>The least and greatest that each column can come to: sensor and output driven far past their ends.</summary>
    private (double[] Low, double[] High) Ends()
    {
        double[] low = [.. Enumerable.Repeat(double.NaN, Columns.Length)];
        double[] high = [.. low];
        (double atLow, double atHigh) = _evaluator.SignalRange();
        double width = Math.Abs(atHigh - atLow);
        double centre = (atLow + atHigh) / 2;
        double full = _evaluator.NominalOutputReference * (_evaluator.Model.OutputConverter?.Gain ?? 1);
        double[]? first = Driven(centre - (3 * width), 0);
        double[]? last = Driven(centre + (3 * width), full);
        double[]? further = Driven(centre + (4 * width), full);
        int column = 2;
        for (int t = 0; t < _evaluator.Model.TestPoints.Length; t++, column++)
        {
            if (first is not null && last is not null && further is not null)
            {
                // What still follows the drive out there is not at an end of its own.
                bool isOutput = _evaluator.Model.OutputStages.Contains(_evaluator.Model.TestPoints[t].Stage);
                double step = Math.Abs(further[t] - last[t]);
                if (isOutput || step < 0.02 * Math.Abs(last[t] - first[t]))
                {
                    (low[column], high[column]) = (Math.Min(first[t], last[t]), Math.Max(first[t], last[t]));
                }
            }
        }

        if (_evaluator.Model.Converter is not null)
        {
            (low[column], high[column]) = _evaluator.CodeRange;
            column += 2;
        }

        if (_evaluator.Model.OutputConverter is { } dac)
        {
            (low[column], high[column]) = (0, Math.ScaleB(1, dac.Bits) - 1);
            column++;
        }

        if (Instrument.Loop is not null && first is not null && last is not null)
        {
            (low[column], high[column]) = (Math.Min(first[^1], last[^1]), Math.Max(first[^1], last[^1]));
        }

        return (low, high);
    }

    private double[]? Driven(double signal, double drive)
    {
        _state.CopyFrom(_evaluator.Nominal);
        _state.SimulatedSignal = signal;
        _state.DriveVolts = drive;
        return _evaluator.Bench.Solve(_state, limited: true).Status != SolveStatus.Solved
            ? null
            : [.. _evaluator.Model.TestPoints.Select(p => Evaluator.Volts(_evaluator.Bench, p.Point.Node.Value, p.Point.Return?.Value)), Evaluator.LoopValue(_evaluator.Bench)];
    }

    /// <summary>The longest stretch about the range over which values rise or fall throughout; null where they do not even over the range.</summary>
    private static (ImmutableArray<double> Measurands, ImmutableArray<double> Intended)? Monotone(double[] measurands, double[] intended, QuantityRange range)
    {
        int middle = measurands.Length / 2;
        double direction = Math.Sign(intended[middle + 1] - intended[middle]);
        double size = Math.Abs(intended[middle]);
        bool Follows(int i) => (intended[i + 1] - intended[i]) * direction > 1e-9 * size;
        if (!(direction != 0) || !Follows(middle))
        {
            return null;
        }

        int first = middle;
        while (first > 0 && Follows(first - 1))
        {
            first--;
        }

        int last = middle + 1;
        while (last < measurands.Length - 1 && Follows(last))
        {
            last++;
        }

        double slack = range.Width * 1e-9;
        return measurands[first] > range.Low + slack || measurands[last] < range.High - slack
            ? null
            : ([.. measurands[first..(last + 1)]], [.. intended[first..(last + 1)]]);
    }
}
