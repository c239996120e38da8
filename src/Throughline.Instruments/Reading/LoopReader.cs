namespace Throughline.Instruments;

/// <summary>Reads the loop.</summary>
internal static class LoopReader
{
    private static readonly OutputShapes Output = OutputShapes.Current;

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

    public static readonly MapShape Shape = new(
        "loop",
        "The current loop as its receiver sees it.",
        Key.Required("through", Shapes.Pair, "The instrument's terminals: where the current leaves a sourcing instrument, and where it comes back."),
        Output.Scale,
        Output.Limits,
        Output.Test,
        Key.Required("load", Shapes.Quantity(UnitSets.Resistance, f => f.OrRange().Saying("a range such as 0 .. 500 Ω")), "Resistance of the receiver, with anything that has no key of its own."),
        Key.Optional("cable", OutputShapes.Cable, "The cable to the receiver; its resistance is added to the load."),
        Key.Optional("barrier", Shapes.Quantity(UnitSets.Resistance, f => f.WithTolerance().OrRange()), "Resistance of a barrier in the loop; it is added to the load."),
        Key.Optional("clamps", Clamps, "Surge clamps across the terminals."),
        Key.Optional("communication", Communication, "Digital communication on top of the current.", "none"),
        Output.Trim,
        Key.Optional("supply", Shapes.Voltage, "Voltage in series with the load.", "the instrument feeds the loop"),
        Key.Optional("supply ripple", Shapes.Quantity(UnitSets.Voltage, f => f.Positive()), "Ripple of that voltage, peak to peak, at twice the frequency of the mains."),
        Output.Noise)
    {
        Example = "loop: { through: [loop+, loop-], scale: { 3.00 pH: 4 mA, 9.00 pH: 20 mA }, limits: { under: 3.8 mA, over: 20.5 mA, failure: 3.6 mA }, load: 0 .. 500 Ω }",
    };

    /// <param name="bench">What the output is trimmed with, among others.</param>
    public static Loop? Read(MapView map, BenchSection bench)
    {
        if (OutputReader.Read(map, "through", bench, OutputSignal.Current) is not { } output)
        {
            return null;
        }

        if (map.Quantity("supply ripple") is { } ripple && !map.Has("supply"))
        {
            map.Report(Codes.Contradiction, ripple.Span, "The loop has no supply of its own whose ripple this could be.", "a loop with a `supply`", $"`{ripple.Text}`");
        }

        return output with
        {
            Barrier = map.Range("barrier"),
            Clamps = ReadClamps(map),
            Communication = ReadCommunication(map),
            Supply = map.Parameter("loop", "supply", "supply voltage"),
            SupplyRipple = map.Quantity("supply ripple"),
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
