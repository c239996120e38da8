namespace Throughline.Firmware.Tests.OutputTrim;

/// <summary>The trim of the hopper by hand: code 2712 at 4 mA and 13912 at 20 mA are 0.7 codes per microampere; the line through (x₁, 2712) and (x₂, 13912), in fractions of whole numbers.</summary>
internal static class HopperLine
{
    /// <summary>How far a code lies from the line, in codes.</summary>
    /// <param name="low">Entered at the lower current, µA.</param>
    /// <param name="high">Entered at the higher one, µA.</param>
    /// <param name="steps">Asked for, in sixteenths of a code.</param>
    public static double Distance(long code, long low, long high, long steps)
    {
        // Ten times the codes that would be taken for what is shown.
        (long from, long to) = (27_120 + (7 * (low - 4000)), 27_120 + (7 * (high - 4000)));
        long over = ((code - 2712) * (to - from)) - (((10 * steps) - (16 * from)) * 700);
        return (double)over / (to - from);
    }
}
