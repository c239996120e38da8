using System.Collections.Immutable;
using System.Globalization;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

/// <summary>Reads the loop.</summary>
internal static class LoopReader
{
    private static readonly QuantityShape Current = Shapes.Quantity(UnitSets.Current);

    private static readonly MapShape Cable = new(
        "cable",
        "Two cores of plain copper to the receiver. Their resistance is the greatest that IEC 60228 allows.",
        Key.Required("length", Shapes.Quantity(UnitSets.Length, f => f.Positive()), "Greatest length, one way."),
        Key.Required("area", Shapes.Quantity(UnitSets.Area, f => f.Positive()), "Nominal cross section of a core, one of those of IEC 60228."),
        Key.Optional("class", new WordShape("1", "2", "5", "6"), "Class of the conductor by IEC 60228: 1 solid, 2 stranded, 5 flexible, 6 very flexible.", "2"),
        Key.Optional(
            "temperature", Shapes.Quantity(UnitSets.Temperature, f => f.WithSign().OrRange().Saying("a range such as −20 .. 50 °C")), "Temperature along its way.", "20 °C"));

    private static readonly MapShape Clamps = new(
        "clamps",
        "Surge clamps across the terminals.",
        Key.Required("leakage", Shapes.Quantity(UnitSets.Current, f => f.WithBounds().Positive()), "Their current at 25 °C and the voltage of the loop."),
        Key.Optional(
            "doubles every", Shapes.Quantity(UnitSets.TemperatureDifference, f => f.Positive()), "Ambient temperature difference that doubles it.", "the same at every temperature"));

    private static readonly MapShape Communication = new(
        "communication",
        "What digital communication on top of the current asks of the loop.",
        Key.Required("least load", Shapes.Quantity(UnitSets.Resistance, f => f.Positive()), "Resistance that the loop has to have: 230 Ω for signals of 1 mA peak to peak at 1200 and 2200 Hz."),
        Key.Optional("greatest load", Shapes.Quantity(UnitSets.Resistance, f => f.Positive()), "Resistance that it may have."));

    private static readonly MapShape Trim = new(
        "trim",
        "Trim of the output at two currents, after the adjustment: the instrument gives each, a person enters what the meter in the loop shows, the code works out an offset and a gain. "
            + "The errors of that meter are those of `ammeter` under `bench`. Counted in every figure of accuracy.",
        Key.Required("low", Current, "The lower current that is asked for."),
        Key.Required("high", Current, "The higher one."),
        Key.Required("meter", Shapes.Quantity(UnitSets.Digits, f => f.Between(2, 9)), "Digits of the meter."),
        Key.Required("accept", Shapes.Quantity(UnitSets.Current, f => f.OnlyTolerance()), "How far what is shown may be from what is asked for; less than half of what lies between the two currents."),
        Key.Optional("step", Shapes.Quantity(UnitSets.Current, f => f.Positive()), "What is shown is entered in whole steps of this; it counts where the meter tells less apart.", "1 µA"))
    {
        Example = "trim: { low: 4 mA, high: 20 mA, meter: 4.5 digit, accept: ±0.5 mA }",
    };

    public static readonly MapShape Shape = new(
        "loop",
        "The current loop as its receiver sees it.",
        Key.Required("through", Shapes.Pair, "The instrument's terminals: where the current leaves a sourcing instrument, and where it comes back."),
        Key.Required(
            "scale",
            new DictionaryShape("two or more points such as { 3.00 pH: 4 mA, 9.00 pH: 20 mA }", Shapes.Measurand, Current, 2),
            "Measurand against current."),
        Key.Optional(
            "limits",
            new MapShape(
                "loop limits",
                "Currents at the edges of the signal.",
                Key.Optional("under", Current, "Least current while measuring."),
                Key.Optional("over", Current, "Greatest current while measuring."),
                Key.Optional("failure", Current, "Current that signals a failure.")),
            "Currents at the edges of the signal."),
        Key.Optional("test", Shapes.Quantity(UnitSets.Current, f => f.AsRange("0 .. 24 mA")), "Currents that the output test sets."),
        Key.Required("load", Shapes.Quantity(UnitSets.Resistance, f => f.OrRange().Saying("a range such as 0 .. 500 Ω")), "Resistance of the receiver, with anything that has no key of its own."),
        Key.Optional("cable", Cable, "The cable to the receiver; its resistance is added to the load."),
        Key.Optional("barrier", Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().OrRange()), "Resistance of a barrier in the loop; it is added to the load."),
        Key.Optional("clamps", Clamps, "Surge clamps across the terminals."),
        Key.Optional("communication", Communication, "Digital communication on top of the current.", "none"),
        Key.Optional("trim", Trim, "Trim of the output at two currents.", "none"),
        Key.Optional("supply", Shapes.Voltage, "Voltage in series with the load.", "the instrument feeds the loop"),
        Key.Optional("supply ripple", Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Ripple of that voltage, peak to peak, at twice the frequency of the mains."),
        Key.Optional("noise", Shapes.Quantity(UnitSets.Current, f => f.Positive()), "Greatest noise and ripple of the current, peak to peak, that the receiver takes."))
    {
        Example = "loop: { through: [loop+, loop-], scale: { 3.00 pH: 4 mA, 9.00 pH: 20 mA }, limits: { under: 3.8 mA, over: 20.5 mA, failure: 3.6 mA }, load: 0 .. 500 Ω }",
    };

    /// <param name="bench">What the output is trimmed with, among others.</param>
    public static Loop? Read(MapView map, BenchSection bench)
    {
        if (map.Pair("through") is not var (plus, minus) || map.Range("load") is not { } load || map.Context.Measurand is not { } measurand)
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

        if (plus.Value == minus.Value)
        {
            map.Report(Codes.Contradiction, minus.Span, "Both terminals of the loop are the same node.", "two nodes", $"`{minus.Value}`");
        }

        MapView? limits = map.Inner("limits");
        Quantity? under = limits?.Quantity("under");
        Quantity? over = limits?.Quantity("over");
        if (under is not null && over is not null && under.Value >= over.Value)
        {
            map.Report(Codes.Contradiction, over.Span, "The upper limit is not above the lower one.", $"a current above {under.Text}", $"`{over.Text}`");
        }

        if (map.Quantity("supply ripple") is { } ripple && !map.Has("supply"))
        {
            map.Report(Codes.Contradiction, ripple.Span, "The loop has no supply of its own whose ripple this could be.", "a loop with a `supply`", $"`{ripple.Text}`");
        }

        return scale.Count < 2
            ? null
            : new Loop
            {
                Plus = plus,
                Minus = minus,
                Scale = scale.ToImmutable(),
                Under = under,
                Over = over,
                Failure = limits?.Quantity("failure"),
                Test = map.Range("test"),
                Receiver = load,
                Cable = ReadCable(map),
                Barrier = map.Range("barrier"),
                Clamps = ReadClamps(map),
                Communication = ReadCommunication(map),
                Trim = ReadTrim(map, [under, over, limits?.Quantity("failure")], bench),
                Supply = map.Parameter("loop", "supply", "supply voltage"),
                SupplyRipple = map.Quantity("supply ripple"),
                NoiseLimit = map.Quantity("noise"),
                Span = map.Span,
            };
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

    private static LoopClamps? ReadClamps(MapView map)
    {
        if (map.Inner("clamps") is not { } clamps || clamps.Parsed("leakage") is not var (parsed, node))
        {
            return null;
        }

        // Nobody promises a least leakage: the nominal unit has the typical one, or none.
        Quantity stated = parsed.ToQuantity(node.Span, node.Text);
        double greatest = double.IsFinite(stated.High) ? stated.High : stated.Value;
        Quantity leakage = stated with { Value = parsed.HasTypical ? stated.Value : 0, Low = 0, High = greatest };
        return new LoopClamps { Leakage = new Parameter("loop", "clamp leakage", leakage), Doubling = clamps.Quantity("doubles every"), Span = clamps.Span };
    }

    private static LoopTrim? ReadTrim(MapView map, Quantity?[] limits, BenchSection bench)
    {
        if (map.Inner("trim") is not { } trim || trim.Quantity("low") is not { } low || trim.Quantity("high") is not { } high
            || trim.Quantity("meter") is not { } digits || trim.Quantity("accept") is not { } accept)
        {
            return null;
        }

        if (high.Value <= low.Value)
        {
            trim.Report(
                Codes.Contradiction, high.Span, "The higher current of the trim is not above the lower one: no gain follows from the two.", $"a current above {low.Text}", $"`{high.Text}`",
                "Take two currents far apart, such as the ends of the scale.");
            return null;
        }

        double[] given = [.. map.Points("scale").Select(p => p.To.Value), .. limits.OfType<Quantity>().Select(q => q.Value), .. map.Range("test") is { } test ? new[] { test.Low, test.High } : []];
        (double least, double most) = (given.Min(), given.Max());
        foreach (Quantity current in new[] { low, high }.Where(c => c.Value < least || c.Value > most))
        {
            trim.Report(
                Codes.OutOfRange, current.Span, "The output never gives this current: it lies outside of scale, limits and output test.", string.Create(CultureInfo.InvariantCulture, $"{least * 1e3:0.###} .. {most * 1e3:0.###} mA"), $"`{current.Text}`",
                "Take the ends of the scale.");
            return null;
        }

        if (accept.Tolerance >= (high.Value - low.Value) / 2)
        {
            trim.Report(
                Codes.Contradiction, accept.Span, "What is entered at both currents may be the same: no gain follows from it.", $"less than half of what lies between {low.Text} and {high.Text}", $"`{accept.Text}`",
                "Accept what an adjusted unit shows and little more.");
            return null;
        }

        const double Microampere = 1e-6;
        double step = trim.Quantity("step")?.Value ?? Microampere;
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
            double count = DigitalMeter.CountOf(digits.Value, at.Value, Dimension.Current);

            // What the meter shows between two steps of the entry is rounded to one of them.
            double wrongBy = (count * bench.Ammeter.Counts) + (step > count * 1.0000001 ? step / 2 : 0);
            return new Parameter(BenchReader.Owner, $"meter digits at the {which} current of the trim", new Quantity(Dimension.Current, 0, -wrongBy, wrongBy, 0, 0, digits.Span, digits.Text));
        }
    }

    private static LoopCommunication? ReadCommunication(MapView map)
    {
        if (map.Inner("communication") is not { } communication || communication.Quantity("least load") is not { } least)
        {
            return null;
        }

        Quantity? greatest = communication.Quantity("greatest load");
        if (greatest is not null && greatest.Value < least.Value)
        {
            communication.Report(
                Codes.Contradiction, greatest.Span, "The greatest load is below the least one.", $"a resistance above {least.Text}", $"`{greatest.Text}`");
        }

        return new LoopCommunication { LeastLoad = least, GreatestLoad = greatest, Span = communication.Span };
    }
}
