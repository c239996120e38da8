namespace Throughline.Circuits;

public sealed partial class NetworkSolver
{
    /// <summary>
    /// How the derivatives of a reading change along a direction: the second derivatives (Hessian) times the direction, for a budget's terms of second order.
    /// </summary>
    /// <param name="values">Every slot's value in slot order, SI units: the point.</param>
    /// <param name="temperatureKelvin">Temperature of the junctions, K.</param>
    /// <param name="probe">The reading.</param>
    /// <param name="direction">Length of the slots: how far each slot moves, in its unit. Its size sets the step, so give distances over which the
    /// reading is smooth, such as tolerances; with a single slot set the result holds that slot's second derivative and its mixed ones, times the distance.</param>
    /// <param name="result">Overwritten, in slot order: Σ ∂²reading/∂slot∂otherslot × direction of the other slot.</param>
    /// <returns>False when one of the four points beside this one has no solution.</returns>
    /// <remarks>Central differences of the exact adjoint gradients at a hundredth of the distance and at half of that, extrapolated (Richardson): the
    /// error falls with the fourth power of the step. The solver stands at one of the points beside afterwards.</remarks>
    /// <exception cref="ArgumentException">A span's length is not the number of slots.</exception>
    public bool TrySecondDerivatives(
        ReadOnlySpan<double> values, double temperatureKelvin, Probe probe, ReadOnlySpan<double> direction, Span<double> result)
    {
        if (direction.Length != values.Length || result.Length != values.Length)
            throw new ArgumentException($"The network has {_w.Values.Length} slots, not {direction.Length} and {result.Length}.", nameof(direction));
        const double Coarse = 1e-2;
        const double Fine = Coarse / 2;
        double[] point = values.ToArray();
        double[] up = new double[values.Length];
        double[] down = new double[values.Length];
        double[] coarse = new double[values.Length];
        if (Solve(point, temperatureKelvin).Status != SolveStatus.Solved)
            return false;
        OperatingPoint start = _point.Snapshot();
        foreach (double step in (ReadOnlySpan<double>)[Coarse, Fine])
        {
            if (!Gradient(values, direction, step, up) || !Gradient(values, direction, -step, down))
                return false;
            for (int slot = 0; slot < result.Length; slot++)
            {
                double slope = (up[slot] - down[slot]) / (2 * step);
                if (step == Coarse)
                    coarse[slot] = slope;
                else
                    result[slot] = ((4 * slope) - coarse[slot]) / 3;
            }
        }

        return true;

        bool Gradient(ReadOnlySpan<double> at, ReadOnlySpan<double> along, double step, double[] gradient)
        {
            for (int slot = 0; slot < point.Length; slot++)
                point[slot] = along[slot] == 0 ? at[slot] : at[slot] + (step * along[slot]);
            if (Solve(point, temperatureKelvin, start).Status != SolveStatus.Solved)
                return false;
            Sensitivities(probe, gradient);
            return true;
        }
    }

    /// <summary>
    /// Looks for another operating point of the same values, as a latch of transistors has: every transistor, diode or field-effect transistor in turn is taken
    /// to conduct while the others do not, and the iteration goes on from there.
    /// </summary>
    /// <param name="values">Every slot's value in slot order, SI units.</param>
    /// <param name="temperatureKelvin">Temperature of the junctions, K.</param>
    /// <param name="part">The part that was taken to conduct when another point was found; null when none was.</param>
    /// <returns>True when two points differ by more than a thousandth of the greatest voltage. False is no proof that there is only one.</returns>
    public bool TryFindAnother(ReadOnlySpan<double> values, double temperatureKelvin, out string? part)
    {
        part = null;
        if (Solve(values, temperatureKelvin).Status != SolveStatus.Solved)
            return false;
        OperatingPoint first = _point.Snapshot();
        foreach (Element element in _nonlinear)
        {
            if (element is Amplifier)
                continue;
            Begin();
            ConductAlone(element);
            if (Iterate(DirectSteps) != Outcome.Solved)
                continue;
            double greatest = 0;
            double difference = 0;
            for (int k = 0; k < _network.FreeNodeCount; k++)
            {
                greatest = Math.Max(greatest, Math.Abs(_w.X[k]));
                difference = Math.Max(difference, Math.Abs(_w.X[k] - first.Workspace.X[k]));
            }

            if (difference > 1e-3 * greatest)
            {
                part = element.Name;
                break;
            }
        }

        // The first point is the answer; the search must not show in it.
        return Solve(values, temperatureKelvin, first).Status == SolveStatus.Solved && part is not null;
    }

    /// <summary>Every junction starts at no voltage but those of one element.</summary>
    private void ConductAlone(Element chosen)
    {
        foreach (Element element in _nonlinear)
        {
            if (element is Amplifier || element == chosen)
                continue;
            for (int k = 0; k < element.StateCount; k++)
                _w.States[element.State + k] = 0;
        }
    }
}
