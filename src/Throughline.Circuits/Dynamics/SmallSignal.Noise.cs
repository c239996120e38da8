using System.Collections.Immutable;
using System.Numerics;

namespace Throughline.Circuits;

/// <summary>One source's share of a noise.</summary>
/// <param name="Element">The element that makes it.</param>
/// <param name="Kind">What it is, in the trade's words.</param>
/// <param name="Value">V/√Hz or A/√Hz in a density, V or A in a total, root mean square.</param>
public sealed record NoiseContribution(ElementId Element, string Kind, double Value);

/// <summary>A noise and the shares that add to it by their squares, greatest first.</summary>
public sealed record NoiseReading(double Value, ImmutableArray<NoiseContribution> Contributions);

public sealed partial class SmallSignal
{
    // Gauss and Kronrod, 7 and 15 points: QUADPACK (Piessens et al., Springer 1983), from memory; a test integrates powers with it.
    private static readonly double[] KronrodNodes =
        [0.991455371120812639206854697526329, 0.949107912342758524526189684047851, 0.864864423359769072789712788640926, 0.741531185599394439863864773280788, 0.586087235467691130294144691693013, 0.405845151377397166906606412076961, 0.207784955007898467600689403773245, 0.0];

    private static readonly double[] KronrodWeights =
        [0.022935322010529224963732008058970, 0.063092092629978553290700663189204, 0.104790010322250183839876322541518, 0.140653259715525918745189590510238, 0.169004726639267902826583426598550, 0.190350578064785409913256402421014, 0.204432940075298892414161999234649, 0.209482141084727828012999174891714];

    private static readonly double[] GaussWeights =
        [0, 0.129484966168869693270611432679082, 0, 0.279705391489276667901467771423780, 0, 0.381830050505118944950369775488975, 0, 0.417959183673469387755102040816327];

    private NoiseSweep? _noiseSweep;

    /// <summary>Spectral density of a reading's noise, one-sided, V/√Hz or A/√Hz.</summary>
    /// <param name="probe">The reading.</param>
    /// <param name="hertz">Frequency, above 0.</param>
    /// <exception cref="ArgumentOutOfRangeException">The frequency is not above 0.</exception>
    public NoiseReading NoiseDensity(Probe probe, double hertz)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(hertz);
        var densities = new double[_noise.Count];
        _noiseSweep = null;
        Densities(probe, hertz, densities);
        return Rank(densities);
    }

    /// <summary>Noise of a reading over a band, root mean square.</summary>
    /// <param name="probe">The reading.</param>
    /// <param name="fromHertz">Lower end of the band, above 0: what is slower counts as drift.</param>
    /// <param name="toHertz">Upper end.</param>
    /// <param name="averagingSeconds">Length of a window that a converter averages over: weights the density with (sin πfT / πfT)². 0 is none.</param>
    /// <param name="relativeTolerance">Of the noise's square; the integral stops where the two rules agree to it.</param>
    /// <remarks>Integrated over the logarithm of frequency with the 15-point rule of Gauss and Kronrod, halved until the two rules agree.</remarks>
    public NoiseReading Noise(Probe probe, double fromHertz, double toHertz, double averagingSeconds = 0, double relativeTolerance = 1e-10)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(fromHertz);
        ArgumentOutOfRangeException.ThrowIfLessThan(toHertz, fromHertz);
        _noiseSweep = CreateNoiseSweep(probe);
        var total = new double[_noise.Count];
        double from = Math.Log(fromHertz);
        double to = Math.Log(toHertz);
        // Half a decade at a time to begin with, so that a narrow resonance is not stepped over; a coarse answer makes do with a decade.
        double width = (relativeTolerance > 1e-6 ? 1 : 0.5) * Math.Log(10);
        int pieces = Math.Max(1, (int)Math.Ceiling((to - from) / width));
        var errors = new double[pieces];
        var coarse = new double[pieces][];
        double scale = 0;
        for (int k = 0; k < pieces; k++)
        {
            coarse[k] = new double[_noise.Count];
            Quadrature(probe, from + ((to - from) * k / pieces), from + ((to - from) * (k + 1) / pieces), averagingSeconds, coarse[k], out errors[k]);
            scale += coarse[k].Sum();
        }

        double tolerance = relativeTolerance * scale / pieces;
        for (int k = 0; k < pieces; k++)
        {
            if (errors[k] > tolerance)
            {
                Integrate(probe, from + ((to - from) * k / pieces), from + ((to - from) * (k + 1) / pieces), averagingSeconds, tolerance, 0, total);
                continue;
            }

            for (int source = 0; source < total.Length; source++)
                total[source] += coarse[k][source];
        }

        return Rank(total);
    }

    private void Integrate(Probe probe, double from, double to, double averagingSeconds, double tolerance, int depth, double[] total)
    {
        var sum = new double[_noise.Count];
        Quadrature(probe, from, to, averagingSeconds, sum, out double error);
        if (error <= tolerance || depth >= 14)
        {
            for (int k = 0; k < total.Length; k++)
                total[k] += sum[k];
            return;
        }

        double middle = 0.5 * (from + to);
        Integrate(probe, from, middle, averagingSeconds, 0.5 * tolerance, depth + 1, total);
        Integrate(probe, middle, to, averagingSeconds, 0.5 * tolerance, depth + 1, total);
    }

    private void Quadrature(Probe probe, double from, double to, double averagingSeconds, double[] sum, out double error)
    {
        double half = 0.5 * (to - from);
        double middle = 0.5 * (to + from);
        double difference = 0;
        var densities = new double[_noise.Count];
        for (int node = 0; node < KronrodNodes.Length; node++)
        {
            foreach (double side in (ReadOnlySpan<double>)(KronrodNodes[node] == 0 ? [1.0] : [-1.0, 1.0]))
            {
                double hertz = Math.Exp(middle + (side * half * KronrodNodes[node]));
                Densities(probe, hertz, densities);
                double window = MovingAverage.Gain(hertz, averagingSeconds);
                double factor = half * hertz * window * window;
                double all = 0;
                for (int k = 0; k < densities.Length; k++)
                {
                    double value = densities[k] * factor;
                    sum[k] += KronrodWeights[node] * value;
                    all += value;
                }

                difference += (KronrodWeights[node] - GaussWeights[node]) * all;
            }
        }

        error = Math.Abs(difference);
    }

    /// <summary>Power densities of every source at the reading, V²/Hz or A²/Hz.</summary>
    private void Densities(Probe probe, double hertz, double[] densities)
    {
        if (_noiseSweep is { } sweep)
        {
            Densities(sweep, hertz, densities);
            return;
        }

        SolveAdjoint(probe, hertz);
        for (int k = 0; k < _noise.Count; k++)
        {
            NoiseSource source = _noise[k];
            Complex transfer = Complex.Zero;
            foreach ((int unknown, double weight) in source.Equations)
                transfer += weight * _adjoint[unknown];
            densities[k] = source.At(hertz) * ((transfer.Real * transfer.Real) + (transfer.Imaginary * transfer.Imaginary));
        }
    }

    private void Densities(NoiseSweep sweep, double hertz, double[] densities)
    {
        ReadOnlySpan<Complex> z = sweep.Sweep.At(hertz);
        for (int k = 0; k < _noise.Count; k++)
        {
            Complex transfer = sweep.AtZero[k];
            double[] perState = sweep.PerState[k];
            for (int state = 0; state < perState.Length; state++)
                transfer -= z[state] * perState[state];
            densities[k] = _noise[k].At(hertz) * ((transfer.Real * transfer.Real) + (transfer.Imaginary * transfer.Imaginary));
        }
    }

    /// <summary>The transfers of every noise source at direct current and their change per state, for integrals; null for a capacitor's current,
    /// whose gradient grows with frequency.</summary>
    private NoiseSweep? CreateNoiseSweep(Probe probe)
    {
        if (probe.IsCurrent && _network[probe.Element] is Capacitor)
            return null;
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

        FrequencySweep sweep = Sweep(gradient, out double[] atZero);
        double[][] adjoints = GetModes().Adjoints;
        return new NoiseSweep(
            sweep,
            [.. _noise.Select(source => Sum(source, atZero))],
            [.. _noise.Select(source => adjoints.Select(adjoint => Sum(source, adjoint)).ToArray())]);

        static double Sum(NoiseSource source, double[] adjoint)
        {
            double sum = 0;
            foreach ((int unknown, double weight) in source.Equations)
                sum += weight * adjoint[unknown];
            return sum;
        }
    }

    private sealed record NoiseSweep(FrequencySweep Sweep, double[] AtZero, double[][] PerState);

    private NoiseReading Rank(double[] squares)
    {
        var contributions = ImmutableArray.CreateBuilder<NoiseContribution>();
        for (int k = 0; k < squares.Length; k++)
            contributions.Add(new NoiseContribution(new ElementId(_noise[k].Element), _noise[k].Kind, Math.Sqrt(squares[k])));
        return new NoiseReading(Math.Sqrt(squares.Sum()), [.. contributions.OrderByDescending(static contribution => contribution.Value)]);
    }
}
