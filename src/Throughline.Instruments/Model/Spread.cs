using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>How the values of many units lie between their limits.</summary>
public enum SpreadShape
{
    /// <summary>Every value between the limits is equally likely: what to take when nothing else is known (JCGM 100:2008, 4.3.7).</summary>
    Rectangular,

    /// <summary>Likeliest in the middle, falling straight to the limits.</summary>
    Triangular,

    /// <summary>A quantity that swings as a sine between the limits.</summary>
    Arcsine,

    /// <summary>At one limit or the other.</summary>
    TwoPoint,

    /// <summary>Normal; the limits are k standard deviations from the middle, and are not kept by every unit.</summary>
    Normal,

    /// <summary>Normal with what lies beyond the limits, k standard deviations from the middle, sorted out.</summary>
    SortedNormal,
}

/// <summary>A shape and, for the normal ones, how many standard deviations the limits are from the middle.</summary>
/// <param name="K">Positive; of no meaning for the other shapes.</param>
public readonly record struct Spread(SpreadShape Shape, double K)
{
    public static Spread Rectangular { get; } = new(SpreadShape.Rectangular, 1);
}

/// <summary>What the file says about how values spread between their limits.</summary>
public sealed record SpreadSection
{
    /// <summary>Nothing is said: everything is rectangular.</summary>
    public static SpreadSection None { get; } = new();

    /// <summary>Of every value that nothing else is said about.</summary>
    public Spread Values { get; init; } = Spread.Rectangular;

    /// <summary>Of every change per kelvin.</summary>
    public Spread Drifts { get; init; } = Spread.Rectangular;

    /// <summary>Of temperatures, load and supplies from outside over their rated ranges.</summary>
    public Spread Conditions { get; init; } = Spread.Rectangular;

    /// <summary>By the owner's name (<c>R1</c>, <c>sensor</c>, a block), by owner and parameter (<c>sensor slope</c>), by either and the word drift
    /// (<c>R1 drift</c>), or by a condition's name; the longer name wins.</summary>
    public ImmutableDictionary<string, Spread> Named { get; init; } = ImmutableDictionary<string, Spread>.Empty;

    public SourceSpan Span { get; init; }

    /// <summary>How a parameter's value lies between its limits.</summary>
    public Spread OfValue(Parameter parameter) => Find(parameter) ?? Values;

    /// <summary>How its change per kelvin lies between its limits.</summary>
    public Spread OfDrift(Parameter parameter) => FindDrift(parameter) ?? Find(parameter) ?? Drifts;

    /// <summary>How the voltage of a supply from outside lies between its limits.</summary>
    public Spread OfSupply(Parameter parameter) => Find(parameter) ?? Conditions;

    /// <summary>How a condition lies over its rated range.</summary>
    /// <param name="name">One of <see cref="ConditionNames"/>.</param>
    public Spread OfCondition(string name) => Named.TryGetValue(name, out Spread own) ? own : Conditions;

    /// <summary>Conditions that a spread may be said of by name.</summary>
    public static ImmutableArray<string> ConditionNames { get; } = ["ambient temperature", "process temperature", .. new[] { OutputSignal.Current, OutputSignal.Voltage }.Select(s => s.LoadWord)];

    /// <summary>Behind a name, says that its change per kelvin is meant.</summary>
    internal const string Drift = " drift";

    /// <summary>The names of an owner, nearest first: a part inside a block is also meant by the block's name.</summary>
    internal static IEnumerable<string> NamesOf(string owner)
    {
        yield return owner;
        for (int dot = owner.LastIndexOf('.'); dot > 0; dot = owner.LastIndexOf('.', dot - 1))
        {
            yield return owner[..dot];
        }
    }

    private Spread? Find(Parameter parameter) => First([parameter.ToString(), .. NamesOf(parameter.Owner)]);

    private Spread? FindDrift(Parameter parameter) => First([parameter + Drift, .. NamesOf(parameter.Owner).Select(n => n + Drift)]);

    private Spread? First(IEnumerable<string> names)
    {
        foreach (string name in names)
        {
            if (Named.TryGetValue(name, out Spread found))
            {
                return found;
            }
        }

        return null;
    }
}
