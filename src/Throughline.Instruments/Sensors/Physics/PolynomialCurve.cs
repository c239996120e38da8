using System.Collections.Immutable;

namespace Throughline.Instruments.Physics;

/// <summary>y = c₀ + c₁ x + c₂ x² + …, with its inverse over a range in which it only rises or only falls. Immutable.</summary>
public sealed class PolynomialCurve
{
    private readonly ImmutableArray<double> _coefficients;

    /// <param name="coefficients">From c₀ on; finite, at least one.</param>
    /// <param name="low">Start of the range in which it is used.</param>
    /// <param name="high">End of it; more than <paramref name="low"/>.</param>
    /// <exception cref="ArgumentException">No coefficients, one that is not finite, or an empty range.</exception>
    public PolynomialCurve(IEnumerable<double> coefficients, double low, double high)
    {
        _coefficients = [.. coefficients];
        if (_coefficients.Length == 0 || _coefficients.Any(c => !double.IsFinite(c)) || !(low < high))
        {
            throw new ArgumentException("A polynomial has finite coefficients and a range.", nameof(coefficients));
        }

        (Low, High) = (low, high);
        Direction = FindDirection();
    }

    public double Low { get; }

    public double High { get; }

    /// <summary>1 when y rises over the whole range, −1 when it falls, 0 otherwise: then it has no inverse.</summary>
    public int Direction { get; }

    /// <summary>y at any finite x, by Horner's scheme.</summary>
    public double Y(double x)
    {
        double sum = 0;
        for (int i = _coefficients.Length - 1; i >= 0; i--)
        {
            sum = sum * x + _coefficients[i];
        }

        return sum;
    }

    /// <summary>dy/dx.</summary>
    public double Slope(double x)
    {
        double sum = 0;
        for (int i = _coefficients.Length - 1; i >= 1; i--)
        {
            sum = sum * x + i * _coefficients[i];
        }

        return sum;
    }

    /// <summary>The x in the range that gives y, by Newton's method inside a bracket; NaN when none does or without a <see cref="Direction"/>.</summary>
    public double X(double y)
    {
        double yLow = Y(Low), yHigh = Y(High);
        if (Direction == 0 || !(y >= Math.Min(yLow, yHigh) && y <= Math.Max(yLow, yHigh)))
        {
            return double.NaN;
        }

        double low = Low, high = High, x = Low + (y - yLow) / (yHigh - yLow) * (High - Low);
        for (int i = 0; i < 200; i++)
        {
            double miss = Y(x) - y;
            if (miss * Direction > 0)
            {
                high = x;
            }
            else
            {
                low = x;
            }

            double next = x - miss / Slope(x);
            if (!(next >= low && next <= high))
            {
                next = low + (high - low) / 2;
            }

            double step = next - x;
            x = next;
            if (Math.Abs(step) <= 1e-15 * Math.Max(Math.Abs(x), 1e-3 * (High - Low)))
            {
                break;
            }
        }

        return x;
    }

    /// <summary>y in the range, and on the end's tangent beyond it.</summary>
    public double Extended(double x)
    {
        double inside = Math.Clamp(x, Low, High);
        return Y(inside) + Slope(inside) * (x - inside);
    }

    /// <summary>The x of <see cref="Extended"/>; NaN without a <see cref="Direction"/>, or beyond an end where the curve is level.</summary>
    public double ExtendedX(double y)
    {
        double yLow = Y(Low), yHigh = Y(High);
        return (y - yLow) * Direction < 0 ? Beyond(Low, yLow) : (y - yHigh) * Direction > 0 ? Beyond(High, yHigh) : X(y);

        double Beyond(double end, double yEnd) => Slope(end) != 0 ? end + (y - yEnd) / Slope(end) : double.NaN;
    }

    // The slope keeps its sign over the range when Bernstein's coefficients of the derivative do on every piece of a bisection; a piece whose
    // coefficients have both signs is halved until it is decided or too narrow to matter.
    private int FindDirection()
    {
        double[] derivative = [.. _coefficients.Skip(1).Select((c, i) => c * (i + 1))];
        if (derivative.Length == 0)
        {
            return 0;
        }

        double[] bernstein = ToBernstein(derivative);
        int sign = Math.Sign(bernstein[0] != 0 ? bernstein[0] : bernstein[^1]);
        return sign != 0 && KeepsSign(bernstein, sign, 0) ? sign : 0;
    }

    private double[] ToBernstein(double[] power)
    {
        // Shift and scale to s in 0..1, x = low + s (high − low), then power basis to Bernstein basis.
        int n = power.Length - 1;
        double width = High - Low;
        double[] shifted = new double[n + 1];
        for (int k = 0; k <= n; k++)
        {
            double sum = 0, factor = 1;
            for (int i = k; i <= n; i++)
            {
                sum += power[i] * factor;
                factor *= Low * (i + 1) / (i + 1 - k);
            }

            shifted[k] = sum * Math.Pow(width, k);
        }

        double[] result = new double[n + 1];
        for (int j = 0; j <= n; j++)
        {
            double weight = 1, sum = 0;
            for (int i = 0; i <= j; i++)
            {
                sum += weight * shifted[i];
                weight *= (double)(j - i) / (n - i);
            }

            result[j] = sum;
        }

        return result;
    }

    private static bool KeepsSign(double[] b, int sign, int depth)
    {
        if (b.All(v => v * sign >= 0))
        {
            return b.Any(v => v != 0);
        }

        if (b[0] * sign < 0 || b[^1] * sign < 0 || depth == 24)
        {
            return false;
        }

        double[] left = new double[b.Length], right = [.. b];
        for (int k = 0; k < b.Length; k++)
        {
            left[k] = right[0];
            for (int i = 0; i < b.Length - 1 - k; i++)
            {
                right[i] = (right[i] + right[i + 1]) / 2;
            }
        }

        // De Casteljau's scheme leaves the right half's coefficients in place.
        return KeepsSign(left, sign, depth + 1) && KeepsSign(right, sign, depth + 1);
    }
}
