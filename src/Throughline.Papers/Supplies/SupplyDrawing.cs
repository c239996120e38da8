using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Papers;

/// <summary>
/// The tree of the supplies as a picture: from outside on the left, each rail to the right of what feeds it, with its voltage, its current typical and at
/// most, and its heat. A bar under each is its current at most as a part of its limit; what is beyond a limit is vermilion, with a word.
/// </summary>
public static class SupplyDrawing
{
    private const double Margin = 24;
    private const double Top = 84;
    private const double BoxWidth = 208;
    private const double BoxHeight = 86;
    private const double Across = 256;
    private const double Down = 104;

    /// <summary>The picture as SVG.</summary>
    /// <param name="instrument">Its name stands above.</param>
    /// <param name="typical">The typical operating point.</param>
    /// <param name="worst">Each rail at its worst, in the same order; empty leaves the bars out.</param>
    public static string Draw(Instrument instrument, SupplyPoint typical, ImmutableArray<RailWorst> worst)
    {
        Dictionary<string, (int Column, int Row)> places = [];
        int rows = 0;
        void Place(string? from, int column)
        {
            foreach (RailPoint rail in typical.Rails.Where(r => r.Supply.From?.Value == from))
            {
                string name = rail.Supply.Name.Value;
                places[name] = (column, rows);
                int before = rows;
                Place(name, column + 1);
                rows = Math.Max(rows, before + 1);
            }
        }

        Place(null, 0);
        int columns = places.Values.Max(p => p.Column) + 1;
        double width = (2 * Margin) + ((columns - 1) * Across) + BoxWidth;
        SvgPage page = new(Math.Max(width, 520), Top + (rows * Down) + Margin, $"Supplies of {instrument.Name.Value}");
        page.Text(Margin, 34, instrument.Name.Value, size: 16, isStrong: true);
        string revision = instrument.Revision is { } r ? $"revision {r.Value} · " : "";
        page.Text(Margin, 56, $"{revision}supplies · {Engineering.Format(typical.FeedingWatts, "W", 3)} typical from {(typical.Rails.Any(r => r.Supply.Kind == SupplyKind.Loop) ? "the loop" : "outside")}", Ground.Quiet);
        for (int i = 0; i < typical.Rails.Length; i++)
        {
            RailPoint rail = typical.Rails[i];
            (double x, double y) = Corner(places[rail.Supply.Name.Value]);
            if (rail.Supply.From is { } from)
            {
                (double fromX, double fromY) = Corner(places[from.Value]);
                double bend = x - ((Across - BoxWidth) / 2);
                page.Curve([(fromX + BoxWidth, fromY + 20), (bend, fromY + 20), (bend, y + 20), (x, y + 20)], Ground.Ink, 1);
            }

            Box(page, x, y, rail, worst.IsEmpty ? null : worst[i]);
        }

        return page.Close();
    }

    private static (double X, double Y) Corner((int Column, int Row) place) => (Margin + (place.Column * Across), Top + (place.Row * Down));

    private static void Box(SvgPage page, double x, double y, RailPoint rail, RailWorst? worst)
    {
        page.Rectangle(x, y, BoxWidth, BoxHeight, Ground.Paper, Ground.Ink);
        page.Text(x + 10, y + 20, rail.Supply.Name.Value, size: 13, isStrong: true);
        page.Text(x + BoxWidth - 10, y + 20, Engineering.Format(rail.OutputVolts, "V", 4), size: 13, anchor: "end");
        page.Text(x + 10, y + 37, rail.Supply.KindWord, Ground.Quiet, 11);
        string most = worst is null ? "" : $" · at most {Engineering.Format(worst.Amperes, "A", 3)}";
        page.Text(x + 10, y + 54, Engineering.Format(Math.Abs(rail.OutputAmperes), "A", 3) + most, size: 12);
        string junction = worst is { JunctionCelsius: var celsius } && double.IsFinite(celsius) ? $" · junction up to {Engineering.Format(celsius, "°C", 3)}" : "";
        page.Text(x + 10, y + 70, $"{Engineering.Format(rail.LossWatts, "W", 2)} heat{junction}", Ground.Quiet, 11);
        if (worst is not null && rail.Supply.Limit is { Value: > 0 } limit)
        {
            double share = worst.Amperes / limit.Value;
            page.Rectangle(x + 10, y + 77, BoxWidth - 20, 3, Ground.Hairline);
            page.Rectangle(x + 10, y + 77, (BoxWidth - 20) * Math.Min(1, share), 3, share > 1 ? Ground.Vermilion : Ground.Ink);
            if (share > 1)
            {
                page.Text(x + BoxWidth - 10, y + 37, "over its limit", Ground.Vermilion, 11, "end", isStrong: true);
            }
        }
    }
}
