using System.Collections.Immutable;

namespace Throughline.Circuits;

/// <summary>
/// Numbers of (0, 1) for the named inputs of a computation: draw <c>index</c> of an input is a pure function of the seed, the input's name and the index.
/// Immutable and safe on any thread.
/// </summary>
public abstract class UniformSource
{
    private protected UniformSource(ulong seed, ImmutableArray<string> names)
    {
        Seed = seed;
        Names = names;
        Streams = [.. names.Select(n => StreamName.Hash(n))];
        if (Streams.Distinct().Count() != Streams.Length)
        {
            throw new ArgumentException("Two inputs have the same name, or names with the same hash: their draws would be equal.", nameof(names));
        }
    }

    public ulong Seed { get; }

    /// <summary>The inputs, in order; a name belongs to one input.</summary>
    public ImmutableArray<string> Names { get; }

    private protected ImmutableArray<ulong> Streams { get; }

    /// <summary>Pseudo-random numbers: <see cref="Philox"/> with the stream of each name. Neither the order of the names nor other names matter.</summary>
    /// <exception cref="ArgumentException">A name comes twice.</exception>
    public static UniformSource PseudoRandom(ulong seed, IEnumerable<string> names) => new PhiloxSource(seed, [.. names]);

    /// <summary>
    /// Quasi-random numbers: the <see cref="SobolSequence"/>, each coordinate shifted by its own random bits. The first names get the coordinates that are spread best, so the
    /// order matters for quality; those beyond <see cref="SobolSequence.LargestDimension"/> are pseudo-random.
    /// </summary>
    /// <param name="replicate">Sets of different numbers are independent of each other: their scatter is the confidence that one set can't give.</param>
    /// <exception cref="ArgumentException">A name comes twice.</exception>
    public static UniformSource QuasiRandom(ulong seed, IEnumerable<string> names, int replicate = 0)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(replicate);
        return new SobolSource(seed, [.. names], replicate);
    }

    /// <summary>One draw.</summary>
    /// <param name="input">Index into <see cref="Names"/>.</param>
    /// <param name="index">Number of the draw, that of a unit for example; below 2⁵² for quasi-random numbers.</param>
    public abstract double At(int input, ulong index);

    /// <summary>Consecutive draws of one input, the same as <see cref="At"/> of each. Allocates nothing.</summary>
    public abstract void Fill(int input, ulong firstIndex, Span<double> numbers);

    private sealed class PhiloxSource(ulong seed, ImmutableArray<string> names) : UniformSource(seed, names)
    {
        public override double At(int input, ulong index) => UnitInterval.From(Philox.Bits(Seed, Streams[input], index));

        public override void Fill(int input, ulong firstIndex, Span<double> numbers)
        {
            Span<ulong> bits = UnitInterval.AsBits(numbers);
            Philox.Fill(Seed, Streams[input], firstIndex, bits);
            UnitInterval.From(bits, numbers);
        }
    }

    private sealed class SobolSource : UniformSource
    {
        private readonly ImmutableArray<ulong> _shifts;
        private readonly ulong _replicate;

        public SobolSource(ulong seed, ImmutableArray<string> names, int replicate)
            : base(seed, names)
        {
            _replicate = (ulong)replicate;
            // Draws from the end of the stream: a run of pseudo-random numbers from the same seed doesn't reach them.
            _shifts = [.. Streams.Select(s => Philox.Bits(seed, s, ulong.MaxValue - _replicate))];
        }

        public override double At(int input, ulong index) => input < SobolSequence.LargestDimension
            ? UnitInterval.From(SobolSequence.Bits(input, index) ^ _shifts[input])
            : UnitInterval.From(Philox.Bits(Seed, Streams[input], (_replicate << 52) + index));

        public override void Fill(int input, ulong firstIndex, Span<double> numbers)
        {
            if (input < SobolSequence.LargestDimension)
            {
                SobolSequence.Fill(input, firstIndex, _shifts[input], numbers);
                return;
            }

            Span<ulong> bits = UnitInterval.AsBits(numbers);
            Philox.Fill(Seed, Streams[input], (_replicate << 52) + firstIndex, bits);
            UnitInterval.From(bits, numbers);
        }
    }
}
