using System.Globalization;
using System.Text;

namespace Throughline.Papers;

/// <summary>Writes a drawing as SVG 1.1 that needs nothing else: no script, no font, no picture from elsewhere.</summary>
internal sealed class SvgPage
{
    private readonly StringBuilder _text = new();
    private bool _isClosed;

    /// <param name="width">px.</param>
    /// <param name="height">px.</param>
    /// <param name="title">What it shows, for a reader who does not see it.</param>
    public SvgPage(double width, double height, string title)
    {
        _text.Append(CultureInfo.InvariantCulture, $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {Of(width)} {Of(height)}\" width=\"{Of(width)}\" height=\"{Of(height)}\" role=\"img\" font-family=\"{Ground.Font}\">\n");
        _text.Append("<title>").Append(Escape(title)).Append("</title>\n");
        Rectangle(0, 0, width, height, Ground.Paper);
    }

    /// <summary>What is drawn until <see cref="ClosePart"/> is one part, which a page can find by its name and take hold of anywhere in its area.</summary>
    public void OpenPart(string name, Area area) =>
        _text.Append($"<g data-part=\"{Escape(name)}\"><rect x=\"{Of(area.Left - 3)}\" y=\"{Of(area.Top - 3)}\" width=\"{Of(area.Right - area.Left + 6)}\" height=\"{Of(area.Bottom - area.Top + 6)}\" fill=\"none\" stroke=\"none\" pointer-events=\"all\"/>\n");

    public void ClosePart() => _text.Append("</g>\n");

    public void Rectangle(double x, double y, double width, double height, string fill, string stroke = "none", double thickness = 1) =>
        _text.Append($"<rect x=\"{Of(x)}\" y=\"{Of(y)}\" width=\"{Of(width)}\" height=\"{Of(height)}\" fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{Of(thickness)}\"/>\n");

    public void Line(double x1, double y1, double x2, double y2, string stroke, double thickness = 1) =>
        _text.Append($"<line x1=\"{Of(x1)}\" y1=\"{Of(y1)}\" x2=\"{Of(x2)}\" y2=\"{Of(y2)}\" stroke=\"{stroke}\" stroke-width=\"{Of(thickness)}\"/>\n");

    /// <param name="dashes">Lengths of dashes and gaps, such as <c>6 4</c>; empty for a full line.</param>
    public void Curve(IEnumerable<(double X, double Y)> points, string stroke, double thickness = 1.5, string dashes = "")
    {
        string path = string.Join(' ', points.Select(p => $"{Of(p.X)},{Of(p.Y)}"));
        string dash = dashes.Length > 0 ? $" stroke-dasharray=\"{dashes}\"" : "";
        _text.Append($"<polyline points=\"{path}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{Of(thickness)}\"{dash}/>\n");
    }

    public void Area(IEnumerable<(double X, double Y)> points, string fill) =>
        _text.Append($"<polygon points=\"{string.Join(' ', points.Select(p => $"{Of(p.X)},{Of(p.Y)}"))}\" fill=\"{fill}\"/>\n");

    public void Dot(double x, double y, double radius, string fill) =>
        _text.Append($"<circle cx=\"{Of(x)}\" cy=\"{Of(y)}\" r=\"{Of(radius)}\" fill=\"{fill}\"/>\n");

    public void Circle(double x, double y, double radius, string stroke) =>
        _text.Append($"<circle cx=\"{Of(x)}\" cy=\"{Of(y)}\" r=\"{Of(radius)}\" fill=\"{Ground.Paper}\" stroke=\"{stroke}\" stroke-width=\"1.2\"/>\n");

    /// <param name="hasHalo">Whether lines behind it give way.</param>
    /// <param name="anchor"><c>start</c>, <c>middle</c> or <c>end</c>.</param>
    public void Text(double x, double y, string text, string fill = Ground.Ink, double size = 12, string anchor = "start", bool isStrong = false, bool hasHalo = false) =>
        _text.Append(
            $"<text x=\"{Of(x)}\" y=\"{Of(y)}\" font-size=\"{Of(size)}\" fill=\"{fill}\" text-anchor=\"{anchor}\"{(isStrong ? " font-weight=\"600\"" : "")}{(hasHalo ? $" paint-order=\"stroke\" stroke=\"{Ground.Paper}\" stroke-width=\"3\"" : "")} style=\"font-variant-numeric:tabular-nums\">{Escape(text)}</text>\n");

    /// <summary>The whole drawing.</summary>
    public string Close()
    {
        if (!_isClosed)
        {
            _text.Append("</svg>\n");
            _isClosed = true;
        }

        return _text.ToString();
    }

    private static string Of(double value) => Math.Round(value, 2).ToString(CultureInfo.InvariantCulture);

    /// <summary>Text as XML 1.0 takes it; what it does not take becomes U+FFFD.</summary>
    private static string Escape(string text)
    {
        StringBuilder safe = new(text.Length);
        foreach (Rune rune in text.EnumerateRunes())
        {
            _ = rune.Value switch
            {
                '<' => safe.Append("&lt;"),
                '>' => safe.Append("&gt;"),
                '&' => safe.Append("&amp;"),
                '"' => safe.Append("&quot;"),
                < 0x20 or 0x7F or 0xFFFE or 0xFFFF => safe.Append('\uFFFD'),
                _ => safe.Append(rune.ToString()),
            };
        }

        return safe.ToString();
    }
}
