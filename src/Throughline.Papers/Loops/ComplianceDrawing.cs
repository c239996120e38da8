using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>
/// The compliance map as a picture: load to the right, the deciding supply upwards; up to which load a current, or from which load on a voltage, still is what it must be, for stated and for
/// worst parts, and the rated area as a frame. Where no supply decides, the output over the load.
/// </summary>
public static class ComplianceDrawing
{
    private const double Width = 900;
    private const double Height = 600;
    private const double Left = 84;
    private const double Right = 860;
    private const double Top = 96;
    private const double Bottom = 470;

    private static readonly string[] Dashes = ["", "8 4", "2 3", "8 3 2 3"];

    /// <summary>The picture as SVG.</summary>
    public static string Draw(Instrument instrument, ComplianceMap map)
    {
        SvgPage page = new(Width, Height, map.Signal.IsVoltage ? $"Output drive of {instrument.Name.Value}" : $"Loop compliance of {instrument.Name.Value}");
        page.Text(24, 34, instrument.Name.Value, size: 16, isStrong: true);
        string revision = instrument.Revision is { } r ? $"revision {r.Value} · " : "";
        page.Text(24, 56, $"{revision}{(map.Signal.IsVoltage ? "output drive" : "loop compliance")} · {Needed(map)}, {Engineering.Format(map.ScaleEnd, map.Signal.Unit)} is the end of the scale", Ground.Quiet);
        if (map.SupplyName is null)
        {
            OverLoad(page, map);
        }
        else
        {
            OverSupply(page, map);
        }

        return page.Close();
    }

    private static string Needed(ComplianceMap map) => $"{Engineering.Format(map.Needed, map.Signal.Unit)} must {(map.Signal.IsVoltage ? "be reached" : "flow")}";

    private static void OverSupply(SvgPage page, ComplianceMap map)
    {
        Scale load = new(0, map.Loads[^1], Left, Right);
        Scale supply = new(map.Supplies[0], map.Supplies[^1], Bottom, Top);
        ComplianceLayer[] worst = [.. map.Layers.Where(l => l.IsWorst)];

        // What every unit passes at every temperature is plain paper; the rest of the area is shaded. Across a voltage the rest is at the small loads.
        double[] sure = [.. map.Supplies.Select((_, i) => map.Signal.IsVoltage ? worst.Max(l => l.HardestLoads[i]) : worst.Min(l => l.HardestLoads[i]))];
        double rest = map.Signal.IsVoltage ? Left : Right;
        page.Area(
            [
                .. map.Supplies.Select((v, i) => (load.Of(Math.Min(sure[i], load.To)), supply.Of(v))),
                (rest, Top), (rest, Bottom),
            ],
            Ground.Shade);
        Axes(page, load, "load between the terminals, Ω", supply, $"{map.SupplyName}, V", 1);
        ImmutableArray<Line> lines = Lines(map, load.To / 100);
        List<(double X, double Y)[]> drawn = [];
        foreach ((Line line, int i) in lines.Select((l, i) => (l, i)))
        {
            drawn.Add(Boundary(page, map, line.Layer.HardestLoads, load, supply, Ground.Ink, 1.8, Dashes[i % Dashes.Length]));
        }

        drawn.Add(Boundary(page, map, map.Layers[0].HardestLoadsOfScale, load, supply, Ground.Quiet, 1, ""));
        drawn.AddRange(Rated(page, map, sure, load, supply));
        Values(page, map, worst, load, supply, drawn);
        Legend(page, map, lines);
    }

    /// <summary>The lines that are told apart: layers whose loads differ by less than one can see are one line with several names.</summary>
    /// <param name="least">Difference of loads that is seen, Ω; where no supply decides, every layer is a line of its own.</param>
    private static ImmutableArray<Line> Lines(ComplianceMap map, double least)
    {
        List<Line> lines = [];
        foreach (ComplianceLayer layer in map.Layers)
        {
            int same = lines.FindIndex(l => l.Layer.HardestLoads.Zip(layer.HardestLoads, (a, b) => a == b || Math.Abs(Math.Min(a, map.Loads[^1]) - Math.Min(b, map.Loads[^1])) < least).All(s => s));
            if (same >= 0 && map.SupplyName is not null)
            {
                lines[same] = lines[same] with { Names = $"{lines[same].Names}; {layer.Name}" };
            }
            else
            {
                lines.Add(new Line(layer, layer.Name));
            }
        }

        return [.. lines];
    }

    /// <summary>A boundary where it lies inside the picture.</summary>
    /// <returns>What was drawn.</returns>
    private static (double X, double Y)[] Boundary(SvgPage page, ComplianceMap map, IReadOnlyList<double> greatest, Scale load, Scale supply, string ink, double thickness, string dashes)
    {
        List<(double, double)> points = [];
        for (int i = 0; i < greatest.Count; i++)
        {
            double x = greatest[i];
            if (x > load.To)
            {
                if (i > 0 && greatest[i - 1] < load.To)
                {
                    double share = (load.To - greatest[i - 1]) / (x - greatest[i - 1]);
                    points.Add((load.Of(load.To), supply.Of(map.Supplies[i - 1] + (share * (map.Supplies[i] - map.Supplies[i - 1])))));
                }

                continue;
            }

            points.Add((load.Of(x), supply.Of(map.Supplies[i])));
        }

        if (points.Count > 1)
        {
            page.Curve(points, ink, thickness, dashes);
        }

        return [.. points];
    }

    /// <summary>Whether the box of a text is nearer to a drawn line than one can read it.</summary>
    private static bool IsCrossed(Area box, IEnumerable<(double X, double Y)[]> drawn)
    {
        const double Clear = 8;
        const double Step = 3;
        foreach ((double X, double Y)[] line in drawn)
        {
            for (int i = 1; i < line.Length; i++)
            {
                ((double x1, double y1), (double x2, double y2)) = (line[i - 1], line[i]);
                int steps = 1 + (int)(Math.Sqrt(((x2 - x1) * (x2 - x1)) + ((y2 - y1) * (y2 - y1))) / Step);
                for (int s = 0; s <= steps; s++)
                {
                    (double x, double y) = (x1 + ((x2 - x1) * s / steps), y1 + ((y2 - y1) * s / steps));
                    if (x > box.Left - Clear && x < box.Right + Clear && y > box.Top - Clear && y < box.Bottom + Clear)
                    {
                        return true;
                    }
                }
            }
        }

        return false;
    }

    /// <summary>What the worst unit gives, in mA or V, at every fourth load and supply, but where a line or a name would run through it.</summary>
    private static void Values(SvgPage page, ComplianceMap map, ComplianceLayer[] worst, Scale load, Scale supply, List<(double X, double Y)[]> drawn)
    {
        for (int row = 1; row < map.Supplies.Length; row += 4)
        {
            for (int column = 2; column < map.Loads.Length; column += 4)
            {
                double value = worst.Min(l => map.At(l, row, column));
                int decimals = map.Signal.ShownDecimals - 1;
                string text = double.IsNaN(value) ? Engineering.NoValue
                    : value >= map.Top ? "≥ " + Engineering.Fixed(map.Top / map.Signal.ShownScale, decimals)
                    : Engineering.Fixed(value / map.Signal.ShownScale, decimals);
                (double x, double y) = (load.Of(map.Loads[column]), supply.Of(map.Supplies[row]) + 4);
                double half = CircuitLayout.WidthOf(text, 11) / 2;
                if (!IsCrossed(new Area(x - half, y - 9, x + half, y + 1), drawn))
                {
                    page.Text(x, y, text, Ground.Quiet, 11, "middle", hasHalo: true);
                }
            }
        }
    }

    /// <returns>The frame and its names, as lines through them.</returns>
    private static IEnumerable<(double X, double Y)[]> Rated(SvgPage page, ComplianceMap map, double[] sure, Scale load, Scale supply)
    {
        (double low, double high) = map.RatedSupply;
        (double x, double y) = (load.Of(map.RatedLoad.Low), supply.Of(high));
        page.Rectangle(x, y, Math.Max(2, load.Of(map.RatedLoad.High) - x), Math.Max(2, supply.Of(low) - y), "none", Ground.Ink, 2.5);
        page.Text(x + 8, y - 7, "rated load and supply", Ground.Ink, 12, isStrong: true);

        // The corner that decides: the load that asks most at the lowest supply.
        double reach = Interpolate(map.Supplies, sure, low);
        bool isVoltage = map.Signal.IsVoltage;
        double hard = isVoltage ? map.RatedLoad.Low : map.RatedLoad.High;
        bool met = isVoltage ? reach <= hard : reach >= hard;
        double cornerX = load.Of(hard);
        double cornerY = supply.Of(low);
        page.Text(
            cornerX + (isVoltage ? 8 : -8), cornerY - 8,
            met ? $"{Engineering.Format(Math.Abs(reach - hard), "Ω", 3)} to spare"
                : double.IsFinite(reach) ? $"■ not met: {Engineering.Format(reach, "Ω", 3)} is the {(isVoltage ? "least" : "most")}" : "■ not met at any load",
            met ? Ground.Ink : Ground.Vermilion, 12, isVoltage ? "start" : "end", isStrong: !met);
        page.Rectangle(cornerX - 4, cornerY - 4, 8, 8, met ? Ground.Ink : Ground.Vermilion);
        (double right, double bottom) = (load.Of(map.RatedLoad.High), supply.Of(low));
        return
        [
            [(x, y), (right, y), (right, bottom), (x, bottom), (x, y)],
            [(x + 8, y - 11), (x + 150, y - 11)],
            isVoltage ? [(cornerX + 8, cornerY - 12), (cornerX + 130, cornerY - 12)] : [(cornerX - 130, cornerY - 12), (cornerX - 8, cornerY - 12)],
        ];
    }

    private static void OverLoad(SvgPage page, ComplianceMap map)
    {
        Scale load = new(0, map.Loads[^1], Left, Right);
        Scale output = new(0, map.Top / map.Signal.ShownScale, Bottom, Top);
        Axes(page, load, "load between the terminals, Ω", output, $"greatest controlled {map.Signal.Noun}, {map.Signal.ShownUnit}", 1);
        for (int i = 0; i < map.Layers.Length; i++)
        {
            ComplianceLayer layer = map.Layers[i];
            page.Curve(
                map.Loads.Select((r, column) => (load.Of(r), output.Of(map.At(layer, 0, column) / map.Signal.ShownScale))).Where(p => !double.IsNaN(p.Item2)),
                Ground.Ink, 1.8, Dashes[i % Dashes.Length]);
        }

        double needed = output.Of(map.Needed / map.Signal.ShownScale);
        page.Line(Left, needed, Right, needed, Ground.Quiet);
        page.Text(Right, needed - 6, Needed(map), Ground.Quiet, 11, "end");
        bool isVoltage = map.Signal.IsVoltage;
        double end = load.Of(isVoltage ? map.RatedLoad.Low : map.RatedLoad.High);
        page.Line(end, Top, end, Bottom, Ground.Ink, 2.5);
        page.Text(end + (isVoltage ? 6 : -6), Top + 14, isVoltage ? "least rated load" : "greatest rated load", Ground.Ink, 12, isVoltage ? "start" : "end", isStrong: true);
        Legend(page, map, Lines(map, 0));
    }

    private static void Axes(SvgPage page, Scale across, string acrossName, Scale up, string upName, double hair)
    {
        foreach (double tick in across.Ticks())
        {
            page.Line(across.Of(tick), Top, across.Of(tick), Bottom, Ground.Hairline, hair);
            page.Text(across.Of(tick), Bottom + 18, Engineering.Number(tick, 4), Ground.Quiet, 11, "middle");
        }

        foreach (double tick in up.Ticks())
        {
            page.Line(Left, up.Of(tick), Right, up.Of(tick), Ground.Hairline, hair);
            page.Text(Left - 8, up.Of(tick) + 4, Engineering.Number(tick, 4), Ground.Quiet, 11, "end");
        }

        page.Text(Right, Bottom + 38, acrossName, Ground.Ink, 12, "end");
        page.Text(24, Top - 14, upName, Ground.Ink);
    }

    private static void Legend(SvgPage page, ComplianceMap map, ImmutableArray<Line> lines)
    {
        const double Row = 18;
        double y = Bottom + 58;
        for (int i = 0; i < lines.Length; i++)
        {
            page.Curve([(24, y - 4), (60, y - 4)], Ground.Ink, 1.8, Dashes[i % Dashes.Length]);
            page.Text(70, y, lines[i].Names, Ground.Ink, 11);
            y += Row;
        }

        if (map.SupplyName is not null)
        {
            page.Text(70, y, $"to the {(map.Signal.IsVoltage ? "right" : "left")} of a line {Engineering.Format(map.Needed, map.Signal.Unit)} {(map.Signal.IsVoltage ? "stand" : "flow")}", Ground.Quiet, 11);
            page.Curve([(460, Bottom + 54), (496, Bottom + 54)], Ground.Quiet, 1);
            page.Text(506, Bottom + 58, $"stated parts, {Engineering.Format(map.ScaleEnd, map.Signal.Unit)}", Ground.Quiet, 11);
            page.Text(460, Bottom + 58 + Row, $"figures: greatest controlled {map.Signal.Noun} of the worst parts, {map.Signal.ShownUnit}", Ground.Quiet, 11);
            page.Text(460, Bottom + 58 + (2 * Row), $"shaded: some unit does not {(map.Signal.IsVoltage ? "give" : "pass")} {Engineering.Format(map.Needed, map.Signal.Unit)}", Ground.Quiet, 11);
        }
    }

    private static double Interpolate(ImmutableArray<double> x, double[] y, double at)
    {
        int i = 1;
        while (i < x.Length - 1 && at > x[i])
        {
            i++;
        }

        return y[i - 1] + ((at - x[i - 1]) / (x[i] - x[i - 1]) * (y[i] - y[i - 1]));
    }

    /// <summary>A line of the picture, with the names of all that it stands for.</summary>
    private sealed record Line(ComplianceLayer Layer, string Names);

    /// <summary>Values onto pixels, straight.</summary>
    private sealed record Scale(double From, double To, double First, double Last)
    {
        private static readonly double[] Round = [1, 2, 5, 10];

        public double Of(double value) => First + ((Math.Clamp(value, From, To) - From) / (To - From) * (Last - First));

        /// <summary>About eight round values.</summary>
        public IEnumerable<double> Ticks()
        {
            double raw = (To - From) / 8;
            double decade = Math.Pow(10, Math.Floor(Math.Log10(raw)));
            double step = Round.Select(f => f * decade).First(s => s >= raw);
            for (double tick = Math.Ceiling(From / step) * step; tick <= To + (step * 1e-9); tick += step)
            {
                yield return tick;
            }
        }
    }
}
