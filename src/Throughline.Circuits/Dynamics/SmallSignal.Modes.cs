using System.Collections.Immutable;
using System.Numerics;

namespace Throughline.Circuits;

public sealed partial class SmallSignal
{
    // Below this share of the slowest, a time constant is rounding: its state follows at once.
    private const double InstantShare = 1e-13;

    private Modes? _modes;
    private double[,] _products = new double[0, 0];

    /// <summary>Number of capacitors, inductors and lags.</summary>
    public int StorageCount => _storages.Count;

    /// <summary>Poles, rad/s, slowest decay first. States that follow at once, such as a capacitor across a source, have none.</summary>
    public ImmutableArray<Complex> Poles => GetModes().Poles;

    /// <summary>True when every pole decays.</summary>
    public bool IsStable => Poles.All(static pole => pole.Real < 0);

    /// <summary>Response of a reading to a step of one slot at time 0 from rest at the solved point.</summary>
    /// <param name="slot">A source's value, or any other number; not a capacitance, an inductance or a bandwidth.</param>
    /// <param name="change">Height of the step, in the slot's unit.</param>
    /// <param name="probe">The reading: a voltage, or a current other than a capacitor's.</param>
    public StepResponse Step(int slot, double change, Probe probe) => Step([(slot, change)], probe);

    /// <summary>Response of a reading to steps of several slots at once, such as the arms of a bridge.</summary>
    /// <param name="steps">Slots with the height of each step, in the slot's unit.</param>
    /// <param name="probe">The reading: a voltage, or a current other than a capacitor's.</param>
    public StepResponse Step(ReadOnlySpan<(int Slot, double Change)> steps, Probe probe)
    {
        if (probe.IsCurrent && _network[probe.Element] is Capacitor)
            throw new ArgumentException("A capacitor's current has no value at the instant of a step.", nameof(probe));
        Modes modes = GetModes();
        int n = _storages.Count;
        var gradient = new double[_size + 1];
        if (probe.IsCurrent)
        {
            _network[probe.Element].AddCurrentGradient(_w, gradient);
        }
        else
        {
            gradient[_network.UnknownOfNode[probe.Plus.Index]] += 1;
            gradient[_network.UnknownOfNode[probe.Minus.Index]] -= 1;
        }

        double[] adjoint = SolveStatic(gradient);
        int ownSlot = probe.IsCurrent && _network[probe.Element] is { Slots.Count: > 0 } element ? element.FirstSlot : -1;
        double final = 0;
        // States begin at rest: their deviation from where they end is minus where they end.
        var start = new double[n];
        var weight = new double[n];
        for (int k = 0; k < n; k++)
            weight[k] = Product(adjoint, _storages[k]) * modes.Scale[k];
        foreach ((int slot, double change) in steps)
        {
            final += change * SlotDerivative(adjoint, slot);
            if (slot == ownSlot)
                final += change * _network[probe.Element].DirectCurrentDerivative(_w);
            for (int k = 0; k < n; k++)
                start[k] -= change * SlotDerivative(modes.Adjoints[k], slot) / modes.Scale[k];
        }

        return new StepResponse(modes, final, start, weight);
    }

    private Modes GetModes()
    {
        if (_modes is not null)
            return _modes;
        int n = _storages.Count;
        var adjoints = new double[n][];
        for (int k = 0; k < n; k++)
        {
            var gradient = new double[_size + 1];
            foreach ((int unknown, double weight) in _storages[k].State)
                gradient[unknown] += weight;
            adjoints[k] = SolveStatic(gradient);
        }

        // P ż = q u − z with P = Wᵀ J⁻¹ U D: the time constants are its eigenvalues. States are counted by the root of their energy, which makes P of a passive
        // network symmetric. Balancing by the size of rows and columns was tried and is worse: where one state follows others and
        // never acts back, it takes the rounding of the missing action for an action and swamps the real one.
        var scale = new double[n];
        for (int k = 0; k < n; k++)
        {
            double size = Math.Sqrt(Math.Abs(_storages[k].Coefficient));
            scale[k] = size > 0 ? Math.ScaleB(1, -Math.ILogB(size)) : 1;
        }

        var p = new double[n, n];
        _products = new double[n, n];
        for (int k = 0; k < n; k++)
        {
            for (int j = 0; j < n; j++)
            {
                _products[k, j] = Product(adjoints[k], _storages[j]);
                p[k, j] = _products[k, j] * scale[j] / scale[k];
            }
        }

        return _modes = new Modes(p, scale, adjoints, InstantShare);
    }

    /// <summary>Prepares the adjoints of a reading, whose gradient does not depend on frequency, for many frequencies.</summary>
    private FrequencySweep Sweep(double[] gradient, out double[] atZero)
    {
        GetModes();
        double[] adjoint = SolveStatic(gradient);
        atZero = adjoint;
        return new FrequencySweep(_products, [.. _storages.Select(storage => Product(adjoint, storage))]);
    }

    private static double Product(double[] adjoint, Storage storage)
    {
        double sum = 0;
        foreach ((int unknown, double weight) in storage.Equations)
            sum += adjoint[unknown] * weight;
        return sum * storage.Coefficient;
    }

    private double SlotDerivative(double[] adjoint, int slot)
    {
        Array.Clear(_derivatives);
        Element element = _network[_network.Slots[slot].Element];
        element.AddSensitivities(_w, adjoint, _derivatives.AsSpan(element.FirstSlot));
        return _derivatives[slot];
    }

    /// <summary>Jᵀ λ = gradient, refined once.</summary>
    private double[] SolveStatic(double[] gradient)
    {
        gradient[_size] = 0;
        var adjoint = new double[_size + 1];
        _staticFactors.SolveTransposed(gradient, adjoint);
        EquationPattern pattern = _network.Pattern;
        var rest = (double[])gradient.Clone();
        for (int row = 0; row < _size; row++)
        {
            for (int entry = pattern.RowStart[row]; entry < pattern.RowStart[row + 1]; entry++)
                rest[pattern.Columns[entry]] -= _static[entry] * adjoint[row];
        }

        var correction = new double[_size + 1];
        _staticFactors.SolveTransposed(rest, correction);
        for (int k = 0; k < _size; k++)
            adjoint[k] += correction[k];
        return adjoint;
    }
}
