namespace Throughline.Analysis;

/// <summary>A loop connected the wrong way round does no harm.</summary>
internal sealed class ReversedLoopCheck : Check
{
    public override string Name => "loop connected in reverse";

    public override string MustHold => "With the wires of a loop that is fed from outside exchanged, at the greatest supply and least load, no diode or transistor of the output gets warmer than its grade states.";

    public override string Formula => "The network with the loop's supply the other way round; transistors by the full equations of Ebers and Moll. Breakdown is as the grades of diodes state it; that of a transistor's emitter is not modelled.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        // Where no grade states what it stands, the table of conditions has the figures, and nobody can judge them.
        if (context.Instrument.Loop is not { } loop || context.LoopConditions.FirstOrDefault(c => c.Kind == LoopConditionKind.Reversed) is not { } reversed
            || double.IsNaN(reversed.AllowedWatts))
        {
            yield break;
        }

        double flows = Math.Abs(reversed.Amperes);
        string part = reversed.Part is { } p && reversed.PartAmperes > 1e-6 ? $", carried by {p}, with {Engineering.Format(reversed.Watts, "W", 2)} in it" : "";
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            CheckContext.MarginOf(reversed.Watts, reversed.AllowedWatts),
            $"{Engineering.Format(flows, "A", 2)} flow the wrong way{part}.",
            [new Figure("current", flows, "A"), new Figure("heat", reversed.Watts, "W"), new Figure("allowed heat", reversed.AllowedWatts, "W")],
            "A diode in series that blocks, or one across the terminals with a fuse or a resistor that bounds its current.",
            loop.Plus.Span);
    }
}
