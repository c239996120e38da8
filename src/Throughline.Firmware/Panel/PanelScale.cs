using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>From a whole number to the digits of a field: (value × factor + added) / divisor, a half away from zero; the point is set between them afterwards.</summary>
/// <param name="Least">Least number of digits that has room in the field; below it dashes are shown.</param>
/// <param name="Most">The greatest.</param>
public readonly record struct PanelScale(PanelSource Source, long Factor, long Added, long Divisor, long Least, long Most)
{
    public long Of(long value) => (long)Rounding.Divide(((Int128)value * Factor) + Added, Divisor, truncates: false);

    /// <summary>The scale of a field.</summary>
    /// <param name="step">What one step of the number is, in the unit that is shown.</param>
    /// <param name="offset">What the number 0 is, in the same unit.</param>
    internal static PanelScale Create(PanelSource source, PanelField field, double step, double offset, long low, long high)
    {
        int places = field.Width - (field.Decimals > 0 ? 1 : 0);
        double unit = Math.Pow(10, field.Decimals);
        (long factor, long added, long divisor) = Fraction(step * unit, offset * unit, low, high);

        // A minus takes a place, unless there is nothing but a zero behind it: that is shown without.
        long least = places - 1 > field.Decimals ? 1 - Power(places - 1) : 0;
        return new PanelScale(source, factor, added, divisor, least, Power(places) - 1);
    }

    /// <summary>Whole numbers for a line: exact ones with a small divisor where there are such, else a power of two as divisor that leaves less than a hundredth of a digit.</summary>
    internal static (long Factor, long Added, long Divisor) Fraction(double slope, double offset, long low, long high)
    {
        foreach (long divisor in Divisors)
        {
            double factor = Math.Round(slope * divisor);
            double added = Math.Round(offset * divisor);
            if (factor != 0 && Math.Abs((slope * divisor) - factor) <= 1e-9 * Math.Abs(factor) && Math.Abs((offset * divisor) - added) <= 1e-7)
            {
                return ((long)factor, (long)added, divisor);
            }
        }

        const double Enough = 0.01;
        double size = Math.Max(1, Math.Max(Math.Abs((double)low), Math.Abs((double)high)));
        long power = 1;
        while (power < 1L << 40 && ((size * Math.Abs((slope * power) - Math.Round(slope * power))) + Math.Abs((offset * power) - Math.Round(offset * power))) / power > Enough)
        {
            power *= 2;
        }

        return ((long)Math.Round(slope * power), (long)Math.Round(offset * power), power);
    }

    /// <summary>Whether 32 bits hold all that comes up for numbers in a range.</summary>
    internal bool FitsNarrow(long low, long high)
    {
        Int128 most = Int128.Max(Int128.Abs(low), Int128.Abs(high));
        return (most * Math.Abs(Factor)) + Math.Abs(Added) + (Divisor / 2) <= int.MaxValue;
    }

    private static readonly ImmutableArray<long> Divisors = [.. Enumerable.Range(1, 64).Select(i => (long)i), 100, 125, 200, 250, 500, 1000, 2000, 5000, 10_000, 100_000, 1_000_000];

    private static long Power(int exponent)
    {
        long power = 1;
        for (int i = 0; i < Math.Min(exponent, 9); i++)
        {
            power *= 10;
        }

        return power;
    }
}
