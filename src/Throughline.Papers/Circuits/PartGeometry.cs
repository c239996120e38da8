using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>How a part stands between the lines of its nodes, whatever stands beside it.</summary>
/// <param name="rows">Height of each node's line, px from above.</param>
/// <param name="voltsOf">Of a node; tells on which side of a part a rail is.</param>
/// <param name="gap">Between two lines.</param>
/// <param name="ground">A height below all lines, for parts between rails.</param>
internal sealed class PartGeometry(IReadOnlyDictionary<string, double> rows, Func<string, double> voltsOf, double gap, double ground)
{
    private const double Stub = 7;
    private const double Channel = 9;

    /// <summary>Between the pins of a box.</summary>
    private const double Pitch = 14;

    /// <summary>Half the width and height of a part's symbol.</summary>
    public static (double HalfWidth, double HalfHeight) SizeOf(Part part) => SymbolOf(part) switch
    {
        CircuitSymbol.Amplifier => (20, 19),
        CircuitSymbol.Transistor => (12, 16),
        CircuitSymbol.Box => (BoxPins.HalfWidthOf(part), Math.Max(18, 7 + (Pitch / 2 * BoxPins.MostOf(part)))),
        CircuitSymbol.AdjustableResistor => (11, 14),
        CircuitSymbol.VoltageSource or CircuitSymbol.CurrentSource => (10, 14),
        _ => (9, 14),
    };

    public double RowOf(string node) => rows[node];

    /// <summary>A part about x = 0 of its own.</summary>
    public PlacedPart Place(Part part)
    {
        CircuitSymbol symbol = SymbolOf(part);
        return symbol switch
        {
            CircuitSymbol.Amplifier => PlaceAmplifier(part),
            CircuitSymbol.Transistor => PlaceTransistor(part),
            CircuitSymbol.Box => PlaceBox(part),
            _ => PlaceUpright(part, symbol),
        };
    }

    private static CircuitSymbol SymbolOf(Part part) => part.Kind switch
    {
        "op amp" => CircuitSymbol.Amplifier,
        "transistor" when part.Terminals.Length == 3 => CircuitSymbol.Transistor,
        "trimmer" when part.Terminals.Length == 3 => CircuitSymbol.Potentiometer,
        _ when part.Terminals.Length != 2 => CircuitSymbol.Box,
        "resistor" => CircuitSymbol.Resistor,
        "trimmer" => CircuitSymbol.AdjustableResistor,
        "capacitor" => CircuitSymbol.Capacitor,
        "inductor" => CircuitSymbol.Inductor,
        "leakage" => CircuitSymbol.Leakage,
        "diode" => CircuitSymbol.Diode,
        "zener" => CircuitSymbol.Zener,
        "reference" or "voltage" => CircuitSymbol.VoltageSource,
        "current" => CircuitSymbol.CurrentSource,
        "switch" or "link" => CircuitSymbol.Contact,
        _ => CircuitSymbol.Box,
    };

    private bool IsRail(string node) => !rows.ContainsKey(node);

    /// <summary>Where a part's gap begins that stands below one of these nodes, the first that has a line.</summary>
    private double Home(params IEnumerable<string> nodes) => nodes.FirstOrDefault(n => !IsRail(n)) is { } node ? rows[node] : ground;

    /// <summary>Two terminals one above the other, and perhaps a contact on the left.</summary>
    private PlacedPart PlaceUpright(Part part, CircuitSymbol symbol)
    {
        (double w, double h) = SizeOf(part);
        Terminal[] ends = [.. part.Terminals.Where(t => symbol != CircuitSymbol.Potentiometer || t.Name != "wiper").Take(2)];
        (string a, string b) = (ends[0].Node.Value, ends[1].Node.Value);
        bool isFlipped = (IsRail(a), IsRail(b)) switch
        {
            (false, false) => rows[a] > rows[b],
            _ => voltsOf(a) < voltsOf(b),
        };
        (Terminal upper, Terminal lower) = isFlipped ? (ends[1], ends[0]) : (ends[0], ends[1]);
        (string above, string below) = (upper.Node.Value, lower.Node.Value);
        double top = !IsRail(above) ? rows[above] : !IsRail(below) ? rows[below] - gap : ground;
        double y = top + (gap / 2);
        List<CircuitLead> leads = [];
        leads.Add(IsRail(above) ? Rail(upper, (0, y - h), (0, y - h - Stub)) : new CircuitLead(upper.Name, above, [(0, y - h), (0, rows[above])], false, default));
        leads.Add(IsRail(below) ? Rail(lower, (0, y + h), (0, y + h + Stub))
            : rows[below] > y ? new CircuitLead(lower.Name, below, [(0, y + h), (0, rows[below])], false, default)
            : new CircuitLead(lower.Name, below, [(0, y + h), (0, y + h + 5), (-w - 8, y + h + 5), (-w - 8, rows[below])], false, default));
        foreach (Terminal wiper in part.Terminals.Except(ends))
        {
            string node = wiper.Node.Value;
            leads.Add(IsRail(node) ? Rail(wiper, (-6, y), (-18, y)) : new CircuitLead(wiper.Name, node, [(-6, y), (-22, y), (-22, rows[node])], false, default));
        }

        return Worded(new PlacedPart(part, symbol, 0, y, w, h, isFlipped, [.. leads], default), w + 5);
    }

    private PlacedPart PlaceAmplifier(Part part)
    {
        (double w, double h) = SizeOf(part);
        ImmutableArray<Terminal> t = part.Terminals;
        double y = Home(t[2].Node.Value, t[0].Node.Value, t[1].Node.Value) + (gap / 2);
        List<CircuitLead> leads = [];
        int up = 0;
        int down = 0;
        foreach (Terminal supply in t[3..])
        {
            string node = supply.Node.Value;
            bool isUp = IsRail(node) ? supply == t[3] : rows[node] < y;
            double x = -8 + (8 * (isUp ? up++ : down++));
            double edge = h * (1 - ((x + w) / (2 * w)));
            double sign = isUp ? -1 : 1;
            leads.Add(IsRail(node) ? Rail(supply, (x, y + (sign * edge)), (x, y + (sign * (h + 7)))) : new CircuitLead(supply.Name, node, [(x, y + (sign * edge)), (x, rows[node])], false, default));
        }

        // The output's lead stands outside of the names of the supplies' rails.
        double beyond = leads.Where(l => l.IsRail).Select(l => l.Label.Right + 2 - w).Append(Stub).Max();
        leads.InsertRange(0, [.. Side([(t[1], y - 9), (t[0], y + 9)], -w, -1), .. Side([(t[2], y)], w, 1, beyond)]);
        return Worded(new PlacedPart(part, CircuitSymbol.Amplifier, 0, y, w, h, false, [.. leads], default), w + beyond + 8);
    }

    private PlacedPart PlaceTransistor(Part part)
    {
        (double w, double h) = SizeOf(part);
        Terminal collector = part.Terminals[0];
        Terminal emitter = part.Terminals[2];

        // The terminal of the higher voltage is above: the emitter of a PNP.
        bool isFlipped = part is Transistor { IsNpn: false };
        (Terminal upper, Terminal lower) = isFlipped ? (emitter, collector) : (collector, emitter);
        double y = Home(part.Terminals[1].Node.Value, upper.Node.Value, lower.Node.Value) + (gap / 2);

        // A lead that has to turn back goes outside of the names of rails.
        double beyond = new[] { upper, lower }.Where(t => IsRail(t.Node.Value)).Select(t => Rail(t, (6, y), (6, y)).Label.Right + 2).Append(w + 7).Max();
        CircuitLead Vertical(Terminal terminal, double sign)
        {
            string node = terminal.Node.Value;
            (double X, double Y) pin = (6, y + (sign * h));
            double around = beyond + 4 + (sign * 4);
            return IsRail(node) ? Rail(terminal, pin, (6, pin.Y + (sign * 6)))
                : (rows[node] - y) * sign > 0 ? new CircuitLead(terminal.Name, node, [pin, (6, rows[node])], false, default)
                : new CircuitLead(terminal.Name, node, [pin, (6, pin.Y + (sign * 5)), (around, pin.Y + (sign * 5)), (around, rows[node])], false, default);
        }

        return Worded(new PlacedPart(part, CircuitSymbol.Transistor, 0, y, w, h, isFlipped, [.. Side([(part.Terminals[1], y)], -w, -1), Vertical(upper, -1), Vertical(lower, 1)], default), beyond + 14);
    }

    private PlacedPart PlaceBox(Part part)
    {
        (double w, double h) = SizeOf(part);
        ImmutableArray<Terminal> t = part.Terminals;
        double y = Home(t.Select(n => n.Node.Value)) + (gap / 2);
        (Terminal, double)[] Pins(ImmutableArray<Terminal> of) => [.. of.Select((n, i) => (n, y + ((i - ((of.Length - 1) / 2.0)) * Pitch)))];
        return new PlacedPart(part, CircuitSymbol.Box, 0, y, w, h, false, [.. Side(Pins(BoxPins.LeftOf(part)), -w, -1), .. Side(Pins(BoxPins.RightOf(part)), w, 1)], default);
    }

    /// <summary>Leads of one side. Those that lead down take the channels from the lowest pin, those that lead up from the uppermost: then none crosses another without need.</summary>
    /// <param name="sign">1 for the right side, −1 for the left.</param>
    /// <param name="first">From the pins to the first channel.</param>
    private IEnumerable<CircuitLead> Side((Terminal Terminal, double Y)[] pins, double x, double sign, double first = Stub)
    {
        // Channels stand outside of the rails' names.
        foreach ((Terminal terminal, double y) in pins.Where(p => IsRail(p.Terminal.Node.Value)))
        {
            first = Math.Max(first, Stub + 16 + CircuitLayout.WidthOf(terminal.Node.Value, CircuitLayout.LetterSize));
            yield return Rail(terminal, (x, y), (x + (sign * Stub), y));
        }

        double RowOf((Terminal Terminal, double Y) pin) => rows[pin.Terminal.Node.Value];
        (Terminal Terminal, double Y)[] lined = [.. pins.Where(p => !IsRail(p.Terminal.Node.Value))];
        int i = 0;
        foreach ((Terminal Terminal, double Y) pin in lined.Where(p => RowOf(p) > p.Y).OrderByDescending(p => p.Y).Concat(lined.Where(p => RowOf(p) <= p.Y).OrderBy(p => p.Y)))
        {
            double channel = x + (sign * (first + (Channel * i++)));
            yield return new CircuitLead(pin.Terminal.Name, pin.Terminal.Node.Value, [(x, pin.Y), (channel, pin.Y), (channel, RowOf(pin))], false, default);
        }
    }

    /// <summary>A short lead that ends in a rail's mark, with its name to the right, or to the left of a lead that goes there.</summary>
    private static CircuitLead Rail(Terminal terminal, (double X, double Y) from, (double X, double Y) to)
    {
        double width = CircuitLayout.WidthOf(terminal.Node.Value, CircuitLayout.LetterSize) + 2;
        double left = to.X < from.X ? to.X - 5 - width : to.X + 8;
        return new CircuitLead(terminal.Name, terminal.Node.Value, [from, to], true, new Area(left, to.Y - 6, left + width, to.Y + 7));
    }

    private static PlacedPart Worded(PlacedPart part, double left) => part with
    {
        Words = new Area(left, part.Y - 12, left + Math.Max(CircuitLayout.WidthOf("■ " + part.Part.Name.Value, CircuitLayout.NameSize + 0.5), CircuitLayout.WidthOf(part.Value, CircuitLayout.LetterSize)) + 4, part.Y + (part.Value.Length > 0 ? 14 : 3)),
    };
}
