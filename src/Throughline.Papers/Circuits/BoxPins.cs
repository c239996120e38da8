using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>The pins of a part that is drawn as a box: what goes in stands on the left, what comes out on the right, each with its mark.</summary>
internal static class BoxPins
{
    private const double LeastHalfWidth = 40;

    /// <summary>px between a mark and the part's name.</summary>
    private const double Clearance = 8;

    public static ImmutableArray<Terminal> LeftOf(Part part) => part switch
    {
        InstrumentationAmplifier => [Pin(part, "minus"), Pin(part, "plus"), Pin(part, "reference")],
        _ => part.Terminals[..((part.Terminals.Length + 1) / 2)],
    };

    public static ImmutableArray<Terminal> RightOf(Part part) => part switch
    {
        InstrumentationAmplifier => [Pin(part, "positive supply"), Pin(part, "out"), Pin(part, "negative supply")],
        _ => part.Terminals[((part.Terminals.Length + 1) / 2)..],
    };

    /// <summary>Pins on the side that has more.</summary>
    public static int MostOf(Part part) => Math.Max(LeftOf(part).Length, RightOf(part).Length);

    /// <summary>What stands in the box at a terminal; empty where its place says enough.</summary>
    public static string MarkOf(Part part, string terminal) => (part, terminal) switch
    {
        (InstrumentationAmplifier, "reference") => "REF",
        (InstrumentationAmplifier, "out") => "OUT",
        (InstrumentationAmplifier, "plus") or (IsolationAmplifier, "input plus" or "output plus") => "+",
        (InstrumentationAmplifier, "minus") or (IsolationAmplifier, "input minus" or "output minus") => "−",
        _ => "",
    };

    /// <summary>Room for the name in the middle and the marks on both sides of it.</summary>
    public static double HalfWidthOf(Part part)
    {
        double marks = part.Terminals.Max(t => CircuitLayout.WidthOf(MarkOf(part, t.Name), CircuitLayout.LetterSize));
        double words = Math.Max(CircuitLayout.WidthOf("■ " + part.Name.Value, CircuitLayout.NameSize + 0.5), CircuitLayout.WidthOf(PlacedPart.ValueOf(part, CircuitSymbol.Box), CircuitLayout.LetterSize));
        return Math.Max(LeastHalfWidth, (words / 2) + (marks > 0 ? marks + Clearance : 4));
    }

    private static Terminal Pin(Part part, string name) => part.Terminals.First(t => t.Name == name);
}
