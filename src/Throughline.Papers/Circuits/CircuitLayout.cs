using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>
/// Where everything of a stage's drawing stands. Every node is a level line, the one of the highest voltage uppermost, so that height in the drawing is voltage in the
/// circuit; supplies and returns have a mark at each lead instead. Parts stand in the gaps between lines, in the order of the file from left to right, each as far to the
/// left as what stands there already leaves room; so nothing lies on anything else, and leads cross lines only where they must.
/// </summary>
public sealed class CircuitLayout
{
    /// <summary>Of nodes, pins and values, px: no letter of a drawing is smaller.</summary>
    internal const double LetterSize = 11;

    /// <summary>Of a part's name, px; strong.</summary>
    internal const double NameSize = 12;

    private const double Left = 20;
    private const double LeastGap = 66;

    /// <summary>px between neighbours.</summary>
    private const double Clearance = 5;

    /// <summary>No voltage is longer for people.</summary>
    private const string WidestVolts = "−88.88 mV";

    private CircuitLayout(ImmutableArray<NodeLine> nodes, ImmutableArray<PlacedPart> parts, double width, double height) =>
        (Nodes, Parts, Width, Height) = (nodes, parts, width, height);

    /// <summary>From the uppermost down; without supplies and returns.</summary>
    public ImmutableArray<NodeLine> Nodes { get; }

    /// <summary>In the order of the file.</summary>
    public ImmutableArray<PlacedPart> Parts { get; }

    /// <summary>px.</summary>
    public double Width { get; }

    /// <summary>px.</summary>
    public double Height { get; }

    private double Top { get; init; }

    /// <summary>Lays a stage out.</summary>
    /// <param name="volts">Voltages by which the nodes are ordered, V; a node without one stands below.</param>
    /// <param name="rails">Supplies and returns.</param>
    public static CircuitLayout Of(CircuitStage stage, IReadOnlyDictionary<string, double> volts, IReadOnlySet<string> rails)
    {
        // Where nothing stands above the uppermost line, no room is left there.
        CircuitLayout roomy = Of(stage, volts, rails, 0);
        return Of(stage, volts, rails, Left - roomy.Top);
    }

    /// <summary>Supplies and returns of an instrument.</summary>
    public static ImmutableHashSet<string> RailsOf(Instrument instrument) => [.. instrument.Supplies.SelectMany(s => new[] { s.Name.Value, s.Return.Value })];

    private static CircuitLayout Of(CircuitStage stage, IReadOnlyDictionary<string, double> volts, IReadOnlySet<string> rails, double top)
    {
        double VoltsOf(string node) => volts.TryGetValue(node, out double v) && double.IsFinite(v) ? v : double.NegativeInfinity;
        string[] names = [.. stage.Parts.SelectMany(p => p.Terminals).Select(t => t.Node.Value).Distinct().Where(n => !rails.Contains(n)).OrderByDescending(VoltsOf)];
        double gap = Math.Max(LeastGap, stage.Parts.Select(p => (2 * PartGeometry.SizeOf(p).HalfHeight) + 28).DefaultIfEmpty().Max());
        PartGeometry geometry = new(names.Select((n, i) => (n, i)).ToDictionary(p => p.n, p => ((p.i + 1) * gap) + top), VoltsOf, gap, ((names.Length + 1) * gap) + top);
        List<PlacedPart> parts = [];
        List<Area> taken = [];
        foreach (Part part in stage.Parts)
        {
            // Beside what it is joined to, and no further to the left.
            PlacedPart placed = geometry.Place(part);
            Area[] needs = [.. Needs(placed)];
            HashSet<string> nodes = [.. placed.Leads.Where(l => !l.IsRail).Select(l => l.Node)];
            double x = parts.Where(p => p.Leads.Any(l => nodes.Contains(l.Node))).Select(p => p.X - placed.X).DefaultIfEmpty().Min();
            x = Math.Max(x, Left - needs.Min(n => n.Left));
            x = Free(needs, taken, x);
            parts.Add(placed.Moved(x));
            taken.AddRange(needs.Select(n => n.Moved(x)));
        }

        List<NodeLine> lines = [];
        foreach (string name in names)
        {
            double y = geometry.RowOf(name);
            double[] ends = [.. parts.SelectMany(p => p.Leads).Where(l => !l.IsRail && l.Node == name).Select(l => l.Path[^1].X)];
            string points = string.Join(' ', stage.TestPoints.Where(t => t.Node.Value == name).Select(t => t.Name.Value));
            double width = new[] { name, points, double.IsFinite(VoltsOf(name)) ? WidestVolts : "" }.Where(t => t.Length > 0).Sum(t => WidthOf(t, LetterSize) + 6);

            // On the line where there is room, else behind its end, which then goes as far as the label.
            double at = ends.Min() + 5;
            Area label = new(at, y - 15, at + width, y - 2);
            label = label.Moved(Free([label], taken, 0));
            taken.Add(label);
            lines.Add(new NodeLine(name, y, ends.Min(), Math.Max(ends.Max(), label.Left > ends.Max() - width ? label.Right : 0), points, label));
        }

        double right = taken.Select(t => t.Right).DefaultIfEmpty(Left).Max();
        double bottom = taken.Select(t => t.Bottom).DefaultIfEmpty(Left).Max();
        return new CircuitLayout([.. lines], [.. parts], right + Left, bottom + Left) { Top = taken.Where(t => t != default).Select(t => t.Top).DefaultIfEmpty(Left).Min() };
    }

    /// <summary>How far to the right, from a distance on, some areas meet none of those that are taken.</summary>
    private static double Free(Area[] needs, List<Area> taken, double x)
    {
        bool isFree = false;
        while (!isFree)
        {
            isFree = true;
            foreach (Area need in needs)
            {
                foreach (Area other in taken)
                {
                    if (other.Meets(need.Moved(x)))
                    {
                        x = Math.Max(x + 1, Math.Ceiling(other.Right - need.Left));
                        isFree = false;
                    }
                }
            }
        }

        return x;
    }

    /// <summary>About the width of a text, px: letters of a sans are six tenths of their size wide, a few more or less.</summary>
    internal static double WidthOf(string text, double size) => size * text.Sum(c => c switch
    {
        'i' or 'j' or 'l' or 't' or 'f' or 'r' or '.' or ',' or '-' or ' ' or '\u2009' or '\u00A0' or '\u202F' => 0.4,
        'm' or 'w' or 'M' or 'W' or 'Ω' or '…' or '■' => 0.92,
        >= 'A' and <= 'Z' => 0.7,
        _ => 0.62,
    });

    /// <summary>What a part needs for itself.</summary>
    private static IEnumerable<Area> Needs(PlacedPart part)
    {
        yield return part.Body with { Left = part.Body.Left - Clearance, Right = part.Body.Right + Clearance };
        if (part.Words != default)
        {
            yield return part.Words;
        }

        foreach (CircuitLead lead in part.Leads)
        {
            if (lead.IsRail)
            {
                yield return lead.Label;
            }

            for (int i = 1; i < lead.Path.Length; i++)
            {
                yield return Area.About(lead.Path[i - 1], lead.Path[i], Clearance - 1);
            }
        }
    }
}
