using System.Collections.Immutable;
using System.Numerics;

namespace Throughline.Circuits;

/// <summary>The free motion of a linear network: P δ̇ = −δ, in Schur form with the slowest decay first.</summary>
internal sealed class Modes
{
    /// <summary>Of the greater of two times: nearer ones are one mode more than once.</summary>
    private const double LeastApart = 1e-8;

    /// <summary>Of the greater of two times: what one mode has of another of the same time, and is only rounding.</summary>
    private const double Nothing = 1e-11;

    /// <summary>Rounding of a number with what is computed about it.</summary>
    private const double Rounding = 1e-15;

    /// <summary>What the shares of the modes may be wrong by, of their sum.</summary>
    private const double MostWrong = 1e-8;

    private readonly Complex[,] _t;
    private readonly Complex[,] _q;
    private readonly Complex[,] _inverse;
    private readonly Complex[,]?[] _couplings;
    private readonly Lazy<(Complex[,] Vectors, Complex[,] Inverse, double[] Apart)?> _parted;
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
        _parted = new(Part);
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
        Complex[] x = Begin(start, active);
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

    /// <summary>
    /// What every mode has of Σ weight × dδ/dt after δ began at <paramref name="start"/>: the derivative is the real part of Σ share × exp(pole × time), instants left out.
    /// </summary>
    /// <returns>Null where modes are too near to each other to be parted; then <see cref="Derivative"/> says it.</returns>
    public Complex[]? Shares(double[] start, double[] weight)
    {
        int n = FiniteCount;
        if (n == 0 || _parted.Value is not var (vectors, inverse, apart))
            return null;
        Complex[] x = Begin(start, n);
        var shares = new Complex[n];
        double wrong = 0;
        for (int m = 0; m < n; m++)
        {
            Complex seen = Complex.Zero;
            for (int k = 0; k <= m; k++)
            {
                Complex column = Complex.Zero;
                for (int i = 0; i < _n; i++)
                    column += weight[i] * _q[i, k];
                seen += column * vectors[k, m];
            }

            Complex excited = Complex.Zero;
            for (int k = m; k < n; k++)
                excited += inverse[m, k] * x[k];
            shares[m] = Poles[m] * seen * excited;
            wrong += Complex.Abs(shares[m]) * Rounding / apart[m];
        }

        // The nearer two modes are, the more rounding their vectors have; and near modes come out as large shares of opposite signs.
        double sum = Math.Abs(shares.Aggregate(Complex.Zero, (a, b) => a + b).Real);
        return wrong <= MostWrong * sum ? shares : null;
    }

    /// <summary>The finite modes at the beginning, in Schur form. What is spent has left the rest where it would have begun without it.</summary>
    private Complex[] Begin(double[] start, int active)
    {
        var eta = new Complex[_n];
        for (int k = 0; k < _n; k++)
        {
            for (int i = 0; i < _n; i++)
                eta[k] += Complex.Conjugate(_q[i, k]) * start[i];
        }

        Complex[,] coupling = Coupling(active);
        var x = new Complex[active];
        for (int k = 0; k < active; k++)
        {
            x[k] = eta[k];
            for (int j = active; j < _n; j++)
                x[k] -= coupling[k, j - active] * eta[j];
        }

        return x;
    }

    /// <summary>Eigenvectors of the leading block and their inverse, both triangular with ones on the diagonal, and how far each mode's time is from the nearest other, of the greater; null where two poles are nearly the same.</summary>
    private (Complex[,] Vectors, Complex[,] Inverse, double[] Apart)? Part()
    {
        int n = FiniteCount;
        var vectors = new Complex[n, n];
        var nearest = new double[n];
        Array.Fill(nearest, 1);
        for (int m = 0; m < n; m++)
        {
            vectors[m, m] = 1;
            for (int k = m - 1; k >= 0; k--)
            {
                Complex sum = Complex.Zero;
                for (int j = k + 1; j <= m; j++)
                    sum += _t[k, j] * vectors[j, m];
                Complex apart = _t[m, m] - _t[k, k];
                double size = Math.Max(Complex.Abs(_t[m, m]), Complex.Abs(_t[k, k]));
                if (Complex.Abs(apart) <= LeastApart * size)
                {
                    // Two like parts that have nothing to do with each other keep a vector each.
                    if (Complex.Abs(sum) > Nothing * size)
                        return null;
                    continue;
                }

                nearest[m] = Math.Min(nearest[m], Complex.Abs(apart) / size);
                nearest[k] = Math.Min(nearest[k], Complex.Abs(apart) / size);
                vectors[k, m] = sum / apart;
            }
        }

        var inverse = new Complex[n, n];
        for (int m = 0; m < n; m++)
        {
            inverse[m, m] = 1;
            for (int k = m - 1; k >= 0; k--)
            {
                Complex sum = Complex.Zero;
                for (int j = k + 1; j <= m; j++)
                    sum -= vectors[k, j] * inverse[j, m];
                inverse[k, m] = sum;
            }
        }

        return (vectors, inverse, nearest);
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
