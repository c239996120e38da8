namespace Throughline.Analysis;

/// <summary>Dense matrices of the size of an adjustment: as many rows as trimmers.</summary>
internal static class SmallMatrix
{
    /// <summary>The inverse by Gauss–Jordan with row exchange; null when singular to working precision.</summary>
    public static double[,]? Invert(double[,] matrix)
    {
        int n = matrix.GetLength(0);
        double[,] a = (double[,])matrix.Clone();
        double[,] inverse = new double[n, n];
        double largest = 0;
        for (int i = 0; i < n; i++)
        {
            inverse[i, i] = 1;
            for (int j = 0; j < n; j++)
            {
                largest = Math.Max(largest, Math.Abs(a[i, j]));
            }
        }

        for (int column = 0; column < n; column++)
        {
            int pivot = column;
            for (int row = column + 1; row < n; row++)
            {
                if (Math.Abs(a[row, column]) > Math.Abs(a[pivot, column]))
                {
                    pivot = row;
                }
            }

            if (!(Math.Abs(a[pivot, column]) > 1e-12 * largest))
            {
                return null;
            }

            for (int j = 0; j < n; j++)
            {
                (a[column, j], a[pivot, j]) = (a[pivot, j], a[column, j]);
                (inverse[column, j], inverse[pivot, j]) = (inverse[pivot, j], inverse[column, j]);
            }

            double scale = 1 / a[column, column];
            for (int j = 0; j < n; j++)
            {
                a[column, j] *= scale;
                inverse[column, j] *= scale;
            }

            for (int row = 0; row < n; row++)
            {
                double factor = a[row, column];
                if (row == column || factor == 0)
                {
                    continue;
                }

                for (int j = 0; j < n; j++)
                {
                    a[row, j] -= factor * a[column, j];
                    inverse[row, j] -= factor * inverse[column, j];
                }
            }
        }

        return inverse;
    }
}
