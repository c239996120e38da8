using Throughline.Instruments;
using Xunit;

namespace Throughline.Firmware.Tests.Settings;

/// <summary>The guards against their published check values.</summary>
public sealed class GuardCodeTests
{
    // Greg Cook, Catalogue of parametrised CRC algorithms: check values over the ASCII characters 123456789 of CRC-8/SMBUS, CRC-16/IBM-3740 and CRC-32/ISO-HDLC.
    // The sum: 0x31 + … + 0x39 = 477, by hand.
    [Theory]
    [InlineData(MemoryGuard.Crc8, 0xF4)]
    [InlineData(MemoryGuard.Crc16, 0x29B1)]
    [InlineData(MemoryGuard.Crc32, 0xCBF43926)]
    [InlineData(MemoryGuard.Sum8, 477 & 255)]
    [InlineData(MemoryGuard.None, 0)]
    public void Compute_OverTheNineDigits_GivesTheCheckValue(MemoryGuard kind, uint check) =>
        Assert.Equal(check, GuardCode.Of(kind).Compute("123456789"u8));

    [Theory] // Polynomial division bit by bit, as ISO/IEC 13239 describes it, against the tables of four bits.
    [InlineData(MemoryGuard.Crc8, 8, 0x07u, 0u)]
    [InlineData(MemoryGuard.Crc16, 16, 0x1021u, 0xFFFFu)]
    public void Compute_OverAnyBytes_IsTheDivisionBitByBit(MemoryGuard kind, int bits, uint polynomial, uint initial)
    {
        byte[] bytes = new byte[200];
        new Random(5).NextBytes(bytes);
        uint mask = uint.MaxValue >> (32 - bits);
        uint state = initial;
        for (int n = 0; n < bytes.Length; n++)
        {
            Assert.Equal(state, GuardCode.Of(kind).Compute(bytes.AsSpan(0, n)));
            for (int bit = 7; bit >= 0; bit--)
            {
                bool carries = ((state >> (bits - 1)) & 1) != ((uint)bytes[n] >> bit & 1);
                state = ((state << 1) ^ (carries ? polynomial : 0)) & mask;
            }
        }
    }
}
