using System.Numerics;
using CsCheck;
using Xunit;

namespace Throughline.Firmware.Tests.Arithmetic;

/// <summary>Division of whole numbers against exact rationals: |2 (q d − v)| says how far from the quotient a whole number lies, without a rounding of its own.</summary>
public sealed class RoundingTests
{
    [Fact]
    public void Divide_ToTheNearest_IsWithinHalf_AndAHalfGoesAwayFromZero() =>
        Gen.Select(Gen.Long[-1L << 40, 1L << 40], Gen.Long[-100_000, 100_000].Where(d => d != 0)).Sample((value, divisor) =>
        {
            BigInteger q = (long)Rounding.Divide(value, divisor, truncates: false);
            BigInteger twice = 2 * ((q * divisor) - value) * (divisor < 0 ? -1 : 1);
            BigInteger size = BigInteger.Abs(divisor);
            Assert.True(BigInteger.Abs(twice) <= size);
            if (BigInteger.Abs(twice) == size)
            {
                Assert.True(BigInteger.Abs(q * divisor) > BigInteger.Abs(value));
            }
        });

    [Fact]
    public void Divide_CutOff_IsTheWholePart() =>
        Gen.Select(Gen.Long[-1L << 40, 1L << 40], Gen.Long[-100_000, 100_000].Where(d => d != 0)).Sample((value, divisor) =>
            Assert.Equal(BigInteger.Divide(value, divisor), (BigInteger)(long)Rounding.Divide(value, divisor, truncates: true)));

    [Fact]
    public void Shift_IsTheDivisionByThePowerOfTwo() =>
        Gen.Select(Gen.Long[-1L << 50, 1L << 50], Gen.Int[0, 40], Gen.Bool).Sample((value, places, truncates) =>
            Assert.Equal(Rounding.Divide(value, Int128.One << places, truncates), Rounding.Shift(value, places, truncates)));

    // ISO/IEC 9899:1999, 6.3.1.3: conversion to an unsigned type is modulo one more than its greatest number; the signed types of 7.18.1.1 are two's complement.
    [Fact]
    public void Wrap_IsWhatTheProcessorKeeps() =>
        Gen.Long.Sample(value =>
        {
            Assert.Equal((Int128)unchecked((byte)value), new Word(8, false).Wrap(value));
            Assert.Equal((Int128)unchecked((sbyte)value), new Word(8, true).Wrap(value));
            Assert.Equal((Int128)unchecked((ushort)value), new Word(16, false).Wrap(value));
            Assert.Equal((Int128)unchecked((short)value), new Word(16, true).Wrap(value));
            Assert.Equal((Int128)unchecked((uint)value), new Word(32, false).Wrap(value));
            Assert.Equal((Int128)unchecked((int)value), new Word(32, true).Wrap(value));
            Assert.Equal((Int128)value, new Word(64, true).Wrap(value));
        });

    [Theory]
    [InlineData(0, 1, 1)]
    [InlineData(0, 255, 8)]
    [InlineData(0, 256, 9)]
    [InlineData(-1, 0, 1)]
    [InlineData(-128, 127, 8)]
    [InlineData(-129, 127, 9)]
    [InlineData(0, 5_115_000, 23)]    // 1023 × 5000, case 7
    [InlineData(0, 65_535, 16)]
    public void BitsFor_Range_IsThatOfTwosComplement(long low, long high, int bits) => Assert.Equal(bits, Word.BitsFor(low, high));
}
