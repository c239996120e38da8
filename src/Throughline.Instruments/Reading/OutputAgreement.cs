namespace Throughline.Instruments;

/// <summary>Whether everything that a file says of its output speaks of the same kind of it: a current through `loop` or a voltage at `voltage output`.</summary>
internal static class OutputAgreement
{
    private static readonly QuantityForm OutputScalingValue = QuantityForm.Of(UnitSets.VoltageOrCurrent).WithSign();

    /// <summary>What a file puts out by its sections; null where it has none for it.</summary>
    public static OutputSignal? SignalOf(MapNode root) =>
        root[OutputSignal.Current.Section] is not null ? OutputSignal.Current : root[OutputSignal.Voltage.Section] is not null ? OutputSignal.Voltage : null;

    public static void Check(MapNode root, ReadingContext context)
    {
        if (context.Output is not { } signal)
        {
            return;
        }

        if (root[OutputSignal.Current.Section] is not null && KeyOf(root, OutputSignal.Voltage.Section) is { } second)
        {
            Report(context, second, "An instrument has one output: a current or a voltage.", "either `loop` or `voltage output`", null);
        }

        OutputSignal other = signal.IsVoltage ? OutputSignal.Current : OutputSignal.Voltage;
        if (root["specification"] is MapNode specification && KeyOf(specification, other.Place) is { } limit)
        {
            Report(context, limit, $"The output of the instrument is a {signal.Noun}.", $"`{signal.Place}`", $"write `{signal.Place}`");
        }

        foreach (MapNode stage in (root["stages"] as ListNode)?.Items.OfType<MapNode>().SelectMany(s => s.Entries).Select(e => e.Value).OfType<MapNode>() ?? [])
        {
            if (signal.IsVoltage && stage["to"] is ScalarNode { Text: Loop.Word } to)
            {
                Report(context, to, "The output is a voltage: there is no loop to go to.", "the terminals of `voltage output`", null);
            }

            // Currents against codes, or voltages.
            foreach (ScalarNode at in (stage["output scaling"] as MapNode)?.Entries.Select(e => e.Key) ?? [])
            {
                if (at.ReadAs(OutputScalingValue) is { Problem: null } value && value.Dimension != signal.Dimension)
                {
                    Report(context, at, $"The output of the instrument is a {signal.Noun}.", $"a {signal.Noun}", null);
                }
            }
        }
    }

    private static ScalarNode? KeyOf(MapNode map, string key) => map.Entries.Where(e => e.Key.Text == key).Select(e => e.Key).FirstOrDefault();

    private static void Report(ReadingContext context, ScalarNode node, string message, string expected, string? mend)
    {
        if (!context.Sink.IsFull)
        {
            context.Sink.Report(Codes.WrongKind, node.Span, message, expected, node.Found, mend);
        }
    }
}
