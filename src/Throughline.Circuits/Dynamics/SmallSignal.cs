using System.Numerics;

namespace Throughline.Circuits;

/// <summary>
/// A network linearised about a solved point: J x + Σ coefficient d/dt(state) = b. It answers for small changes: frequency response, noise, poles,
/// loop gain, and the response to a step, which is exact for as long as no amplifier reaches another piece of its law. It holds copies of
/// all numbers, so the solver may go on. One thread per instance.
/// </summary>
/// <remarks>
/// Nodes that only capacitors join to a return are held by 10 TΩ here, not by the 1 Ω of the operating point: at any frequency of
/// interest that is nothing.
/// </remarks>
public sealed partial class SmallSignal
{
    private const double LeakConductance = 1e-13;

    private readonly Network _network;
    private readonly Workspace _w;
    private readonly int _size;
    private readonly List<Storage> _storages = [];
    private readonly List<NoiseSource> _noise = [];
    private readonly double[] _static;
    private readonly double[] _dynamic;
    private readonly Complex[] _matrix;
    private readonly SparseFactors<Complex> _factors = new();
    private readonly SparseFactors<double> _staticFactors = new();
    private readonly Complex[] _gradient;
    private readonly Complex[] _adjoint;
    private readonly double[] _part;
    private readonly double[] _derivatives;

    internal SmallSignal(Network network, Workspace point, bool[] isTied)
    {
        _network = network;
        _w = point.Clone();
        _size = _w.Unknowns;
        _w.Clear(network.Whole);
        foreach (Element element in network.Elements)
        {
            element.Load(_w);
            element.AddStorages(_w, _storages);
            element.AddNoise(_w, _noise);
        }

        foreach (int unknown in network.TiedUnknowns)
            _w.Matrix[network.DiagonalOfUnknown[unknown]] += LeakConductance;
        for (int unknown = 0; unknown < isTied.Length; unknown++)
        {
            if (isTied[unknown])
                _w.Matrix[network.DiagonalOfUnknown[unknown]] += LeakConductance;
        }

        _static = _w.Matrix;
        _dynamic = new double[_static.Length];
        foreach (Storage storage in _storages)
        {
            foreach ((int row, double rowWeight) in storage.Equations)
            {
                foreach ((int column, double columnWeight) in storage.State)
                    _dynamic[network.Pattern.Entry(row, column)] += storage.Coefficient * rowWeight * columnWeight;
            }
        }

        _matrix = new Complex[_static.Length];
        _gradient = new Complex[_size + 1];
        _adjoint = new Complex[_size + 1];
        _part = new double[_size + 1];
        _derivatives = new double[network.SlotCount];
        EliminationPlan? plan = PivotSearch<double>.Find(network.Pattern, _static, null, out _, out _);
        _staticFactors.Plan = plan;
        IsSingular = plan is null || !_staticFactors.TryFactor(_static);
    }

    /// <summary>Derivatives of the equations by the unknowns, in the order of the pattern.</summary>
    internal double[] Static => _static;

    /// <summary>Derivatives of the equations by the unknowns' rates of change, in the order of the pattern, s.</summary>
    internal double[] Dynamic => _dynamic;

    internal IReadOnlyList<NoiseSource> NoiseSources => _noise;

    /// <summary>Whether the equations about the point are singular, so that nothing can be asked of them.</summary>
    internal bool IsSingular { get; }

    /// <summary>Response of a reading to a small change of one slot at a frequency: V or A per unit of the slot.</summary>
    /// <param name="slot">A source's value, or any other number that is made to vary; not a capacitance, an inductance or a bandwidth.</param>
    /// <param name="probe">The reading.</param>
    /// <param name="hertz">Frequency, 0 or more.</param>
    public Complex Transfer(int slot, Probe probe, double hertz)
    {
        var perSlot = new Complex[_network.SlotCount];
        Transfers(probe, hertz, perSlot);
        return perSlot[slot];
    }

    /// <summary>Responses of one reading to every slot at a frequency: one transposed solve.</summary>
    /// <exception cref="ArgumentException">The span's length is not the number of slots.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The frequency is negative or not finite.</exception>
    public void Transfers(Probe probe, double hertz, Span<Complex> perSlot)
    {
        if (perSlot.Length != _network.SlotCount)
            throw new ArgumentException($"The network has {_network.SlotCount} slots, not {perSlot.Length}.", nameof(perSlot));
        SolveAdjoint(probe, hertz);
        Gather(perSlot);
        if (probe.IsCurrent && _network[probe.Element] is { Slots.Count: > 0 } element)
            perSlot[element.FirstSlot] += element.DirectCurrentDerivative(_w);
    }

    private void Gather(Span<Complex> perSlot)
    {
        for (int half = 0; half < 2; half++)
        {
            for (int k = 0; k <= _size; k++)
                _part[k] = half == 0 ? _adjoint[k].Real : _adjoint[k].Imaginary;
            Array.Clear(_derivatives);
            foreach (Element element in _network.Elements)
                element.AddSensitivities(_w, _part, _derivatives.AsSpan(element.FirstSlot));
            for (int slot = 0; slot < perSlot.Length; slot++)
            {
                double value = double.IsFinite(_derivatives[slot]) ? _derivatives[slot] : 0;
                perSlot[slot] = half == 0 ? value : new Complex(perSlot[slot].Real, value);
            }
        }
    }

    private void SolveAdjoint(Probe probe, double hertz)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(hertz);
        if (!double.IsFinite(hertz))
            throw new ArgumentOutOfRangeException(nameof(hertz), hertz, "A frequency is finite.");
        Factor(hertz);
        Array.Clear(_gradient);
        AddGradient(probe, 2 * Math.PI * hertz);
        SolveAdjoint();
    }

    private void SolveAdjoint()
    {
        _gradient[_size] = 0;
        _factors.SolveTransposed(_gradient, _adjoint);
        _adjoint[_size] = 0;
    }

    private void Factor(double hertz)
    {
        double omega = 2 * Math.PI * hertz;
        for (int entry = 0; entry < _matrix.Length; entry++)
            _matrix[entry] = new Complex(_static[entry], omega * _dynamic[entry]);
        if (_factors.TryFactor(_matrix))
            return;
        // The order found at one frequency serves its neighbours; a decade further another may be better.
        _factors.Plan = PivotSearch<Complex>.Find(_network.Pattern, _matrix, null, out _, out _);
        if (!_factors.TryFactor(_matrix))
            throw new InvalidOperationException($"The network has an undamped resonance at {hertz} Hz.");
    }

    private void AddGradient(Probe probe, double omega)
    {
        if (!probe.IsCurrent)
        {
            _gradient[_network.UnknownOfNode[probe.Plus.Index]] += 1;
            _gradient[_network.UnknownOfNode[probe.Minus.Index]] -= 1;
            return;
        }

        Element element = _network[probe.Element];
        if (element is Capacitor capacitor)
        {
            var admittance = new Complex(0, omega * _w.Values[capacitor.FirstSlot]);
            _gradient[capacitor.FirstUnknown] += admittance;
            _gradient[capacitor.SecondUnknown] -= admittance;
            return;
        }

        Array.Clear(_part);
        element.AddCurrentGradient(_w, _part);
        for (int k = 0; k < _size; k++)
            _gradient[k] += _part[k];
    }
}
