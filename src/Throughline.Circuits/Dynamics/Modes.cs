using System.Collections.Immutable;
using System.Numerics;

namespace Throughline.Circuits;

/// <summary>The free motion of a linear network: P δ̇ = −δ, in Schur form with the slowest decay first.</summary>
internal sealed class Modes
{
    private readonly Complex[,] _t;
    private readonly Complex[,] _q;
    private readonly Complex[,] _inverse;
    private readonly Complex[,]?[] _couplings;
    private readonly int _n;
    private volatile Propagator? _last;

    public Modes(double[,] p, double[] scale, double[][] adjoints, double instantShare)
    {
        _n = p.GetLength(0);
        _couplings = new Complex[,]?[_n + 1];
        Adjoints = adjoints;
        Scale = scale;
        var schur = new ComplexSchur(p);
        double slowest = 0;
        for (int k = 0; k < _n; k++)
            slowest = Math.Max(slowest, Complex.Abs(schur.T[k, k]));
        double DecayRate(Complex time) => Complex.Abs(time) <= instantShare * slowest ? double.PositiveInfinity : (1 / time).Real;
        schur.Order(DecayRate);
        _t = schur.T;
        _q = schur.Q;
        Rates = new double[_n];
        Frequencies = new double[_n];
        for (int k = 0; k < _n; k++)
        {
            Rates[k] = DecayRate(_t[k, k]);
            if (!double.IsFinite(Rates[k]))
                continue;
            FiniteCount = k + 1;
            Frequencies[k] = Math.Abs((1 / _t[k, k]).Imaginary);
        }

        _inverse = InvertLeading(FiniteCount);
        Poles = [.. Enumerable.Range(0, FiniteCount).Select(k => -1 / _t[k, k])];
    }

    public ImmutableArray<Complex> Poles { get; }

    /// <summary>Adjoint of every state.</summary>
    public double[][] Adjoints { get; }

    /// <summary>A state is its scale times its value here.</summary>
    public double[] Scale { get; }

    /// <summary>Decay rates, 1/s, ascending; +∞ for states that follow at once.</summary>
    public double[] Rates { get; }

    /// <summary>Angular frequencies, rad/s.</summary>
    public double[] Frequencies { get; }

    public int FiniteCount { get; }

    /// <summary>
    /// Number of modes that must be followed to a time: those that are not spent (e⁻⁴⁵ is 3e-20) and those that are too near to one of them to be parted from it.
    /// </summary>
    public int ActiveAt(double seconds)
    {
        int active = FiniteCount;
        for (int k = FiniteCount - 1; k >= 0 && Rates[k] * seconds > 45; k--)
        {
            if (k == 0 || Rates[k] >= 1.2 * Rates[k - 1])
                active = k;
        }

        return active;
    }

    /// <summary>Σ weight × dδ/dt at a time after δ began at <paramref name="start"/>, instants and spent modes left out.</summary>
    public double Derivative(double[] start, double[] weight, double seconds)
    {
        int active = ActiveAt(seconds);
        if (active == 0)
            return 0;
        var eta = new Complex[_n];
        for (int k = 0; k < _n; k++)
        {
            for (int i = 0; i < _n; i++)
                eta[k] += Complex.Conjugate(_q[i, k]) * start[i];
        }

        // What is spent has left the rest where it would have begun without it.
        Complex[,] coupling = Coupling(active);
        var x = new Complex[active];
        for (int k = 0; k < active; k++)
        {
            x[k] = eta[k];
            for (int j = active; j < _n; j++)
                x[k] -= coupling[k, j - active] * eta[j];
        }

        Propagate(x, active, seconds);
        double sum = 0;
        for (int i = 0; i < _n; i++)
        {
            Complex rate = Complex.Zero;
            for (int k = 0; k < active; k++)
            {
                Complex derivative = Complex.Zero;
                for (int j = k; j < active; j++)
                    derivative -= _inverse[k, j] * x[j];
                rate += _q[i, k] * derivative;
            }

            sum += weight[i] * rate.Real;
        }

        return sum;
    }

    /// <summary>X with T₁₁ X − X T₂₂ = −T₁₂: η₁ − X η₂ moves by T₁₁ alone.</summary>
    private Complex[,] Coupling(int active)
    {
        if (_couplings[active] is { } known)
            return known;
        int rest = _n - active;
        var x = new Complex[active, rest];
        for (int column = 0; column < rest; column++)
        {
            for (int row = active - 1; row >= 0; row--)
            {
                Complex sum = -_t[row, active + column];
                for (int k = 0; k < column; k++)
                    sum += x[row, k] * _t[active + k, active + column];
                for (int k = row + 1; k < active; k++)
                    sum -= _t[row, k] * x[k, column];
                x[row, column] = sum / (_t[row, row] - _t[active + column, active + column]);
            }
        }

        return _couplings[active] = x;
    }

    /// <summary>x := exp(−T⁻¹ t) x.</summary>
    private void Propagate(Complex[] x, int active, double seconds)
    {
        if (seconds == 0)
            return;
        // Readings of one time follow each other: the last exponential is kept, replaced whole so that threads may share it.
        Propagator? last = _last;
        if (last is null || last.Seconds != seconds || last.Active != active)
            _last = last = new Propagator(seconds, active, Exponential(active, seconds));
        for (int k = 0; k < active; k++)
        {
            Complex sum = Complex.Zero;
            for (int j = k; j < active; j++)
                sum += last.Matrix[k, j] * x[j];
            x[k] = sum;
        }
    }

    /// <summary>exp(−T⁻¹ t) of the leading block: Taylor's series of a share of the time in which T⁻¹ t is at most ½, then squared. Triangular throughout.</summary>
    private Complex[,] Exponential(int n, double seconds)
    {
        double norm = 0;
        for (int k = 0; k < n; k++)
        {
            double row = 0;
            for (int j = k; j < n; j++)
                row += Complex.Abs(_inverse[k, j]);
            norm = Math.Max(norm, row);
        }

        int squarings = Math.Max(0, Math.ILogB(norm * seconds) + 2);
        double share = Math.ScaleB(seconds, -squarings);
        var sum = new Complex[n, n];
        var term = new Complex[n, n];
        for (int k = 0; k < n; k++)
            sum[k, k] = term[k, k] = 1;
        // ½¹⁵/15! is 2e-17.
        for (int order = 1; order <= 15; order++)
        {
            term = Multiply(term, _inverse, n);
            for (int k = 0; k < n; k++)
            {
                for (int j = k; j < n; j++)
                {
                    term[k, j] *= -share / order;
                    sum[k, j] += term[k, j];
                }
            }
        }

        for (int k = 0; k < squarings; k++)
            sum = Multiply(sum, sum, n);
        return sum;
    }

    private static Complex[,] Multiply(Complex[,] a, Complex[,] b, int n)
    {
        var product = new Complex[n, n];
        for (int i = 0; i < n; i++)
        {
            for (int k = i; k < n; k++)
            {
                Complex factor = a[i, k];
                for (int j = k; j < n; j++)
                    product[i, j] += factor * b[k, j];
            }
        }

        return product;
    }

    private Complex[,] InvertLeading(int n)
    {
        var inverse = new Complex[n, n];
        for (int column = 0; column < n; column++)
        {
            for (int row = column; row >= 0; row--)
            {
                Complex sum = row == column ? Complex.One : Complex.Zero;
                for (int k = row + 1; k <= column; k++)
                    sum -= _t[row, k] * inverse[k, column];
                inverse[row, column] = sum / _t[row, row];
            }
        }

        return inverse;
    }

    private sealed record Propagator(double Seconds, int Active, Complex[,] Matrix);
}
