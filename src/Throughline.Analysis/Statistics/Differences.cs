namespace Throughline.Analysis;

/// <summary>Derivatives of a measurement model by central differences.</summary>
internal static class Differences
{
    /// <summary>∂f/∂xᵢ from steps h and h/2, extrapolated: error of the order h⁴.</summary>
    /// <param name="x">Where; unchanged on return.</param>
    /// <param name="h">Step; 0 takes one that suits the size of the input.</param>
    public static double First(MeasurementModel model, double[] x, int i, double h)
    {
        h = h > 0 ? h : 1e-4 * (x[i] != 0 ? Math.Abs(x[i]) : 1);
        double wide = (At(model, x, i, h) - At(model, x, i, -h)) / (2 * h);
        double narrow = (At(model, x, i, h / 2) - At(model, x, i, -h / 2)) / h;
        return (4 * narrow - wide) / 3;
    }

    /// <summary>fᵢⱼ uᵢ uⱼ and fᵢⱼⱼ uᵢ uⱼ² from steps of u/8: a step of u would add the next order, 0.5 % in JCGM 101:2008, 9.3.</summary>
    public static (double Mixed, double Third) Higher(MeasurementModel model, double[] x, int i, int j, double ui, double uj)
    {
        const double part = 8;
        if (ui == 0 || uj == 0)
        {
            return (0, 0);
        }

        double hi = ui / part, hj = uj / part;
        if (i == j)
        {
            double up = At(model, x, i, hi), down = At(model, x, i, -hi);
            double third = (At(model, x, i, 2 * hi) - 2 * up + 2 * down - At(model, x, i, -2 * hi)) / 2;
            return ((up - 2 * model(x) + down) * part * part, third * part * part * part);
        }

        double xi = x[i];
        x[i] = xi + hi;
        double pp = At(model, x, j, hj), p0 = model(x), pm = At(model, x, j, -hj);
        x[i] = xi - hi;
        double mp = At(model, x, j, hj), m0 = model(x), mm = At(model, x, j, -hj);
        x[i] = xi;
        return ((pp - pm - mp + mm) / 4 * part * part, (pp - mp - 2 * (p0 - m0) + pm - mm) / 2 * part * part * part);
    }

    private static double At(MeasurementModel model, double[] x, int i, double step)
    {
        double saved = x[i];
        x[i] = saved + step;
        double y = model(x);
        x[i] = saved;
        return y;
    }
}
