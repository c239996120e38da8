using System.Collections.Immutable;

namespace Throughline.Instruments.Physics;

/// <summary>
/// A curve through points, straight between neighbours: what a designer's table says and what a small processor does with it. No curve is guessed
/// between the points. Immutable.
/// </summary>
public sealed class PiecewiseLinear
{
    private readonly ImmutableArray<double> _x;
    private readonly ImmutableArray<double> _y;

    /// <param name="points">Two or more, in any order, no two with the same x; finite.</param>
    /// <exception cref="ArgumentException">Fewer than two points, an x twice, or a number that is not finite.</exception>
    public PiecewiseLinear(IEnumerable<(double X, double Y)> points)
    {
        (double X, double Y)[] sorted = [.. points.OrderBy(p => p.X)];
        if (sorted.Length < 2 || sorted.Any(p => !double.IsFinite(p.X + p.Y)) || sorted.Zip(sorted.Skip(1)).Any(p => p.First.X == p.Second.X))
        {
            throw new ArgumentException("A table has two or more finite points with different first values.", nameof(points));
        }

        _x = [.. sorted.Select(p => p.X)];
        _y = [.. sorted.Select(p => p.Y)];
        int rises = 0, falls = 0;
        for (int i = 1; i < _y.Length; i++)
        {
            rises += _y[i] > _y[i - 1] ? 1 : 0;
            falls += _y[i] < _y[i - 1] ? 1 : 0;
        }

        Direction = rises == _y.Length - 1 ? 1 : falls == _y.Length - 1 ? -1 : 0;
    }

    /// <summary>1 when y rises all along, −1 when it falls all along, 0 otherwise: then it has no inverse.</summary>
    public int Direction { get; }

    /// <summary>Ends of the table.</summary>
    public double LowestX => _x[0];

    public double HighestX => _x[^1];

    /// <summary>y at x; NaN outside the table.</summary>
    public double Y(double x) => x >= LowestX && x <= HighestX ? At(_x, _y, x, 1) : double.NaN;

    /// <summary>y at x, the end pieces held on straight beyond the table's ends.</summary>
    public double Extended(double x) => At(_x, _y, x, 1);

    /// <summary>x at y; NaN outside the table's values and for a curve without a <see cref="Direction"/>.</summary>
    public double X(double y)
    {
        double low = Math.Min(_y[0], _y[^1]), high = Math.Max(_y[0], _y[^1]);
        return Direction != 0 && y >= low && y <= high ? At(_y, _x, y, Direction) : double.NaN;
    }

    /// <summary>x at y, the end pieces held on straight beyond the table's ends; NaN for a curve without a <see cref="Direction"/>.</summary>
    public double ExtendedX(double y) => Direction != 0 ? At(_y, _x, y, Direction) : double.NaN;

    private static double At(ImmutableArray<double> from, ImmutableArray<double> to, double value, int direction)
    {
        int low = 0, high = from.Length - 1;
        while (high - low > 1)
        {
            int middle = (low + high) / 2;
            if ((value - from[middle]) * direction >= 0)
            {
                low = middle;
            }
            else
            {
                high = middle;
            }
        }

        // From the nearer end, so that a point of the table gives its value to the last bit.
        double part = (value - from[low]) / (from[high] - from[low]);
        return part <= 0.5 ? to[low] + part * (to[high] - to[low]) : to[high] + (value - from[high]) / (from[high] - from[low]) * (to[high] - to[low]);
    }
}
