namespace Throughline.Firmware;

/// <summary>Division of whole numbers as the generated C does it: of the magnitude, so that both signs are treated alike; a half goes away from zero.</summary>
public static class Rounding
{
    /// <summary>value / 2^places.</summary>
    public static Int128 Shift(Int128 value, int places, bool truncates)
    {
        if (places == 0)
        {
            return value;
        }

        Int128 magnitude = Int128.Abs(value);
        Int128 result = magnitude >> places;
        if (!truncates)
        {
            result += (magnitude >> (places - 1)) & 1;
        }

        return value < 0 ? -result : result;
    }

    /// <summary>value / divisor.</summary>
    /// <exception cref="DivideByZeroException">The divisor is 0.</exception>
    public static Int128 Divide(Int128 value, Int128 divisor, bool truncates)
    {
        Int128 magnitude = Int128.Abs(value);
        Int128 by = Int128.Abs(divisor);
        Int128 result = magnitude / by;
        Int128 rest = magnitude - (result * by);
        if (!truncates && rest >= by - rest)
        {
            result += 1;
        }

        return (value < 0) != (divisor < 0) ? -result : result;
    }
}
