using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>The codes that a display's memory of shapes has for characters.</summary>
/// <remarks>From memory of the usual tables of dot-matrix displays: the Japanese set has what it has beside ASCII in its upper half at places of its own, yen and two arrows in ASCII's;
/// the European one has the codes of ISO/IEC 8859-1. A times sign is the letter x on the Japanese one. Compare with the data sheet of the display at hand.</remarks>
internal static class PanelCharacters
{
    /// <summary>Stands for what the display has not.</summary>
    public const byte Missing = (byte)'?';

    public const byte Space = (byte)' ';

    private static readonly (char Character, byte Code)[] Japanese =
    [
        ('¥', 0x5C), ('→', 0x7E), ('←', 0x7F), ('°', 0xDF), ('ä', 0xE1), ('ß', 0xE2), ('ε', 0xE3), ('µ', 0xE4), ('μ', 0xE4), ('σ', 0xE5), ('ρ', 0xE6), ('√', 0xE8), ('¢', 0xEC),
        ('£', 0xED), ('ñ', 0xEE), ('ö', 0xEF), ('θ', 0xF2), ('∞', 0xF3), ('Ω', 0xF4), ('\u2126', 0xF4), ('ü', 0xF5), ('Σ', 0xF6), ('π', 0xF7), ('÷', 0xFD), ('×', (byte)'x'),
    ];

    public static byte Encode(CharacterSet set, char c)
    {
        if (!set.Has(c))
        {
            return Missing;
        }

        if (set == CharacterSet.Japanese)
        {
            foreach ((char character, byte code) in Japanese)
            {
                if (character == c)
                {
                    return code;
                }
            }
        }

        return c == 'μ' ? (byte)0xB5 : c <= 0xFF ? (byte)c : Missing;
    }

    /// <summary>What a code looks like; a question mark for what no text of a panel gives.</summary>
    public static char Decode(CharacterSet set, byte code)
    {
        if (set == CharacterSet.Japanese && code is 0x5C or > 0x7D)
        {
            foreach ((char character, byte known) in Japanese)
            {
                if (known == code)
                {
                    return character;
                }
            }

            return (char)Missing;
        }

        return code is < Space or (> 0x7E and < 0xA0) ? (char)Missing : (char)code;
    }
}
