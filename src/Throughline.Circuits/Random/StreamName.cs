using System.Text;

namespace Throughline.Circuits;

/// <summary>The random stream that belongs to a name, so that a part's draws stay its own when other parts come and go.</summary>
public static class StreamName
{
    /// <summary>FNV-1a, 64 bit, over the UTF-8 bytes of the name: the same in every process and on every machine.</summary>
    /// <param name="name">Any text, case matters; the empty text is a stream too. A lone surrogate counts as U+FFFD.</param>
    /// <remarks>Fowler, Noll, Vo; RFC 9923. Among a thousand names the chance that any two share a stream is 3e-14.</remarks>
    public static ulong Hash(ReadOnlySpan<char> name)
    {
        ulong hash = 0xCBF29CE484222325;
        Span<byte> utf8 = stackalloc byte[4];
        foreach (Rune rune in name.EnumerateRunes())
        {
            int length = rune.EncodeToUtf8(utf8);
            foreach (byte b in utf8[..length])
            {
                hash = (hash ^ b) * 0x100000001B3;
            }
        }

        return hash;
    }
}
