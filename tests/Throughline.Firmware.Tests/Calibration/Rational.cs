using System.Numerics;

namespace Throughline.Firmware.Tests.Calibration;

/// <summary>An exact fraction.</summary>
internal readonly struct Rational
{
    private readonly BigInteger _over;
    private readonly BigInteger _under;

    public Rational(BigInteger over, BigInteger under)
    {
        BigInteger common = BigInteger.GreatestCommonDivisor(over, under) * (under.Sign < 0 ? -1 : 1);
        (_over, _under) = (over / common, under / common);
    }

    /// <summary>The double as it is, bit for bit.</summary>
    public static Rational Of(double value)
    {
        long bits = BitConverter.DoubleToInt64Bits(value);
        int exponent = (int)((bits >> 52) & 0x7ff);
        BigInteger size = (bits & 0xfffffffffffffL) | (exponent == 0 ? 0 : 0x10000000000000L);
        int shift = Math.Max(1, exponent) - 1075;
        BigInteger over = bits < 0 ? -size : size;
        return shift >= 0 ? new Rational(over << shift, 1) : new Rational(over, BigInteger.One << -shift);
    }

    public int Sign => _over.Sign;

    public static Rational operator +(Rational a, Rational b) => new((a._over * b._under) + (b._over * a._under), a._under * b._under);

    public static Rational operator -(Rational a, Rational b) => new((a._over * b._under) - (b._over * a._under), a._under * b._under);

    public static Rational operator *(Rational a, Rational b) => new(a._over * b._over, a._under * b._under);

    public static Rational operator /(Rational a, Rational b) => new(a._over * b._under, a._under * b._over);

    public double Value
    {
        get
        {
            // 80 bits of the quotient are more than a double keeps.
            int shift = (int)Math.Max(0, 80 - (_over.GetBitLength() - _under.GetBitLength()));
            return Math.ScaleB((double)((_over << shift) / _under), -shift);
        }
    }
}
