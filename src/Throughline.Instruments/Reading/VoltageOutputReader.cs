namespace Throughline.Instruments;

/// <summary>Reads the output of an instrument that gives a voltage.</summary>
internal static class VoltageOutputReader
{
    private static readonly OutputShapes Output = OutputShapes.Voltage;

    private static readonly MapShape Cable = new(
        "cable of a voltage",
        "Two cores of plain copper to the receiver. Their resistance, the greatest that IEC 60228 allows, stands between terminals and receiver: anything from none to all of it. The instrument is adjusted at its terminals.",
        [
            .. OutputShapes.CableKeys(),
            Key.Optional("capacitance", Shapes.Quantity(UnitSets.Capacitance, f => f.Positive()), "Capacitance between its cores over the whole length, with that of the receiver: the output stage has to stay stable with it.", "0 F"),
        ]);

    public static readonly MapShape Shape = new(
        "voltage output",
        "The output of an instrument that gives a voltage, as its receiver sees it. Such an instrument has no `loop`; the stage that drives it ends `to` the terminals, and a step of the adjustment has its meter on the first of them.",
        Key.Required("between", Shapes.Pair, "The instrument's terminals: the voltage is that of the first against the second."),
        Output.Scale,
        Output.Limits,
        Output.Test,
        Key.Required(
            "load", Shapes.Quantity(UnitSets.Resistance, f => f.Positive().OrRange().Saying("a range such as 10 kΩ .. 1 MΩ")),
            "Input resistance of the receiver. Between its ends the conductance is spread, which is what draws on the output."),
        Key.Optional("cable", Cable, "The cable to the receiver."),
        Output.Trim,
        Output.Noise)
    {
        Example = "voltage output: { between: [out, 0V], scale: { 3.00 pH: 0 V, 9.00 pH: 10 V }, limits: { over: 10.2 V, failure: 10.8 V }, load: 10 kΩ .. 1 MΩ }",
    };

    /// <param name="bench">What the output is trimmed with, among others.</param>
    public static Loop? Read(MapView map, BenchSection bench)
    {
        if (OutputReader.Read(map, "between", bench, OutputSignal.Voltage) is not { } output)
        {
            return null;
        }

        if (output.Receiver.Low <= 0)
        {
            map.Report(Codes.OutOfRange, output.Receiver.Span, "A voltage into no resistance at all is none.", "a load above 0 Ω", $"`{output.Receiver.Text}`");
            return null;
        }

        return output with
        {
            SeriesResistance = output.Cable is not { } cable
                ? null
                : new Parameter(
                    Loop.VoltageOwner, "cable resistance",
                    new Quantity(Dimension.Resistance, 0, 0, cable.GreatestResistance, 0, 0, cable.Length.Span, cable.Length.Text)),
            CableCapacitance = map.Inner("cable")?.Quantity("capacitance"),
        };
    }
}
