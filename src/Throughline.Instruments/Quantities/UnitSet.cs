using System.Collections.Frozen;
using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>The units that a place of the file takes, with the words that say so.</summary>
internal sealed class UnitSet
{
    private readonly FrozenDictionary<string, Unit> _units;
    private readonly FrozenDictionary<string, Unit>.AlternateLookup<ReadOnlySpan<char>> _lookup;

    /// <param name="noun">With its article, such as <c>a resistance</c>.</param>
    /// <param name="example">A value as on a drawing, such as <c>4.7 kΩ</c>.</param>
    public UnitSet(string noun, string example, params UnitFamily[] families)
    {
        Noun = noun;
        Example = example;
        Families = [.. families];
        Dictionary<string, Unit> units = [];
        foreach ((string text, Unit unit) in families.SelectMany(f => f.Expand()))
        {
            units.TryAdd(text, unit);
        }

        _units = units.ToFrozenDictionary();
        _lookup = _units.GetAlternateLookup<ReadOnlySpan<char>>();
        Pattern = families.Length == 0 ? "(?!)" : "(?:" + string.Join('|', families.Select(f => f.Pattern())) + ")";
        HasPercent = _units.ContainsKey("%");
        ToleranceFamilies = [.. families, .. families.Any(f => f.Dimension == Dimension.Temperature) ? UnitSets.KelvinFamilies : []];
    }

    public string Noun { get; }

    public string Example { get; }

    public ImmutableArray<UnitFamily> Families { get; }

    /// <summary>Units of an absolute tolerance: those of the value, and kelvin for a temperature.</summary>
    public ImmutableArray<UnitFamily> ToleranceFamilies { get; }

    /// <summary>Per cent is a unit of the quantity itself, so a tolerance in per cent is absolute.</summary>
    public bool HasPercent { get; }

    /// <summary>The kind of quantity of a number without unit.</summary>
    public Dimension Dimension => Families.Length == 0 ? Dimension.Ratio : Families[0].Dimension;

    /// <summary>A regular expression for any of the units.</summary>
    public string Pattern { get; }

    public bool TryGet(ReadOnlySpan<char> text, out Unit unit) => _lookup.TryGetValue(text, out unit);

    public IEnumerable<string> Spellings => _units.Keys;
}
