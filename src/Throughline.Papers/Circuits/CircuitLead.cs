using System.Collections.Immutable;

namespace Throughline.Papers;

/// <summary>A lead from a part's symbol to its node.</summary>
/// <param name="Terminal">Of the part.</param>
/// <param name="Path">From the symbol on. It ends on the node's line, or where the mark of a rail stands.</param>
/// <param name="IsRail">Whether the node is a supply or a return, which has a mark with its name at every lead instead of one line.</param>
/// <param name="Label">Where the name of a rail stands; empty for a node with a line.</param>
public sealed record CircuitLead(string Terminal, string Node, ImmutableArray<(double X, double Y)> Path, bool IsRail, Area Label)
{
    /// <summary>The same, further to the right.</summary>
    internal CircuitLead Moved(double x) => this with { Path = [.. Path.Select(p => (p.X + x, p.Y))], Label = Label.Moved(x) };
}
