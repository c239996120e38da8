using System.Numerics;

namespace Throughline.Circuits;

/// <summary>How far a feedback loop is from oscillating.</summary>
/// <param name="CrossoverHertz">Frequency at which the loop gain falls through 1 with the least phase margin; NaN when it never does.</param>
/// <param name="PhaseMarginDegrees">180° less the loop's lag there; +∞ when it never reaches 1.</param>
/// <param name="GainMargin">Least factor, above or below 1, by which the loop gain misses −1 where its phase is 180°; +∞ when it never is.</param>
public sealed record LoopMargins(double CrossoverHertz, double PhaseMarginDegrees, double GainMargin);

public sealed partial class SmallSignal
{
    /// <summary>
    /// Loop gain around an op amp at a frequency, with every other loop closed: Bode's return ratio of its controlled source, positive for negative feedback at 0 Hz.
    /// </summary>
    /// <param name="opAmp">An op amp in its linear region with finite gain or a gain-bandwidth product.</param>
    /// <param name="hertz">Frequency, 0 or more.</param>
    /// <remarks>
    /// With e the input difference and w the output before its resistance, e + δ = w/A. A loop of gain T = −A e/w gives w/δ = A/(1 + T), so
    /// T = A δ/w − 1, and w/δ is the response of w to the offset. (Bode: Network Analysis and Feedback Amplifier Design, 1945, ch. IV, from memory.)
    /// </remarks>
    /// <exception cref="ArgumentException">The element is no op amp, or not in its linear region, or its gain is infinite at this frequency.</exception>
    public Complex LoopGain(ElementId opAmp, double hertz)
    {
        if (_network[opAmp] is not OpAmp amplifier || amplifier.StateOf(_w) != AmplifierState.Linear)
            throw new ArgumentException($"{_network[opAmp].Name} is no op amp in its linear region.", nameof(opAmp));
        Complex gain = amplifier.OpenLoopGain(_w, hertz);
        if (!Complex.IsFinite(gain))
            throw new ArgumentException($"{amplifier.Name} has infinite gain at {hertz} Hz: its loop gain is no number.", nameof(opAmp));
        Factor(hertz);
        Array.Clear(_gradient);
        Array.Clear(_part);
        amplifier.AddInternalOutput(_w, _part);
        for (int k = 0; k < _size; k++)
            _gradient[k] = _part[k];
        SolveAdjoint();
        // The offset enters the amplifier's own equation with the factor of its inputs, the other way round.
        Complex response = -_adjoint[amplifier.Branch] * amplifier.FactorOfInputs(_w);
        return (gain / response) - 1;
    }

    /// <summary>Margins of the loop around an op amp over a band.</summary>
    /// <param name="opAmp">An op amp in its linear region with a gain-bandwidth product.</param>
    /// <param name="fromHertz">Lower end, above 0.</param>
    /// <param name="toHertz">Upper end.</param>
    /// <remarks>A margin says how close; whether the network oscillates is what <see cref="IsStable"/> says.</remarks>
    public LoopMargins Margins(ElementId opAmp, double fromHertz = 0.1, double toHertz = 1e9)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(fromHertz);
        const int PointsPerDecade = 16;
        int count = Math.Max(2, (int)Math.Ceiling(Math.Log10(toHertz / fromHertz) * PointsPerDecade));
        double crossover = double.NaN;
        double phaseMargin = double.PositiveInfinity;
        double gainMargin = double.PositiveInfinity;
        double previousHertz = fromHertz;
        Func<double, Complex> loopGain = CreateLoopSweep(opAmp);
        Complex previous = loopGain(fromHertz);
        for (int k = 1; k <= count; k++)
        {
            double hertz = fromHertz * Math.Pow(toHertz / fromHertz, (double)k / count);
            Complex gain = loopGain(hertz);
            if (Complex.Abs(previous) >= 1 != Complex.Abs(gain) >= 1)
            {
                double at = Bisect(previousHertz, hertz, frequency => Complex.Abs(loopGain(frequency)) >= 1);
                double margin = 180 - Math.Abs(loopGain(at).Phase * 180 / Math.PI);
                if (margin < phaseMargin)
                    (phaseMargin, crossover) = (margin, at);
            }

            if (previous.Imaginary >= 0 != gain.Imaginary >= 0 && previous.Real + gain.Real < 0)
            {
                double at = Bisect(previousHertz, hertz, frequency => loopGain(frequency).Imaginary >= 0);
                double size = Complex.Abs(loopGain(at));
                double factor = Math.Max(size, 1 / size);
                gainMargin = Math.Min(gainMargin, factor);
            }

            (previousHertz, previous) = (hertz, gain);
        }

        return new LoopMargins(crossover, phaseMargin, gainMargin);
    }

    /// <summary>Loop gain as <see cref="LoopGain"/> defines it, prepared for many frequencies.</summary>
    private Func<double, Complex> CreateLoopSweep(ElementId opAmp)
    {
        // Checks what the single answer checks.
        LoopGain(opAmp, 0.1);
        var amplifier = (OpAmp)_network[opAmp];
        var gradient = new double[_size + 1];
        amplifier.AddInternalOutput(_w, gradient);
        FrequencySweep sweep = Sweep(gradient, out double[] atZero);
        double[] perState = [.. GetModes().Adjoints.Select(adjoint => adjoint[amplifier.Branch])];
        double factor = amplifier.FactorOfInputs(_w);
        return hertz =>
        {
            ReadOnlySpan<Complex> z = sweep.At(hertz);
            Complex own = atZero[amplifier.Branch];
            for (int k = 0; k < perState.Length; k++)
                own -= z[k] * perState[k];
            return (amplifier.OpenLoopGain(_w, hertz) / (-own * factor)) - 1;
        };
    }

    /// <summary>A frequency at which a condition changes between two that differ in it, to twelve digits.</summary>
    private static double Bisect(double low, double high, Func<double, bool> condition)
    {
        bool atLow = condition(low);
        for (int k = 0; k < 60 && high / low > 1 + 1e-12; k++)
        {
            double middle = Math.Sqrt(low * high);
            if (condition(middle) == atLow)
                low = middle;
            else
                high = middle;
        }

        return Math.Sqrt(low * high);
    }
}
