using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>Draws a stage with the graphic symbols of IEC 60617, laid out by <see cref="CircuitLayout"/>: higher nodes are more positive.</summary>
public static class CircuitDrawing
{
    /// <summary>The picture as SVG.</summary>
    /// <param name="layout">Of the stage.</param>
    /// <param name="volts">Written beside the nodes, V against the return of each one's domain.</param>
    /// <param name="accused">Parts that a finding speaks of which is not met.</param>
    public static string Draw(CircuitStage stage, CircuitLayout layout, IReadOnlyDictionary<string, double> volts, IReadOnlySet<string> accused)
    {
        SvgPage page = new(layout.Width, layout.Height, $"Circuit of {stage.Name.Value}: {string.Join(", ", stage.Parts.Select(p => p.Name.Value))}");
        foreach (NodeLine node in layout.Nodes)
        {
            page.Line(node.From, node.Y, Math.Max(node.To, node.From + 8), node.Y, Ground.Ink);
        }

        foreach (CircuitLead lead in layout.Parts.SelectMany(p => p.Leads))
        {
            page.Curve(lead.Path, Ground.Ink, 1);
            (double x, double y) = lead.Path[^1];
            if (lead.IsRail)
            {
                bool isLevel = lead.Path[^2].Y == y;
                page.Curve(isLevel ? [(x, y - 5), (x, y + 5)] : [(x - 5, y), (x + 5, y)], Ground.Ink, 1.6);
                page.Text(lead.Label.Left, y + 4, lead.Node, Ground.Quiet, CircuitLayout.LetterSize);
            }
            else
            {
                page.Dot(x, y, 2.4, Ground.Ink);
            }
        }

        foreach (PlacedPart part in layout.Parts)
        {
            bool isAccused = accused.Contains(part.Part.Name.Value);
            string ink = isAccused ? Ground.Vermilion : Ground.Ink;
            page.OpenPart(part.Part.Name.Value, part.Body);
            Symbol(page, part, ink);
            Words(page, part, isAccused, ink);
            page.ClosePart();
        }

        foreach (NodeLine node in layout.Nodes)
        {
            double at = node.Label.Left;
            string value = volts.TryGetValue(node.Name, out double v) && double.IsFinite(v) ? Engineering.Format(v, "V", 4) : "";
            foreach ((string text, string fill, bool isStrong) in new[] { (node.Name, Ground.Quiet, false), (node.Points, Ground.Ink, true), (value, Ground.Blue, false) }.Where(t => t.Item1.Length > 0))
            {
                page.Text(at, node.Label.Bottom - 3, text, fill, CircuitLayout.LetterSize, isStrong: isStrong, hasHalo: true);
                at += CircuitLayout.WidthOf(text, CircuitLayout.LetterSize) + 6;
            }
        }

        return page.Close();
    }

    private static void Words(SvgPage page, PlacedPart part, bool isAccused, string ink)
    {
        string name = (isAccused ? "■ " : "") + part.Part.Name.Value;
        (double x, string anchor) = part.Symbol == CircuitSymbol.Box ? (part.X, "middle") : (part.Words.Left, "start");
        page.Text(x, part.Y - 1, name, ink, CircuitLayout.NameSize, anchor, isStrong: true);
        if (part.Value.Length > 0)
        {
            page.Text(x, part.Y + 11, part.Value, Ground.Quiet, CircuitLayout.LetterSize, anchor);
        }
    }

    private static void Symbol(SvgPage page, PlacedPart part, string ink)
    {
        (double x, double y, double w, double h) = (part.X, part.Y, part.HalfWidth, part.HalfHeight);

        // Of what has a direction, 1 when the first terminal is above.
        double s = part.IsFlipped ? -1 : 1;
        switch (part.Symbol)
        {
            case CircuitSymbol.Resistor:
                page.Rectangle(x - 5.5, y - h, 11, 2 * h, Ground.Paper, ink, 1.3);
                break;
            case CircuitSymbol.AdjustableResistor:
                page.Rectangle(x - 5.5, y - h, 11, 2 * h, Ground.Paper, ink, 1.3);
                page.Curve([(x - 11, y + 9), (x + 11, y - 9)], ink, 1.2);
                page.Curve([(x + 5, y - 8.5), (x + 11, y - 9), (x + 9.5, y - 3.5)], ink, 1.2);
                break;
            case CircuitSymbol.Potentiometer:
                page.Rectangle(x - 5.5, y - h, 11, 2 * h, Ground.Paper, ink, 1.3);
                page.Area([(x - 5.5, y), (x - 11, y - 3.5), (x - 11, y + 3.5)], ink);
                break;
            case CircuitSymbol.Leakage:
                page.Curve([(x - 5.5, y - h), (x + 5.5, y - h), (x + 5.5, y + h), (x - 5.5, y + h), (x - 5.5, y - h)], ink, 1.2, "3 2.5");
                break;
            case CircuitSymbol.Capacitor:
                page.Curve([(x, y - h), (x, y - 3)], ink, 1);
                page.Curve([(x, y + h), (x, y + 3)], ink, 1);
                page.Curve([(x - 9, y - 3), (x + 9, y - 3)], ink, 1.8);
                page.Curve([(x - 9, y + 3), (x + 9, y + 3)], ink, 1.8);
                break;
            case CircuitSymbol.Inductor:
                page.Rectangle(x - 5.5, y - h, 11, 2 * h, ink);
                break;
            case CircuitSymbol.Diode or CircuitSymbol.Zener:
                page.Curve([(x, y - h), (x, y + h)], ink, 1);
                page.Curve([(x - 7, y - (6 * s)), (x + 7, y - (6 * s)), (x, y + (6 * s)), (x - 7, y - (6 * s))], ink, 1.2);
                page.Curve(part.Symbol == CircuitSymbol.Diode
                    ? [(x - 7, y + (6 * s)), (x + 7, y + (6 * s))]
                    : [(x - 7, y + (2 * s)), (x - 7, y + (6 * s)), (x + 7, y + (6 * s))], ink, 1.4);
                break;
            case CircuitSymbol.VoltageSource:
                page.Circle(x, y, 10, ink);
                page.Curve([(x, y - h), (x, y + h)], ink, 1);
                page.Text(x + 3, y - 12 + (part.IsFlipped ? 27 : 0), "+", ink, 11);
                break;
            case CircuitSymbol.CurrentSource:
                page.Circle(x, y, 10, ink);
                page.Curve([(x, y - h), (x, y - 10)], ink, 1);
                page.Curve([(x, y + 10), (x, y + h)], ink, 1);
                page.Curve([(x - 10, y), (x + 10, y)], ink, 1.2);
                break;
            case CircuitSymbol.Contact:
                page.Curve([(x, y - h), (x, y - 7)], ink, 1);
                page.Curve([(x, y + h), (x, y + 7), (x - 8, y - 8)], ink, 1.2);
                break;
            case CircuitSymbol.Amplifier:
                page.Area([(x - w, y - h), (x + w, y), (x - w, y + h)], Ground.Paper);
                page.Curve([(x - w, y - h), (x + w, y), (x - w, y + h), (x - w, y - h)], ink, 1.3);
                page.Text(x - w + 3, y - 5, "−", ink, 11);
                page.Text(x - w + 3, y + 13, "+", ink, 11);
                break;
            case CircuitSymbol.Transistor:
                bool isPnp = part.Part is Transistor { IsNpn: false };
                page.Curve([(x - w, y), (x - 3, y)], ink, 1);
                page.Curve([(x - 3, y - 9), (x - 3, y + 9)], ink, 2);
                page.Curve([(x - 3, y - 4), (x + 6, y - 10), (x + 6, y - h)], ink, 1);
                page.Curve([(x - 3, y + 4), (x + 6, y + 10), (x + 6, y + h)], ink, 1);
                page.Area(isPnp ? [(x - 2.5, y - 4.3), (x + 3.9, y - 5.5), (x + 1, y - 9.8)] : [(x + 6, y + 10), (x + 1, y + 9.6), (x + 3.2, y + 5.6)], ink);
                break;
            default:
                page.Rectangle(x - w, y - h, 2 * w, 2 * h, Ground.Paper, ink, 1.3);
                foreach (CircuitLead lead in part.Leads)
                {
                    (double pinX, double pinY) = lead.Path[0];
                    page.Text(pinX + (pinX < x ? 4 : -4), pinY + 4, BoxPins.MarkOf(part.Part, lead.Terminal), ink, CircuitLayout.LetterSize, pinX < x ? "start" : "end");
                }

                break;
        }
    }
}
