namespace Throughline.Analysis;

/// <summary>A strictly monotone piecewise-linear relation, continued straight beyond its ends; what an intent, a scale or a table of constants says.</summary>
public sealed class Line
{
    private readonly double[] _from;
    private readonly double[] _to;

    private Line(double[] from, double[] to)
    {
        _from = from;
        _to = to;
    }

    public ReadOnlySpan<double> From => _from;

    public ReadOnlySpan<double> To => _to;

    public double FirstFrom => _from[0];

    public double LastFrom => _from[^1];

    /// <summary>Makes a line of points in any order; null when fewer than two differ, or when it is not strictly monotone in both directions.</summary>
    public static Line? TryCreate(IEnumerable<(double From, double To)> points)
    {
        (double From, double To)[] sorted = [.. points.OrderBy(p => p.From)];
        if (sorted.Length < 2)
        {
            return null;
        }

        double direction = sorted[^1].To > sorted[0].To ? 1 : -1;
        for (int i = 1; i < sorted.Length; i++)
        {
            double run = sorted[i].From - sorted[i - 1].From;
            double rise = (sorted[i].To - sorted[i - 1].To) * direction;

            // Written so that NaN fails too.
            if (!(run > 0) || !(rise > 0))
            {
                return null;
            }
        }

        return new Line([.. sorted.Select(p => p.From)], [.. sorted.Select(p => p.To)]);
    }

    public double Forward(double value) => Interpolate(_from, _to, value);

    public double Inverse(double value) => Interpolate(_to, _from, value);

    /// <summary>Slope of the straight line between the ends.</summary>
    public double Slope => (_to[^1] - _to[0]) / (_from[^1] - _from[0]);

    private static double Interpolate(double[] x, double[] y, double value)
    {
        bool rising = x[^1] > x[0];
        int i = 1;
        while (i < x.Length - 1 && (rising ? value > x[i] : value < x[i]))
        {
            i++;
        }

        double t = (value - x[i - 1]) / (x[i] - x[i - 1]);
        return y[i - 1] + (t * (y[i] - y[i - 1]));
    }
}
