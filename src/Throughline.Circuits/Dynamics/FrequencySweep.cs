using System.Numerics;

namespace Throughline.Circuits;

/// <summary>
/// Adjoints of one reading at many frequencies. The capacitors, inductors and lags are few beside the nodes, so their effect is a correction of low rank on
/// the factors at direct current: a system as large as their number is solved at each frequency instead of one as large as the network.
/// </summary>
/// <remarks>
/// (Jᵀ + jω W D Uᵀ) λ = g with λ₀ = J⁻ᵀ g, A = J⁻ᵀ W and P = Uᵀ-products of A gives (I + jω Pᵀ) z = D Uᵀ λ₀ and λ = λ₀ − jω A z (Sherman, Morrison and
/// Woodbury; Golub and Van Loan, Matrix Computations, 2.1.4). Far above every corner λ is a small difference of larger terms: the relative error is some
/// 1e-15 over the attenuation, enough for noise and margins but not for an attenuation of 200 dB, which the full solve answers.
/// </remarks>
internal sealed class FrequencySweep
{
    private readonly int _n;
    private readonly double[,] _p;
    private readonly double[] _start;
    private readonly Complex[,] _matrix;
    private readonly Complex[] _z;

    /// <param name="p">Product of every state's adjoint (row) with every storage (column), s.</param>
    /// <param name="start">Product of the reading's adjoint at direct current with every storage.</param>
    public FrequencySweep(double[,] p, double[] start)
    {
        _n = start.Length;
        _p = p;
        _start = start;
        _matrix = new Complex[_n, _n];
        _z = new Complex[_n];
    }

    /// <summary>jω z of the remarks at a frequency: what each state's adjoint is to be subtracted with. Overwritten by the next call.</summary>
    public ReadOnlySpan<Complex> At(double hertz)
    {
        Complex jOmega = new(0, 2 * Math.PI * hertz);
        for (int row = 0; row < _n; row++)
        {
            for (int column = 0; column < _n; column++)
                _matrix[row, column] = (jOmega * _p[column, row]) + (row == column ? 1 : 0);
            _z[row] = _start[row];
        }

        Solve();
        for (int k = 0; k < _n; k++)
            _z[k] *= jOmega;
        return _z;
    }

    /// <summary>Gauss with row exchange.</summary>
    private void Solve()
    {
        for (int column = 0; column < _n; column++)
        {
            int pivot = column;
            for (int row = column + 1; row < _n; row++)
            {
                if (Size(_matrix[row, column]) > Size(_matrix[pivot, column]))
                    pivot = row;
            }

            if (pivot != column)
            {
                for (int k = column; k < _n; k++)
                    (_matrix[column, k], _matrix[pivot, k]) = (_matrix[pivot, k], _matrix[column, k]);
                (_z[column], _z[pivot]) = (_z[pivot], _z[column]);
            }

            Complex inverse = 1 / _matrix[column, column];
            for (int row = column + 1; row < _n; row++)
            {
                Complex factor = _matrix[row, column];
                if (factor == Complex.Zero)
                    continue;
                factor *= inverse;
                for (int k = column + 1; k < _n; k++)
                    _matrix[row, k] -= factor * _matrix[column, k];
                _z[row] -= factor * _z[column];
            }
        }

        for (int row = _n - 1; row >= 0; row--)
        {
            Complex sum = _z[row];
            for (int k = row + 1; k < _n; k++)
                sum -= _matrix[row, k] * _z[k];
            _z[row] = sum / _matrix[row, row];
        }
    }

    private static double Size(Complex value) => Math.Abs(value.Real) + Math.Abs(value.Imaginary);
}
