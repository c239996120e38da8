using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>A part where it stands.</summary>
/// <param name="X">Middle of the symbol, px.</param>
/// <param name="HalfWidth">Of the symbol.</param>
/// <param name="IsFlipped">Whether its first terminal is below.</param>
/// <param name="Words">Where its name and value stand; empty when they stand in the symbol.</param>
public sealed record PlacedPart(Part Part, CircuitSymbol Symbol, double X, double Y, double HalfWidth, double HalfHeight, bool IsFlipped, ImmutableArray<CircuitLead> Leads, Area Words)
{
    /// <summary>What it is; short enough for a drawing, and empty where the symbol says enough.</summary>
    public string Value => ValueOf(Part, Symbol);

    /// <summary>The symbol alone.</summary>
    public Area Body => new(X - HalfWidth, Y - HalfHeight, X + HalfWidth, Y + HalfHeight);

    /// <summary>See <see cref="Value"/>.</summary>
    internal static string ValueOf(Part part, CircuitSymbol symbol) => symbol switch
    {
        CircuitSymbol.Amplifier or CircuitSymbol.Transistor => "",
        CircuitSymbol.Box => Short(part.Kind.Replace("instrumentation", "instr.", StringComparison.Ordinal).Replace("amplifier", "amp.", StringComparison.Ordinal), 14),
        _ => part.Parameters is [var first, ..] ? Short(first.Quantity.Text.Split('±')[0].Trim(), 10) : "",
    };

    /// <summary>The same, further to the right.</summary>
    internal PlacedPart Moved(double x) => this with { X = X + x, Leads = [.. Leads.Select(l => l.Moved(x))], Words = Words.Moved(x) };

    private static string Short(string text, int most) => text.Length <= most ? text : text[..(most - 1)] + "…";
}
