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

    /// <summary>By the owner's name (<c>R1</c>, <c>sensor</c>), or by owner and parameter (<c>sensor slope</c>); the longer name wins.</summary>
    public ImmutableDictionary<string, Spread> Named { get; init; } = ImmutableDictionary<string, Spread>.Empty;

    public SourceSpan Span { get; init; }

    /// <summary>How a parameter's value lies between its limits.</summary>
    public Spread OfValue(Parameter parameter) => Find(parameter) ?? Values;

    /// <summary>How its change per kelvin lies between its limits.</summary>
    public Spread OfDrift(Parameter parameter) => Named.TryGetValue($"{parameter} drift", out Spread own) ? own : Find(parameter) ?? Drifts;

    private Spread? Find(Parameter parameter) =>
        Named.TryGetValue(parameter.ToString(), out Spread exact) ? exact
        : Named.TryGetValue(parameter.Owner, out Spread whole) ? whole
        : null;
}
