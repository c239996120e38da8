using System.Globalization;
using System.Text;

namespace Throughline.Firmware;

/// <summary>The error of the integer arithmetic over the converter's codes, every one of them, for a unit that was never calibrated: as a table and as a picture.</summary>
public sealed class ErrorCurve
{
    private const int Columns = 720;

    private readonly ArithmeticDesign _design;

    private ErrorCurve(ArithmeticDesign design) => _design = design;

    private string Unit => _design.Law.Instrument.Specification.Unit;

    /// <summary>Comma-separated: a line with names and units, then one line for each code that counts; numbers with a point.</summary>
    public static IEnumerable<string> Csv(ArithmeticProof proof)
    {
        string unit = proof.Design.Law.Instrument.Specification.Unit;
        yield return $"code,exact ({unit}),error ({unit})";
        foreach (CodeError e in proof.Curve())
        {
            yield return string.Create(CultureInfo.InvariantCulture, $"{e.Code},{e.Exact:G9},{e.Error:G4}");
        }
    }

    /// <summary>
    /// A picture that needs no other file: for each of 720 columns the least and the greatest error of all codes in it, so that none is left out; the proved bound and what is allowed as end bars.
    /// </summary>
    public static string Svg(ArithmeticProof proof) => new ErrorCurve(proof.Design).Draw(proof);

    private string Draw(ArithmeticProof proof)
    {
        const double Left = 96;
        const double Top = 64;
        const double Height = 320;
        const double Width = Columns;
        double bound = _design.Measurand.Error;
        double limit = Math.Max(_design.Allowed, bound);
        double top = Ceiling(limit * 1.05);
        long first = (long)_design.Code.Low;
        double perColumn = ((double)_design.Code.High - first + 1) / Columns;
        (double Low, double High)?[] columns = new (double, double)?[Columns];
        foreach (CodeError e in proof.Curve())
        {
            int at = Math.Clamp((int)((e.Code - first) / perColumn), 0, Columns - 1);
            columns[at] = columns[at] is { } c ? (Math.Min(c.Low, e.Error), Math.Max(c.High, e.Error)) : (e.Error, e.Error);
        }

        StringBuilder svg = new();
        svg.Append(CultureInfo.InvariantCulture, $"<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {Left + Width + 40:F0} {Top + Height + 64:F0}\" font-family=\"Inter, 'Noto Sans', sans-serif\" font-size=\"12\" fill=\"#22262a\">\n");
        svg.Append("<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n");
        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{Left:F0}\" y=\"28\" font-size=\"15\" font-weight=\"600\">{Escaped(_design.Law.Instrument.Name.Value)}</text>\n");
        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{Left:F0}\" y=\"46\" fill=\"#5b6168\">Error of the integer arithmetic over every code of the converter, no calibration</text>\n");
        for (int i = -4; i <= 4; i++)
        {
            double y = Y(top * i / 4);
            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{Left:F0} {y:F1}H{Left + Width:F0}\" stroke=\"{(i == 0 ? "#22262a" : "#d9d5cc")}\" stroke-width=\"{(i == 0 ? 1 : 0.6)}\"/>");
            svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{Left - 8:F0}\" y=\"{y + 4:F1}\" text-anchor=\"end\">{Say(top * i / 4)}</text>\n");
        }

        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"24\" y=\"{Top + (Height / 2):F0}\" transform=\"rotate(-90 24 {Top + (Height / 2):F0})\" text-anchor=\"middle\">error, {Escaped(Unit)}</text>\n");
        for (int i = 0; i <= 4; i++)
        {
            double x = Left + (Width * i / 4);
            double code = Math.Round(first + (((double)_design.Code.High - first) * i / 4));
            svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{x:F1} {Top + Height:F0}v5\" stroke=\"#22262a\"/><text x=\"{x:F1}\" y=\"{Top + Height + 20:F0}\" text-anchor=\"middle\">{code:F0}</text>\n");
        }

        svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{Left + (Width / 2):F0}\" y=\"{Top + Height + 42:F0}\" text-anchor=\"middle\">code of the converter</text>\n");
        foreach ((double at, string colour, string name) in new[] { (_design.Allowed, "#b3401f", "allowed"), (bound, "#5b6168", "proved") })
        {
            foreach (double side in new[] { at, -at })
            {
                svg.Append(CultureInfo.InvariantCulture, $"<path d=\"M{Left:F0} {Y(side):F1}H{Left + Width:F0}\" stroke=\"{colour}\" stroke-width=\"1\" stroke-dasharray=\"2 3\"/>\n");
            }

            svg.Append(CultureInfo.InvariantCulture, $"<text x=\"{Left + Width - 4:F0}\" y=\"{Y(at) - 4:F1}\" text-anchor=\"end\" fill=\"{colour}\">{name} ±{Say(at)} {Escaped(Unit)}</text>\n");
        }

        svg.Append("<path fill=\"none\" stroke=\"#1f5fa8\" stroke-width=\"1\" d=\"");
        for (int i = 0; i < Columns; i++)
        {
            if (columns[i] is { } c)
            {
                // A column whose errors are all one is still a dot.
                double low = Y(c.Low) + 0.4;
                double high = Y(c.High) - 0.4;
                svg.Append(CultureInfo.InvariantCulture, $"M{Left + i + 0.5:F1} {low:F1}V{high:F1}");
            }
        }

        svg.Append("\"/>\n</svg>\n");
        return svg.ToString();

        double Y(double error) => Top + (Height / 2) - (error / top * Height / 2);
    }

    /// <summary>The next of 1, 2, 4, 8 times a power of ten, so that quarters are short numbers.</summary>
    private static double Ceiling(double value)
    {
        double decade = Math.Pow(10, Math.Floor(Math.Log10(value)));
        return new[] { 1.0, 2, 4, 8, 10 }.First(f => f * decade >= value * (1 - 1e-12)) * decade;
    }

    private static string Say(double value) => Math.Round(value, 12).ToString("G4", CultureInfo.InvariantCulture).Replace('-', '−');

    private static string Escaped(string text) => text.Replace("&", "&amp;", StringComparison.Ordinal).Replace("<", "&lt;", StringComparison.Ordinal).Replace(">", "&gt;", StringComparison.Ordinal);
}
