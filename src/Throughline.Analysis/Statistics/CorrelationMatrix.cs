namespace Throughline.Analysis;

/// <summary>How the inputs of a measurement go together: coefficients from −1 to 1, symmetric, 1 on the diagonal. Immutable.</summary>
public sealed class CorrelationMatrix
{
    private readonly double[,] _r;

    private CorrelationMatrix(double[,] r) => _r = r;

    public int Size => _r.GetLength(0);

    /// <summary>The coefficient of two inputs.</summary>
    public double this[int i, int j] => _r[i, j];

    /// <summary>Whether no input goes with another.</summary>
    public bool IsIdentity => !HasPartners(-1);

    /// <summary>No input goes with another.</summary>
    public static CorrelationMatrix Independent(int size)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(size);
        double[,] r = new double[size, size];
        for (int i = 0; i < size; i++)
        {
            r[i, i] = 1;
        }

        return new(r);
    }

    /// <summary>A copy in which two different inputs have this coefficient.</summary>
    /// <param name="coefficient">−1 to 1.</param>
    public CorrelationMatrix With(int i, int j, double coefficient)
    {
        ArgumentOutOfRangeException.ThrowIfEqual(i, j);
        if (coefficient is not (>= -1 and <= 1))
        {
            throw new ArgumentOutOfRangeException(nameof(coefficient), coefficient, "A correlation coefficient is −1 to 1.");
        }

        double[,] r = (double[,])_r.Clone();
        r[i, j] = r[j, i] = coefficient;
        return new(r);
    }

    /// <summary>The correlation of the means of quantities that were read together (JCGM 100:2008, 5.2.3 and H.2).</summary>
    /// <param name="readings">For each quantity the same number of readings, at least two, in the order they were taken.</param>
    public static CorrelationMatrix OfReadings(IReadOnlyList<IReadOnlyList<double>> readings)
    {
        CorrelationMatrix matrix = Independent(readings.Count);
        for (int i = 0; i < readings.Count; i++)
        {
            for (int j = 0; j < i; j++)
            {
                if (readings[i].Count != readings[j].Count || readings[i].Count < 2)
                {
                    throw new ArgumentException("Readings taken together are equally many, at least two.", nameof(readings));
                }

                double a = readings[i].Average(), b = readings[j].Average();
                double product = readings[i].Zip(readings[j], (x, y) => (x - a) * (y - b)).Sum();
                double squares = readings[i].Sum(x => (x - a) * (x - a)) * readings[j].Sum(y => (y - b) * (y - b));
                matrix = matrix.With(i, j, squares > 0 ? Math.Clamp(product / Math.Sqrt(squares), -1, 1) : 0);
            }
        }

        return matrix;
    }

    /// <summary>Whether an input goes with any other; −1 asks for all.</summary>
    internal bool HasPartners(int input)
    {
        for (int i = 0; i < Size; i++)
        {
            for (int j = 0; j < Size; j++)
            {
                if (i != j && _r[i, j] != 0 && (input < 0 || input == i))
                {
                    return true;
                }
            }
        }

        return false;
    }

    /// <summary>The lower triangle L with L Lᵀ = R. Fully correlated inputs are allowed: the column of one is then 0.</summary>
    /// <exception cref="ArgumentException">No inputs can have these coefficients together.</exception>
    internal double[,] Factor()
    {
        int n = Size;
        double[,] l = new double[n, n];
        for (int j = 0; j < n; j++)
        {
            double pivot = _r[j, j];
            for (int k = 0; k < j; k++)
            {
                pivot -= l[j, k] * l[j, k];
            }

            if (pivot < -1e-9)
            {
                throw new ArgumentException("The correlation coefficients contradict each other: their matrix is not positive semidefinite.");
            }

            l[j, j] = pivot > 1e-12 ? Math.Sqrt(pivot) : 0;
            for (int i = j + 1; i < n; i++)
            {
                double sum = _r[i, j];
                for (int k = 0; k < j; k++)
                {
                    sum -= l[i, k] * l[j, k];
                }

                if (l[j, j] > 0)
                {
                    l[i, j] = sum / l[j, j];
                }
                else if (Math.Abs(sum) > 1e-6)
                {
                    throw new ArgumentException("The correlation coefficients contradict each other: their matrix is not positive semidefinite.");
                }
            }
        }

        return l;
    }
}
