using System.Collections.Immutable;
using System.Globalization;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

/// <summary>Reads what the sections of a current loop and of a voltage output have in common.</summary>
internal static class OutputReader
{
    /// <summary>All that both have; null where terminals, load or scale cannot be had.</summary>
    /// <param name="terminals">The key of the pair of terminals.</param>
    /// <param name="bench">What the output is trimmed with, among others.</param>
    public static Loop? Read(MapView map, string terminals, BenchSection bench, OutputSignal signal)
    {
        if (map.Pair(terminals) is not var (plus, minus) || map.Range("load") is not { } load || ReadScale(map) is not { } scale)
        {
            return null;
        }

        CheckTerminals(map, plus, minus);
        OutputLimits limits = ReadLimits(map, signal);
        return new Loop
        {
            Signal = signal,
            Plus = plus,
            Minus = minus,
            Scale = scale,
            Under = limits.Under,
            Over = limits.Over,
            Failure = limits.Failure,
            Test = map.Range("test"),
            Receiver = load,
            Cable = ReadCable(map),
            Trim = ReadTrim(map, limits, bench, signal),
            NoiseLimit = map.Quantity("noise"),
            Span = map.Span,
        };
    }

    /// <summary>Two points or more; null where there are less.</summary>
    private static ImmutableArray<ScalePoint>? ReadScale(MapView map)
    {
        if (map.Context.Measurand is not { } measurand)
        {
            return null;
        }

        ImmutableArray<ScalePoint>.Builder scale = ImmutableArray.CreateBuilder<ScalePoint>();
        HashSet<double> seen = [];
        foreach ((ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) in map.Points("scale"))
        {
            if (measurand.Convert(from, fromNode, map.Context.Sink) is not { } at)
            {
                continue;
            }

            if (!seen.Add(at.Value))
            {
                map.Report(Codes.Contradiction, fromNode.Span, "Two points have the same value of the measurand.", "each value once", fromNode.Found);
                continue;
            }

            scale.Add(new ScalePoint(at, to.ToQuantity(toNode.Span, toNode.Text), new SourceSpan(fromNode.Span.Source, fromNode.Span.Start, Math.Max(fromNode.Span.End, toNode.Span.End))));
        }

        return scale.Count < 2 ? null : scale.ToImmutable();
    }

    private static void CheckTerminals(MapView map, Located<string> plus, Located<string> minus)
    {
        if (plus.Value == minus.Value)
        {
            map.Report(Codes.Contradiction, minus.Span, $"Both terminals of the {map.Shape.Title} are the same node.", "two nodes", $"`{minus.Value}`");
        }
    }

    private static OutputLimits ReadLimits(MapView map, OutputSignal signal)
    {
        MapView? limits = map.Inner("limits");
        OutputLimits read = new(limits?.Quantity("under"), limits?.Quantity("over"), limits?.Quantity("failure"));
        if (read is { Under: { } under, Over: { } over } && under.Value >= over.Value)
        {
            map.Report(Codes.Contradiction, over.Span, "The upper limit is not above the lower one.", $"a {signal.Noun} above {under.Text}", $"`{over.Text}`");
        }

        return read;
    }

    private static LoopCable? ReadCable(MapView map)
    {
        if (map.Inner("cable") is not { } cable || cable.Quantity("length") is not { } length || cable.Quantity("area") is not { } area)
        {
            return null;
        }

        if (double.IsNaN(CopperWire.NearestSection(area.Value * 1e6)))
        {
            string known = string.Join(", ", CopperWire.StandardSections.Select(s => s.ToString(CultureInfo.InvariantCulture)));
            cable.Report(
                Codes.OutOfRange, area.Span, "IEC 60228 has no conductor of this cross section.", $"one of {known} mm²", $"`{area.Text}`",
                "Take a cross section of the standard, or count the cable's resistance in `load`.");
            return null;
        }

        return new LoopCable
        {
            Length = length,
            Area = area,
            Class = cable.Word("class") is { } word ? int.Parse(word.Value, CultureInfo.InvariantCulture) : 2,
            Temperature = cable.Range("temperature") ?? new QuantityRange(Dimension.Temperature, 20, 20, default, ""),
            Span = cable.Span,
        };
    }

    private static LoopTrim? ReadTrim(MapView map, OutputLimits limits, BenchSection bench, OutputSignal signal)
    {
        if (map.Inner("trim") is not { } trim || trim.Quantity("low") is not { } low || trim.Quantity("high") is not { } high
            || trim.Quantity("meter") is not { } digits || trim.Quantity("accept") is not { } accept)
        {
            return null;
        }

        if (high.Value <= low.Value)
        {
            trim.Report(
                Codes.Contradiction, high.Span, $"The higher {signal.Noun} of the trim is not above the lower one: no gain follows from the two.", $"a {signal.Noun} above {low.Text}", $"`{high.Text}`",
                $"Take two {signal.Noun}s far apart, such as the ends of the scale.");
            return null;
        }

        double[] given = [.. map.Points("scale").Select(p => p.To.Value), .. limits.All.Select(q => q.Value), .. map.Range("test") is { } test ? new[] { test.Low, test.High } : []];
        (double least, double most) = (given.Min(), given.Max());
        foreach (Quantity asked in new[] { low, high }.Where(c => c.Value < least || c.Value > most))
        {
            trim.Report(
                Codes.OutOfRange, asked.Span, $"The output never gives this {signal.Noun}: it lies outside of scale, limits and output test.",
                string.Create(CultureInfo.InvariantCulture, $"{least / signal.ShownScale:0.###} .. {most / signal.ShownScale:0.###} {signal.ShownUnit}"), $"`{asked.Text}`",
                "Take the ends of the scale.");
            return null;
        }

        if (accept.Tolerance >= (high.Value - low.Value) / 2)
        {
            trim.Report(
                Codes.Contradiction, accept.Span, $"What is entered at both {signal.Noun}s may be the same: no gain follows from it.", $"less than half of what lies between {low.Text} and {high.Text}", $"`{accept.Text}`",
                "Accept what an adjusted unit shows and little more.");
            return null;
        }

        double step = trim.Quantity("step")?.Value ?? signal.FineScale;
        return new LoopTrim
        {
            Low = low,
            High = high,
            Accept = accept,
            Step = step,
            LowCounts = Counts(low, "low"),
            HighCounts = Counts(high, "high"),
            Span = trim.Span,
        };

        Parameter Counts(Quantity at, string which)
        {
            double count = DigitalMeter.CountOf(digits.Value, at.Value, signal.Dimension);

            // What the meter shows between two steps of the entry is rounded to one of them.
            double wrongBy = (count * bench.MeterOf(signal.Dimension).Counts) + (step > count * 1.0000001 ? step / 2 : 0);
            return new Parameter(BenchReader.Owner, $"meter digits at the {which} {signal.Noun} of the trim", new Quantity(signal.Dimension, 0, -wrongBy, wrongBy, 0, 0, digits.Span, digits.Text));
        }
    }
}
