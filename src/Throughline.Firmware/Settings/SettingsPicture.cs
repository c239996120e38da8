using System.Globalization;
using System.Security;
using System.Text;

namespace Throughline.Firmware;

/// <summary>The map of the settings memory as a picture: SVG 1.1, self-contained, eight bytes to a row. Records are told apart by their words, copies by their ground.</summary>
public static class SettingsPicture
{
    private const int PerRow = 8;
    private const int Cell = 96;
    private const int RowHeight = 46;
    private const int RowPitch = 58;
    private const int Left = 64;
    private const int Top = 64;

    /// <summary>The picture, of a light ground.</summary>
    public static string Write(SettingsLayout layout)
    {
        SettingsRegion[] regions = [.. SettingsMap.Of(layout)];
        int rows = (layout.End + PerRow - 1) / PerRow;
        int width = Left + (PerRow * Cell) + 24;
        int height = Top + (rows * RowPitch) + 16;
        StringBuilder text = new();
        Line($"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" font-family=\"Inter, 'DejaVu Sans', sans-serif\" font-size=\"11\" fill=\"#1d2733\">");
        Line($"<title>Settings memory of {Escaped(layout.Instrument.Name.Value)}</title>");
        Line($"<rect width=\"{width}\" height=\"{height}\" fill=\"#fbfaf6\"/>");
        Line($"<text x=\"{Left}\" y=\"26\" font-size=\"14\">Settings memory: {layout.End} of {layout.Size} B</text>");
        for (int column = 0; column < PerRow; column++)
        {
            Line($"<text x=\"{Left + (column * Cell) + (Cell / 2)}\" y=\"{Top - 10}\" text-anchor=\"middle\" fill=\"#5b6673\">+{column}</text>");
        }

        for (int row = 0; row < rows; row++)
        {
            Line($"<text x=\"{Left - 10}\" y=\"{Top + (row * RowPitch) + 27}\" text-anchor=\"end\" fill=\"#5b6673\">{row * PerRow}</text>");
        }

        foreach (SettingsRegion region in regions)
        {
            // A region that crosses the end of a row is drawn in pieces; the largest one bears the words.
            (int Start, int Bytes)[] pieces = [.. Pieces(region)];
            (int Start, int Bytes) largest = pieces.MaxBy(p => p.Bytes);
            foreach ((int start, int bytes) in pieces)
            {
                int x = Left + (start % PerRow * Cell);
                int y = Top + (start / PerRow * RowPitch);
                Line($"<g><title>{Escaped($"{region.Record}, copy {region.Copy}: {region.What}, {region.Word}, address {region.Address}, {region.Bytes} B")}</title>");
                Line($"<rect x=\"{x}\" y=\"{y}\" width=\"{bytes * Cell}\" height=\"{RowHeight}\" fill=\"{(region.Copy % 2 == 1 ? "#ffffff" : "#f1efe8")}\" stroke=\"#5b6673\"/>");
                for (int line = 1; line < bytes; line++)
                {
                    Line($"<line x1=\"{x + (line * Cell)}\" y1=\"{y + RowHeight - 6}\" x2=\"{x + (line * Cell)}\" y2=\"{y + RowHeight}\" stroke=\"#9aa3ab\"/>");
                }

                if ((start, bytes) == largest)
                {
                    Line($"<text x=\"{x + (bytes * Cell / 2)}\" y=\"{y + 19}\" text-anchor=\"middle\">{Escaped(Short(region.What.Split(',')[0], bytes))}</text>");
                    Line($"<text x=\"{x + (bytes * Cell / 2)}\" y=\"{y + 34}\" text-anchor=\"middle\" fill=\"#5b6673\">{Escaped(Short($"{region.Record} {region.Copy}", bytes))}</text>");
                }

                Line($"</g>");
            }
        }

        Line($"</svg>");
        return text.ToString();

        void Line(FormattableString line) => text.Append(line.ToString(CultureInfo.InvariantCulture)).Append('\n');
    }

    private static IEnumerable<(int Start, int Bytes)> Pieces(SettingsRegion region)
    {
        int end = region.Address + region.Bytes;
        for (int start = region.Address; start < end;)
        {
            int stop = Math.Min(end, ((start / PerRow) + 1) * PerRow);
            yield return (start, stop - start);
            start = stop;
        }
    }

    /// <summary>As much of a text as the cells have room for, at some six units a letter.</summary>
    private static string Short(string text, int bytes)
    {
        int most = Math.Max(1, (bytes * Cell / 6) - 1);
        return text.Length <= most ? text : text[..(most - 1)] + "…";
    }

    private static string Escaped(string text) => SecurityElement.Escape(text) ?? "";
}
