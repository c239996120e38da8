using System.Collections.Immutable;

namespace Throughline.Analysis;

/// <summary>A unit of the virtual batch and how bad it is.</summary>
/// <param name="Unit">Its number.</param>
/// <param name="Badness">The larger the worse; NaN is the worst of all.</param>
public readonly record struct RankedUnit(long Unit, double Badness);

/// <summary>The worst few units of a batch, whatever their order. Of equally bad units the lower number comes first. One thread per instance.</summary>
public sealed class WorstUnits
{
    private readonly RankedUnit[] _units;
    private int _count;

    /// <param name="capacity">How many units are kept, 0 to 10 000.</param>
    public WorstUnits(int capacity)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(capacity);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(capacity, 10_000);
        _units = new RankedUnit[capacity];
    }

    public int Capacity => _units.Length;

    /// <summary>The units kept, worst first.</summary>
    public ImmutableArray<RankedUnit> Units => [.. _units.AsSpan(0, _count)];

    /// <summary>A unit less bad than this can't come among the worst any more.</summary>
    internal double Threshold => _count < _units.Length ? double.NegativeInfinity : _count == 0 ? double.PositiveInfinity : _units[_count - 1].Badness;

    /// <summary>Considers a unit. Each unit is to be shown once. Allocates nothing.</summary>
    public void Add(long unit, double badness)
    {
        var candidate = new RankedUnit(unit, badness);
        if (_count == _units.Length && (_count == 0 || !IsWorse(candidate, _units[_count - 1])))
        {
            return;
        }

        int at = _count < _units.Length ? _count++ : _count - 1;
        for (; at > 0 && IsWorse(candidate, _units[at - 1]); at--)
        {
            _units[at] = _units[at - 1];
        }

        _units[at] = candidate;
    }

    /// <summary>Considers the units of another list of the same capacity.</summary>
    /// <exception cref="ArgumentException">The capacities differ.</exception>
    public void Add(WorstUnits other)
    {
        if (other.Capacity != Capacity)
        {
            throw new ArgumentException("Only lists of the same capacity merge.", nameof(other));
        }

        foreach (RankedUnit unit in other.Units)
        {
            Add(unit.Unit, unit.Badness);
        }
    }

    public void Write(BinaryWriter writer)
    {
        writer.Write(Capacity);
        writer.Write(_count);
        foreach (RankedUnit unit in _units.AsSpan(0, _count))
        {
            writer.Write(unit.Unit);
            writer.Write(unit.Badness);
        }
    }

    /// <exception cref="InvalidDataException">Not such a list.</exception>
    public static WorstUnits Read(BinaryReader reader)
    {
        int capacity = reader.ReadInt32(), count = reader.ReadInt32();
        if (capacity is < 0 or > 10_000 || count < 0 || count > capacity)
        {
            throw new InvalidDataException("A list of worst units has no legal length.");
        }

        var worst = new WorstUnits(capacity);
        for (int i = 0; i < count; i++)
        {
            worst.Add(reader.ReadInt64(), reader.ReadDouble());
        }

        return worst;
    }

    private static bool IsWorse(RankedUnit a, RankedUnit b)
    {
        int order = double.IsNaN(a.Badness) ? (double.IsNaN(b.Badness) ? 0 : 1) : double.IsNaN(b.Badness) ? -1 : a.Badness.CompareTo(b.Badness);
        return order > 0 || (order == 0 && a.Unit < b.Unit);
    }
}
