using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// One unit under one set of conditions: every number that a law may read. Mutable, one per thread. It can also hold a block of units side by side, number
/// by number, of which it is one at a time: the one in <see cref="Lane"/>.
/// </summary>
public sealed class UnitState : IUnitState
{
    /// <summary>Values are stated at this ambient temperature, °C.</summary>
    public const double ReferenceCelsius = 25;

    private readonly ParameterSet _parameters;
    private readonly double[] _values;
    private readonly double[] _drifts;
    private readonly double[] _conditions;
    private Action<int>? _onRead;
    private Action<int>? _onPosition;

    public UnitState(ParameterSet parameters, int trimmerCount)
        : this(parameters, trimmerCount, 1)
    {
    }

    /// <param name="lanes">How many units stand side by side.</param>
    internal UnitState(ParameterSet parameters, int trimmerCount, int lanes)
    {
        _parameters = parameters;
        Lanes = lanes;
        _values = new double[parameters.Count * lanes];
        _drifts = new double[parameters.Count * lanes];
        _conditions = new double[ConditionCount * lanes];
        Positions = new double[trimmerCount * lanes];
        Condition(Of.Ambient).Fill(ReferenceCelsius);
        Condition(Of.Process).Fill(ReferenceCelsius);
        Condition(Of.InputBend).Fill(Bend.Everywhere);
        Condition(Of.OutputBend).Fill(Bend.Everywhere);
        Condition(Of.CalibrationOffset).Fill(CalibrationLine.Neutral.Offset);
        Condition(Of.CalibrationGain).Fill(CalibrationLine.Neutral.Gain);
        Condition(Of.TrimOffset).Fill(OutputTrim.Neutral.Offset);
        Condition(Of.TrimGain).Fill(OutputTrim.Neutral.Gain);
        ResetParameters();
    }

    private UnitState(UnitState other)
    {
        _parameters = other._parameters;
        Lanes = other.Lanes;
        _values = [.. other._values];
        _drifts = [.. other._drifts];
        _conditions = [.. other._conditions];
        Positions = [.. other.Positions];
        FurtherLoads = other.FurtherLoads;
    }

    private const int ConditionCount = 13;

    /// <summary>What is the same for every part of a unit.</summary>
    internal enum Of
    {
        Measurand,
        Ambient,
        Process,
        Age,
        Load,
        Simulated,
        Drive,

        /// <summary>How the input converter's nonlinearity bends over its range, see <see cref="Bend"/>.</summary>
        InputBend,

        /// <summary>The output converter's.</summary>
        OutputBend,

        /// <summary>See <see cref="CalibrationLine"/>.</summary>
        CalibrationOffset,

        CalibrationGain,

        /// <summary>See <see cref="OutputTrim"/>.</summary>
        TrimOffset,

        TrimGain,
    }

    /// <summary>How many units stand side by side.</summary>
    internal int Lanes { get; }

    /// <summary>Other whenever values or drifts of the parameters are: what follows from them alone need not be found anew before.</summary>
    internal int Version { get; set; }

    /// <summary>The unit that every property speaks of.</summary>
    internal int Lane { get; set; }

    public double Measurand { get => this[Of.Measurand]; set => this[Of.Measurand] = value; }

    public double AmbientCelsius { get => this[Of.Ambient]; set => this[Of.Ambient] = value; }

    public double ProcessCelsius { get => this[Of.Process]; set => this[Of.Process] = value; }

    public double AgeSeconds { get => this[Of.Age]; set => this[Of.Age] = value; }

    /// <summary>What the receiver asks of the output, see <see cref="Loop.Burden"/>: resistance in a current loop, Ω, or conductance across a voltage, S.</summary>
    public double Burden { get => this[Of.Load]; set => this[Of.Load] = value; }

    /// <summary>What the bench sets in the sensor's place, in the unit of the sensor's signal.</summary>
    public double SimulatedSignal { get => this[Of.Simulated]; set => this[Of.Simulated] = value; }

    /// <summary>What the output converter gives before its own errors, V.</summary>
    public double DriveVolts { get => this[Of.Drive]; set => this[Of.Drive] = value; }

    /// <summary>What each supply that sags feeds besides the circuit, A, in the order of the supplies; null takes the typical stated figures. The same for a whole block.</summary>
    internal double[]? FurtherLoads { get; set; }

    public double InputBend { get => this[Of.InputBend]; set => this[Of.InputBend] = value; }

    public double OutputBend { get => this[Of.OutputBend]; set => this[Of.OutputBend] = value; }

    /// <summary>What the code keeps of the unit's last calibration.</summary>
    public CalibrationLine Calibration
    {
        get => new(this[Of.CalibrationOffset], this[Of.CalibrationGain]);
        set => (this[Of.CalibrationOffset], this[Of.CalibrationGain]) = (value.Offset, value.Gain);
    }

    /// <summary>What the code keeps of the unit's output trim.</summary>
    internal OutputTrim OutputTrim
    {
        get => new(this[Of.TrimOffset], this[Of.TrimGain]);
        set => (this[Of.TrimOffset], this[Of.TrimGain]) = (value.Offset, value.Gain);
    }

    /// <summary>Wiper positions, 0 to 1, in the order of the model's trimmers; of a block, each trimmer's of all units together.</summary>
    public double[] Positions { get; }

    /// <summary>Values at the reference temperature, in the order of the parameter set; of a block, each parameter's of all units together.</summary>
    public Span<double> Values => _values;

    /// <summary>Change per kelvin, in the same order.</summary>
    public Span<double> Drifts => _drifts;

    /// <summary>A condition of every unit.</summary>
    internal Span<double> Condition(Of condition) => _conditions.AsSpan((int)condition * Lanes, Lanes);

    /// <summary>A parameter's value at the reference temperature in every unit.</summary>
    internal Span<double> ValuesOf(int parameter) => _values.AsSpan(parameter * Lanes, Lanes);

    /// <summary>A parameter's change per kelvin in every unit.</summary>
    internal Span<double> DriftsOf(int parameter) => _drifts.AsSpan(parameter * Lanes, Lanes);

    /// <summary>A trimmer's position in every unit.</summary>
    internal Span<double> PositionsOf(int trimmer) => Positions.AsSpan(trimmer * Lanes, Lanes);

    private ref double this[Of condition] => ref _conditions[((int)condition * Lanes) + Lane];

    public double Value(Parameter parameter)
    {
        int index = _parameters.IndexOf(parameter);
        _onRead?.Invoke(index);
        int at = (index * Lanes) + Lane;
        return _values[at] + (_drifts[at] * (AmbientCelsius - ReferenceCelsius));
    }

    internal double Position(int trimmer)
    {
        _onPosition?.Invoke(trimmer);
        return Positions[(trimmer * Lanes) + Lane];
    }

    /// <summary>Every parameter at its stated value, with only the drift whose sign is known.</summary>
    public void ResetParameters()
    {
        for (int i = 0; i < _parameters.Count; i++)
        {
            ValuesOf(i).Fill(_parameters[i].Quantity.Value);
            DriftsOf(i).Fill(_parameters[i].Quantity.SignedDrift);
        }
    }

    /// <summary>Another with the same numbers.</summary>
    internal UnitState Copy() => new(this);

    /// <param name="other">Of as many units side by side.</param>
    public void CopyFrom(UnitState other)
    {
        other._values.CopyTo(_values, 0);
        other._drifts.CopyTo(_drifts, 0);
        other.Positions.CopyTo(Positions, 0);
        other._conditions.CopyTo(_conditions, 0);
        FurtherLoads = other.FurtherLoads;
    }

    /// <summary>Takes one unit of a block, its conditions included, into a state of one unit.</summary>
    internal void CopyLane(UnitState block, int lane)
    {
        Take(block._values, _values);
        Take(block._drifts, _drifts);
        Take(block.Positions, Positions);
        Take(block._conditions, _conditions);

        void Take(double[] from, double[] to)
        {
            for (int i = 0; i < to.Length; i++)
            {
                to[i] = from[(i * block.Lanes) + lane];
            }
        }
    }

    /// <summary>Which parameters and trimmers a law reads in this state.</summary>
    internal (int[] Parameters, int[] Trimmers) Reads(Law law)
    {
        SortedSet<int> parameters = [];
        SortedSet<int> trimmers = [];
        _onRead = i => parameters.Add(i);
        _onPosition = i => trimmers.Add(i);
        try
        {
            law(this);
        }
        finally
        {
            _onRead = null;
            _onPosition = null;
        }

        return ([.. parameters], [.. trimmers]);
    }
}
