using System.Globalization;
using System.Xml.Linq;
using OxyPlot;
using OxyPlot.Annotations;
using OxyPlot.Axes;
using OxyPlot.Series;
using Throughline.Analysis;

namespace Throughline.Workbench.Charts;

/// <summary>Draws curves and histograms as SVG in the page's own colours.</summary>
internal static class ChartPicture
{
    /// <summary>Mean width of a letter of 11 px.</summary>
    private const double Letter = 6.4;

    private static readonly OxyColor Ink = OxyColor.FromRgb(1, 0, 0);
    private static readonly OxyColor Quiet = OxyColor.FromRgb(2, 0, 0);
    private static readonly OxyColor Hair = OxyColor.FromRgb(3, 0, 0);
    private static readonly OxyColor Live = OxyColor.FromRgb(4, 0, 0);
    private static readonly OxyColor Other = OxyColor.FromRgb(6, 0, 0);
    private static readonly OxyColor Pale = OxyColor.FromRgb(7, 0, 0);

    /// <summary>What each colour above is called in the style sheet.</summary>
    private static readonly Dictionary<string, string> Names = new()
    {
        ["rgb(1,0,0)"] = "var(--ink)",
        ["rgb(2,0,0)"] = "var(--ink-quiet)",
        ["rgb(3,0,0)"] = "var(--hair)",
        ["rgb(4,0,0)"] = "var(--live)",
        ["rgb(6,0,0)"] = "var(--other)",
        ["rgb(7,0,0)"] = "var(--asked)",
    };

    /// <summary>A chart as an SVG element.</summary>
    /// <param name="id">Of what it stands in, on its page: what the drawing refers to within itself is named after it.</param>
    public static string Draw(string id, ChartContent content, double width, double height)
    {
        PlotModel model = new()
        {
            PlotAreaBorderThickness = new OxyThickness(0),
            // Names of level limits stand behind the ends of their lines.
            Padding = new OxyThickness(28, 6, 14 + content.Limits.Where(l => !l.IsVertical).Select(l => l.Text.Length * Letter).DefaultIfEmpty().Max(), 8),
            TextColor = Quiet,
            DefaultFont = "Inter",
            DefaultFontSize = 11,
            Culture = CultureInfo.InvariantCulture,
        };
        model.Axes.Add(Axis(AxisPosition.Bottom, content.Horizontal));
        model.Axes.Add(Axis(AxisPosition.Left, content.Vertical));
        foreach (ChartBars bars in content.Bars)
        {
            RectangleBarSeries series = new() { FillColor = Pale, StrokeThickness = 0 };
            foreach ((double low, double high, double value) in bars.Bars)
            {
                series.Items.Add(new RectangleBarItem(low, 0, high, value));
            }

            model.Series.Add(series);
        }

        foreach (ChartLine line in content.Lines)
        {
            LineSeries series = new() { Color = line.Kind == ChartLineKind.Live ? Live : line.Kind == ChartLineKind.Other ? Other : Ink, StrokeThickness = 1.5, LineStyle = line.Kind == ChartLineKind.Other ? LineStyle.Dot : LineStyle.Solid };
            foreach ((double x, double y) in line.Points)
            {
                series.Points.Add(new DataPoint(x, y));
            }

            model.Series.Add(series);
        }

        foreach (ChartLimit limit in content.Limits)
        {
            model.Annotations.Add(new LineAnnotation
            {
                Type = limit.IsVertical ? LineAnnotationType.Vertical : LineAnnotationType.Horizontal,
                X = limit.At,
                Y = limit.At,
                Color = limit.IsStrong ? Ink : Other,
                StrokeThickness = limit.IsStrong ? 2.5 : 1.2,
                LineStyle = limit.IsStrong ? LineStyle.Solid : LineStyle.Dash,
            });
        }

        XElement svg = XElement.Parse(SvgExporter.ExportToString(model, width, height, isDocument: false, useVerticalTextAlignmentWorkaround: true));
        foreach (ChartLimit limit in content.Limits.Where(l => !l.IsVertical && l.Text.Length > 0))
        {
            // Beside the plot, where the library would cut it off.
            svg.Add(new XElement(
                svg.Name.Namespace + "text", new XAttribute("x", Invariant(model.PlotArea.Right + 5)), new XAttribute("y", Invariant(model.Axes[1].Transform(limit.At) + 4)),
                new XAttribute("font-size", "11"), new XAttribute("fill", "var(--ink-quiet)"), limit.Text));
        }

        return Dress(svg, id, content.Title);
    }

    private static string Invariant(double value) => value.ToString("0.##", CultureInfo.InvariantCulture);

    private static Axis Axis(AxisPosition position, ChartAxis said)
    {
        Axis axis = said.IsLogarithmic ? new LogarithmicAxis() : new LinearAxis();
        axis.Position = position;
        axis.Title = said.Title;
        axis.TitleColor = Quiet;
        axis.TextColor = Quiet;
        axis.TicklineColor = Ink;
        axis.AxislineColor = Ink;
        axis.AxislineStyle = LineStyle.Solid;
        axis.AxislineThickness = 1;
        axis.MajorGridlineStyle = LineStyle.Solid;
        axis.MajorGridlineColor = Hair;
        axis.MinorTickSize = 0;
        axis.TitleFontSize = 11;
        axis.AxisTitleDistance = position == AxisPosition.Left ? 20 : 6;
        axis.IntervalLength = position == AxisPosition.Bottom ? 90 : 44;
        axis.LabelFormatter = value => said.IsCount ? Engineering.Fixed(value, 0) : said.IsLogarithmic ? Engineering.Format(value, "", 3) : Engineering.Number(value, 4);
        if (!double.IsNaN(said.Low))
        {
            axis.Minimum = said.Low;
        }

        if (!double.IsNaN(said.High))
        {
            axis.Maximum = said.High;
        }

        return axis;
    }

    /// <summary>Turns styles, which a page forbids, into attributes, and colours into those of the style sheet.</summary>
    private static string Dress(XElement svg, string id, string title)
    {
        foreach (XElement element in svg.DescendantsAndSelf())
        {
            if (element.Attribute("style") is { } style)
            {
                style.Remove();
                foreach (string rule in style.Value.Split(';', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
                {
                    string[] parts = rule.Split(':', 2, StringSplitOptions.TrimEntries);
                    if (parts.Length == 2)
                    {
                        element.SetAttributeValue(parts[0], parts[1]);
                    }
                }
            }

            foreach (XAttribute colour in element.Attributes().Where(a => a.Name.LocalName is "fill" or "stroke").ToArray())
            {
                if (Names.TryGetValue(colour.Value.Replace(" ", "", StringComparison.Ordinal), out string? name))
                {
                    colour.Value = name;
                }
            }

            // Every drawing of the library counts its clipping areas from one, and several drawings stand on a page.
            if (element.Name.LocalName == "clipPath" && element.Attribute("id") is { } named)
            {
                named.Value = $"{id}-{named.Value}";
            }

            if (element.Attribute("clip-path") is { } clip)
            {
                clip.Value = clip.Value.Replace("url(#", $"url(#{id}-", StringComparison.Ordinal);
            }

            element.Attribute("font-family")?.Remove();
        }

        svg.SetAttributeValue("viewBox", $"0 0 {svg.Attribute("width")?.Value} {svg.Attribute("height")?.Value}");
        svg.SetAttributeValue("role", "img");
        svg.SetAttributeValue("aria-label", title);
        svg.SetAttributeValue("class", "chart");
        return svg.ToString(SaveOptions.DisableFormatting);
    }
}
