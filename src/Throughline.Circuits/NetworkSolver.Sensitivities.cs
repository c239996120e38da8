namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    private readonly double[] _adjoint;
    private readonly double[] _gradient;

    /// <summary>
    /// Derivative of a reading with respect to every slot at the last solved point: one transposed solve with the factors at hand
    /// (Director, Rohrer: The generalized adjoint network and network sensitivities, IEEE Trans. Circuit Theory 16 (1969) 318–323).
    /// </summary>
    /// <param name="probe">The reading.</param>
    /// <param name="perSlot">Overwritten, in slot order, V or A per unit of the slot. 0 where the slot moves nothing: limits that are not reached, headroom
    /// distances, capacitance and inductance at direct current, and values at ±∞, which have no derivative. At a boundary between two pieces
    /// of an amplifier's law the derivative is that of the piece the solve ended in.</param>
    /// <exception cref="InvalidOperationException">The last solve did not succeed.</exception>
    /// <exception cref="ArgumentException">The span's length is not the number of slots.</exception>
    public void Sensitivities(Probe probe, Span<double> perSlot)
    {
        if (perSlot.Length != _w.Values.Length)
            throw new ArgumentException($"The network has {_w.Values.Length} slots, not {perSlot.Length}.", nameof(perSlot));
        if (_point.Status != SolveStatus.Solved)
            throw new InvalidOperationException("There is no solved point to differentiate at.");
        Array.Clear(_gradient);
        Element? element = probe.IsCurrent ? _network[probe.Element] : null;
        if (element is not null)
        {
            element.AddCurrentGradient(_w, _gradient);
        }
        else
        {
            _gradient[_network.UnknownOfNode[probe.Plus.Index]] += 1;
            _gradient[_network.UnknownOfNode[probe.Minus.Index]] -= 1;
        }

        _gradient[_w.Unknowns] = 0;
        SolveAdjoint();
        perSlot.Clear();
        foreach (Element each in _elements)
            each.AddSensitivities(_w, _adjoint, perSlot[each.FirstSlot..]);
        if (element is not null && element.Slots.Count > 0)
            perSlot[element.FirstSlot] += element.DirectCurrentDerivative(_w);
        for (int slot = 0; slot < perSlot.Length; slot++)
        {
            if (!double.IsFinite(perSlot[slot]))
                perSlot[slot] = 0;
        }
    }

    /// <summary>The network for small changes about the last solved point.</summary>
    /// <exception cref="InvalidOperationException">The last solve did not succeed, or its equations have no linearisation.</exception>
    public SmallSignal Linearise() =>
        TryLinearise() ?? throw new InvalidOperationException("The point has no linearisation: its equations are singular.");

    /// <summary>As <see cref="Linearise"/>; null when the equations about the point are singular, as at a bend between two pieces of the network.</summary>
    /// <exception cref="InvalidOperationException">No point has been solved.</exception>
    public SmallSignal? TryLinearise()
    {
        if (_point.Status != SolveStatus.Solved)
            throw new InvalidOperationException("No point has been solved.");
        SmallSignal signal = new(_network, _w, _isTied);
        return signal.IsSingular ? null : signal;
    }

    private void SolveAdjoint()
    {
        if (_isByBlocks)
        {
            if (!TrySolveAdjointByBlocks())
                throw new InvalidOperationException("The solved point has no derivative.");
            return;
        }

        if (!_whole.FactorsAreAtPoint)
        {
            if (LoadAndFactor(_whole) != Outcome.Solved)
                throw new InvalidOperationException("The solved point has no derivative.");
            _whole.FactorsAreAtPoint = true;
        }

        _whole.Factors.SolveTransposed(_gradient, _adjoint);
        _adjoint[_w.Unknowns] = 0;

        // One refinement, as in the forward solve: _gradient − Jᵀ λ, by rows of J.
        EquationPattern pattern = _network.Pattern;
        for (int row = 0; row < _w.Unknowns; row++)
        {
            double value = _adjoint[row];
            for (int entry = pattern.RowStart[row]; entry < pattern.RowStart[row + 1]; entry++)
                _gradient[pattern.Columns[entry]] -= _w.Matrix[entry] * value;
        }

        _whole.Factors.SolveTransposed(_gradient, _step);
        for (int row = 0; row < _w.Unknowns; row++)
            _adjoint[row] += _step[row];
    }
}
