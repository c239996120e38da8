using System.Runtime.CompilerServices;

namespace Throughline.Firmware;

/// <summary>What a guard over so many bytes misses, by trying all of it.</summary>
/// <param name="PairsMissed">Pairs of wrong bits, guard and all, that go unnoticed.</param>
/// <param name="SwapsMissed">Of two neighbouring bytes that have changed places, each pair of values and each place.</param>
public sealed record GuardStrength(long Pairs, long PairsMissed, long Swaps, long SwapsMissed)
{
    private static readonly ConditionalWeakTable<GuardCode, Dictionary<int, GuardStrength>> Known = [];

    /// <param name="length">Bytes in front of the guard.</param>
    public static GuardStrength Of(GuardCode guard, int length)
    {
        Dictionary<int, GuardStrength> known = Known.GetOrCreateValue(guard);
        lock (known)
        {
            if (!known.TryGetValue(length, out GuardStrength? strength))
            {
                known[length] = strength = guard.Kind == Instruments.MemoryGuard.Sum8 ? OfSum(guard, length) : OfCyclic(guard, length);
            }

            return strength;
        }
    }

    /// <summary>A sum depends on the values: counted over all of them in the two bytes concerned, the others not mattering.</summary>
    private static GuardStrength OfSum(GuardCode guard, int length)
    {
        // Two flipped bits cancel when they have the same weight and go opposite ways: half of the values. A bit of the guard cancels one of the same weight going the same way.
        int bytes = length + guard.Bytes;
        long pairs = (long)bytes * 8 * ((bytes * 8) - 1) / 2;
        long missed = 8L * bytes * (bytes - 1) / 2;

        // The sum of two bytes is that of the same in the other order.
        const int Different = 256 * 255;
        return new GuardStrength(pairs, missed, (long)(length - 1) * Different, (long)(length - 1) * Different);
    }

    /// <summary>A cyclic redundancy check sees only what is different, whatever the values: the syndromes of single bits tell all.</summary>
    private static GuardStrength OfCyclic(GuardCode guard, int length)
    {
        byte[] bytes = new byte[length];
        uint zero = guard.Compute(bytes);
        uint[] syndromes = new uint[(length * 8) + guard.Bits];
        for (int i = 0; i < length * 8; i++)
        {
            bytes[i / 8] = (byte)(1 << (i % 8));
            syndromes[i] = guard.Compute(bytes) ^ zero;
            bytes[i / 8] = 0;
        }

        for (int i = 0; i < guard.Bits; i++)
        {
            syndromes[(length * 8) + i] = 1u << i;
        }

        long pairs = 0;
        long missed = 0;
        for (int i = 0; i < syndromes.Length; i++)
        {
            for (int k = i + 1; k < syndromes.Length; k++)
            {
                pairs++;
                missed += syndromes[i] == syndromes[k] ? 1 : 0;
            }
        }

        // Two bytes a and b that change places differ by a xor b in both: 256 pairs of values for every difference.
        long swaps = 0;
        long swapsMissed = 0;
        for (int place = 0; place + 1 < length; place++)
        {
            for (int difference = 1; difference < 256; difference++)
            {
                bytes[place] = bytes[place + 1] = (byte)difference;
                swaps += 256;
                swapsMissed += guard.Compute(bytes) == zero ? 256 : 0;
                bytes[place] = bytes[place + 1] = 0;
            }
        }

        return new GuardStrength(pairs, missed, swaps, swapsMissed);
    }
}
