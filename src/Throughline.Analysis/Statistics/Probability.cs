using System.Runtime.CompilerServices;

namespace Throughline.Analysis;

internal static class Probability
{
    /// <exception cref="ArgumentOutOfRangeException">Not strictly between 0 and 1, or NaN.</exception>
    public static void Check(double p, [CallerArgumentExpression(nameof(p))] string? name = null)
    {
        if (p is not (> 0 and < 1))
        {
            throw new ArgumentOutOfRangeException(name, p, "A probability here is between 0 and 1, both excluded.");
        }
    }
}
