namespace Throughline.Circuits;

/// <summary>One step of a tape.</summary>
/// <param name="Op">What it does.</param>
/// <param name="Phase">When it has to be computed.</param>
/// <param name="A">First operand; −1 for none, and so on.</param>
/// <param name="B">Second operand.</param>
/// <param name="C">Third operand.</param>
/// <param name="Payload">Bits of a constant, number of an input.</param>
internal readonly record struct TapeStep(TapeOp Op, int Phase, int A, int B, int C, long Payload)
{
    /// <summary>Bits of √½: what lies between it and √2 has the exponent 0.</summary>
    public const long RootHalf = 0x3FE6A09E667F3BCD;

    public static double ExponentOf(double x) => (BitConverter.DoubleToInt64Bits(x) - RootHalf) >> 52;

    public static double MantissaOf(double x)
    {
        long bits = BitConverter.DoubleToInt64Bits(x);
        return BitConverter.Int64BitsToDouble(bits - (((bits - RootHalf) >> 52) << 52));
    }
}
