using System.Numerics;

namespace Throughline.Circuits;

/// <summary>
/// Schur form A = Q T Qᴴ of a small dense matrix, T upper triangular with its eigenvalues in an asked order. Unlike eigenvectors it exists and is
/// well conditioned for every matrix, repeated eigenvalues included.
/// </summary>
/// <remarks>Golub, Van Loan: Matrix Computations, 4th ed., sections 7.4 to 7.6: Hessenberg form, shifted QR steps, exchange of neighbours. From memory of the method.</remarks>
internal sealed class ComplexSchur
{
    private readonly int _n;

    public ComplexSchur(double[,] matrix)
    {
        _n = matrix.GetLength(0);
        T = new Complex[_n, _n];
        Q = new Complex[_n, _n];
        for (int i = 0; i < _n; i++)
        {
            Q[i, i] = 1;
            for (int j = 0; j < _n; j++)
                T[i, j] = matrix[i, j];
        }

        ReduceToHessenberg();
        Iterate();
    }

    public Complex[,] T { get; }

    public Complex[,] Q { get; }

    /// <summary>Moves the eigenvalues into ascending order of a key.</summary>
    public void Order(Func<Complex, double> key)
    {
        for (int pass = 0; pass < _n; pass++)
        {
            for (int k = 0; k + 1 < _n; k++)
            {
                if (key(T[k, k]) > key(T[k + 1, k + 1]))
                    Exchange(k);
            }
        }
    }

    private void ReduceToHessenberg()
    {
        for (int column = 0; column + 2 < _n; column++)
        {
            for (int row = _n - 1; row > column + 1; row--)
                Annihilate(row - 1, row, column);
        }
    }

    private void Iterate()
    {
        int high = _n - 1;
        int steps = 0;
        while (high > 0)
        {
            int low = high;
            while (low > 0)
            {
                double size = Size(T[low - 1, low - 1]) + Size(T[low, low]);
                if (size == 0)
                    size = Norm();
                if (Size(T[low, low - 1]) <= 1.1e-16 * size)
                {
                    T[low, low - 1] = 0;
                    break;
                }

                low--;
            }

            if (low == high)
            {
                high--;
                steps = 0;
                continue;
            }

            if (++steps > 300)
                throw new InvalidOperationException("The eigenvalues of the network did not converge.");
            Sweep(low, high, steps % 11 == 10 ? new Complex(Size(T[high, high - 1]) + Size(T[high, high]), 0) : Shift(high));
        }

        for (int row = 1; row < _n; row++)
        {
            for (int column = 0; column < row; column++)
                T[row, column] = 0;
        }
    }

    /// <summary>The eigenvalue of the last two by two that is nearer to its corner.</summary>
    private Complex Shift(int high)
    {
        Complex a = T[high - 1, high - 1];
        Complex b = T[high - 1, high];
        Complex c = T[high, high - 1];
        Complex d = T[high, high];
        Complex half = 0.5 * (a - d);
        Complex root = Complex.Sqrt((half * half) + (b * c));
        Complex sum = 0.5 * (a + d);
        return Complex.Abs(sum + root - d) < Complex.Abs(sum - root - d) ? sum + root : sum - root;
    }

    private void Sweep(int low, int high, Complex shift)
    {
        // Implicit single shift: the first rotation comes from the shifted column, the rest chase what it leaves below.
        Rotation(T[low, low] - shift, T[low + 1, low], out double c, out Complex s);
        Apply(low, low + 1, c, s);
        for (int k = low + 1; k < high; k++)
            Annihilate(k, k + 1, k - 1);
    }

    private void Exchange(int k)
    {
        Complex a = T[k, k];
        Complex b = T[k + 1, k + 1];
        // The eigenvector of the second eigenvalue in this two by two becomes the first axis.
        Rotation(T[k, k + 1], b - a, out double c, out Complex s);
        Apply(k, k + 1, c, s);
        T[k, k] = b;
        T[k + 1, k + 1] = a;
        T[k + 1, k] = 0;
    }

    private void Annihilate(int upper, int lower, int column)
    {
        if (T[lower, column] == Complex.Zero)
            return;
        Rotation(T[upper, column], T[lower, column], out double c, out Complex s);
        Apply(upper, lower, c, s);
        T[lower, column] = 0;
    }

    private static void Rotation(Complex f, Complex g, out double c, out Complex s)
    {
        double norm = double.Hypot(Complex.Abs(f), Complex.Abs(g));
        if (norm == 0)
        {
            c = 1;
            s = 0;
            return;
        }

        if (f == Complex.Zero)
        {
            c = 0;
            s = Complex.Conjugate(g) / Complex.Abs(g);
            return;
        }

        c = Complex.Abs(f) / norm;
        s = f / Complex.Abs(f) * Complex.Conjugate(g) / norm;
    }

    /// <summary>T := G T Gᴴ and Q := Q Gᴴ with G = [c s; −s̄ c] in the plane of two axes.</summary>
    private void Apply(int p, int q, double c, Complex s)
    {
        Complex conjugate = Complex.Conjugate(s);
        for (int j = 0; j < _n; j++)
        {
            Complex x = T[p, j];
            Complex y = T[q, j];
            T[p, j] = (c * x) + (s * y);
            T[q, j] = (c * y) - (conjugate * x);
        }

        for (int i = 0; i < _n; i++)
        {
            Complex x = T[i, p];
            Complex y = T[i, q];
            T[i, p] = (c * x) + (conjugate * y);
            T[i, q] = (c * y) - (s * x);
            x = Q[i, p];
            y = Q[i, q];
            Q[i, p] = (c * x) + (conjugate * y);
            Q[i, q] = (c * y) - (s * x);
        }
    }

    private double Norm()
    {
        double norm = 0;
        foreach (Complex value in T)
            norm = Math.Max(norm, Size(value));
        return norm;
    }

    private static double Size(Complex value) => Math.Abs(value.Real) + Math.Abs(value.Imaginary);
}
