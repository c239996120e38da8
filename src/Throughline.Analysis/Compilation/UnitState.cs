using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>One unit under one set of conditions: every number that a law may read. Mutable, one per thread.</summary>
public sealed class UnitState : IUnitState
{
    /// <summary>Values are stated at this ambient temperature, °C.</summary>
    public const double ReferenceCelsius = 25;

    private readonly ParameterSet _parameters;
    private readonly double[] _values;
    private readonly double[] _drifts;
    private Action<int>? _onRead;
    private Action<int>? _onPosition;

    public UnitState(ParameterSet parameters, int trimmerCount)
    {
        _parameters = parameters;
        _values = new double[parameters.Count];
        _drifts = new double[parameters.Count];
        Positions = new double[trimmerCount];
        ResetParameters();
    }

    public double Measurand { get; set; }

    public double AmbientCelsius { get; set; } = ReferenceCelsius;

    public double ProcessCelsius { get; set; } = ReferenceCelsius;

    public double AgeSeconds { get; set; }

    /// <summary>Resistance in the loop, Ω.</summary>
    public double LoadOhms { get; set; }

    /// <summary>What the bench sets in the sensor's place, in the unit of the sensor's signal.</summary>
    public double SimulatedSignal { get; set; }

    /// <summary>What the output converter gives before its own errors, V.</summary>
    public double DriveVolts { get; set; }

    /// <summary>Wiper positions, 0 to 1, in the order of the model's trimmers.</summary>
    public double[] Positions { get; }

    /// <summary>Values at the reference temperature, in the order of the parameter set.</summary>
    public Span<double> Values => _values;

    /// <summary>Change per kelvin, in the order of the parameter set.</summary>
    public Span<double> Drifts => _drifts;

    public double Value(Parameter parameter)
    {
        int index = _parameters.IndexOf(parameter);
        _onRead?.Invoke(index);
        return _values[index] + (_drifts[index] * (AmbientCelsius - ReferenceCelsius));
    }

    internal double Position(int trimmer)
    {
        _onPosition?.Invoke(trimmer);
        return Positions[trimmer];
    }

    /// <summary>Every parameter at its stated value, with only the drift whose sign is known.</summary>
    public void ResetParameters()
    {
        for (int i = 0; i < _values.Length; i++)
        {
            _values[i] = _parameters[i].Quantity.Value;
            _drifts[i] = _parameters[i].Quantity.SignedDrift;
        }
    }

    public void CopyFrom(UnitState other)
    {
        other._values.CopyTo(_values, 0);
        other._drifts.CopyTo(_drifts, 0);
        other.Positions.CopyTo(Positions, 0);
        Measurand = other.Measurand;
        AmbientCelsius = other.AmbientCelsius;
        ProcessCelsius = other.ProcessCelsius;
        AgeSeconds = other.AgeSeconds;
        LoadOhms = other.LoadOhms;
        SimulatedSignal = other.SimulatedSignal;
        DriveVolts = other.DriveVolts;
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
