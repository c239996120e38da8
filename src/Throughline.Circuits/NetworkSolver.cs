using System.Globalization;

namespace Throughline.Circuits;

/// <summary>
/// Solves one network for one set of values after another. It owns every buffer: one per thread, nothing allocated per solve once the elimination
/// order is found.
/// </summary>
public sealed partial class NetworkSolver
{
    /// <summary>Boltzmann's constant over the elementary charge, V/K: both exact in the SI of 2019.</summary>
    internal const double BoltzmannOverCharge = 1.380649e-23 / 1.602176634e-19;

    private readonly Network _network;
    private readonly Element[] _elements;
    private readonly Element[] _nonlinear;
    private readonly Workspace _w;
    private readonly OperatingPoint _point;
    private readonly double[] _step;
    private readonly bool[] _isTied;
    private readonly bool[] _include;
    private bool _hasTies;

    internal NetworkSolver(Network network)
    {
        _network = network;
        _elements = network.Whole.Elements;
        _nonlinear = network.Whole.Nonlinear;
        _whole = new BlockSolution(network.Whole);
        _blocks = [.. network.Blocks.Select(static block => new BlockSolution(block))];
        _w = new Workspace(network.UnknownCount, network.Pattern.EntryCount, network.SlotCount, network.StateCount, network.ModeCount, network.StorageCount, network.ElementCount);
        _step = new double[network.UnknownCount + 1];
        _adjoint = new double[network.UnknownCount + 1];
        _gradient = new double[network.UnknownCount + 1];
        _isTied = new bool[network.FreeNodeCount];
        _include = new bool[network.Pattern.EntryCount];
        _point = new OperatingPoint(network, _w, _isTied);
    }

    public Network Network => _network;

    /// <summary>Puts one part at a temperature of its own, such as a transistor that warms itself or a resistor in the process. It holds for every later
    /// solve, and for what is linearised or set in motion from it, until it is set again.</summary>
    /// <param name="element">The part: a semiconductor's thermal voltage and a resistor's thermal noise follow its temperature. Slots are values at that
    /// temperature, as ever.</param>
    /// <param name="riseKelvin">How far it is above the temperature given to the solve, K; 0 is the same.</param>
    /// <exception cref="ArgumentOutOfRangeException">The rise is not finite, or the element is not of this network.</exception>
    public void SetTemperatureRise(ElementId element, double riseKelvin)
    {
        if (!double.IsFinite(riseKelvin))
            throw new ArgumentOutOfRangeException(nameof(riseKelvin), riseKelvin, "A rise is finite.");
        _w.Rises[_network[element].Index] = riseKelvin * BoltzmannOverCharge;
        ForgetBlocks();
    }

    /// <summary>Finds the operating point.</summary>
    /// <param name="values">Every slot's value in slot order, SI units.</param>
    /// <param name="temperatureKelvin">Temperature of the junctions, K; the slots of semiconductors are values at this temperature.</param>
    /// <param name="from">A point of the same network to begin at; null begins from nothing, so that the answer depends on the values alone. From a point, a latch stays where it was.</param>
    /// <returns>The solver's own point, overwritten by the next solve.</returns>
    /// <exception cref="ArgumentException">The number of values is not that of the slots, or the point is of another network.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The temperature is not above 0 K.</exception>
    public OperatingPoint Solve(ReadOnlySpan<double> values, double temperatureKelvin = 298.15, OperatingPoint? from = null)
    {
        if (values.Length != _w.Values.Length)
            throw new ArgumentException($"The network has {_w.Values.Length} slots, not {values.Length}.", nameof(values));
        if (!(temperatureKelvin > 0) || !double.IsFinite(temperatureKelvin))
            throw new ArgumentOutOfRangeException(nameof(temperatureKelvin), temperatureKelvin, "A temperature is above 0 K.");
        if (_w.ThermalVoltage == temperatureKelvin * BoltzmannOverCharge)
            ForgetBlocks(values);
        else
            ForgetBlocks();
        values.CopyTo(_w.Values);
        _w.ThermalVoltage = temperatureKelvin * BoltzmannOverCharge;
        foreach (double rise in _w.Rises)
        {
            if (!(_w.ThermalVoltage + rise > 0))
                throw new ArgumentOutOfRangeException(nameof(temperatureKelvin), temperatureKelvin, "A part would be at or below 0 K.");
        }

        _whole.FactorsAreAtPoint = false;
        _isLoadedAtPoint = false;
        _point.Iterations = 0;
        _point.NeededContinuation = false;
        _point.Trouble = null;
        _point.Caution = null;
        Array.Clear(_isTied);
        _hasTies = false;
        for (int slot = 0; slot < values.Length; slot++)
        {
            if (double.IsNaN(values[slot]))
                return Refuse(SolveStatus.Singular, string.Create(CultureInfo.InvariantCulture, $"The {_network.Slots[slot].Quantity} of {_network.Slots[slot].ElementName} is not a number."));
        }

        _isByBlocks = TryBlocks(from);
        Outcome outcome = _isByBlocks ? Outcome.Solved : FindPoint(from);
        if (outcome == Outcome.Solved && from is null)
            LeaveUnstablePoints();
        if (outcome == Outcome.Solved && FindUnreturnedCurrent() is { } trouble)
            return Refuse(SolveStatus.Singular, trouble);
        if (outcome != Outcome.Solved)
            return Refuse(outcome == Outcome.Singular ? SolveStatus.Singular : SolveStatus.NotSettled, Explain(outcome));
        _point.Status = SolveStatus.Solved;
        return _point;
    }

    private OperatingPoint Refuse(SolveStatus status, string trouble)
    {
        _point.Status = status;
        _point.Trouble = trouble;
        return _point;
    }
}
