namespace Throughline.Analysis;

/// <summary>The loop leaves an instrument on two wires the voltage that it needs.</summary>
internal sealed class LiftOffCheck : Check
{
    public override string Name => "lift-off voltage";

    public override string MustHold => "At the greatest current, the greatest load and the lowest supply the loop leaves the rail of an instrument on two wires at least its stated lift-off voltage, and that is enough for every regulator behind it.";

    public override string Formula => "V_supply − I R_load − drop, less the voltage between terminal and rail's return; against the lift-off voltage, and that against output and dropout of the regulators.";

    public override string Source => "Ohm's law; the rule (V_supply − V_min)/I_max of published data sheets of two-wire transmitter circuits.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.LoopRail is not { } rail || context.Instrument.Loop is not { Supply: { } supply } loop
            || context.Model.OutputConverter is null || context.Evaluator.OutputTransfer is null)
        {
            yield break;
        }

        double most = context.LoopValues.High;
        UnitState state = context.Evaluator.NewState();
        state.Burden = loop.Burden.High;
        int index = context.Model.Parameters.IndexOf(supply);
        state.Values[index] = context.Model.Parameters.Low(index);
        context.Drive(state, most);
        NetworkRun run = new(context.Model.Field);
        run.Solve(state, limited: true);
        double left = Evaluator.Volts(run, rail.Name.Value, rail.Return.Value);
        double liftOff = rail.Voltage.Quantity.Value;
        double needed = context.Instrument.Supplies
            .Where(s => s.From?.Value == rail.Name.Value && !s.IsInSeries)
            .Select(s => s.Voltage.Quantity.Value + s.Voltage.Quantity.Tolerance + (s.Dropout?.High ?? 0))
            .DefaultIfEmpty(0).Max();
        bool isTooLow = needed > liftOff;
        yield return CheckContext.Finding(
            this,
            rail.Name.Value,
            "supplies",
            isTooLow ? Math.Max(-1, (liftOff - needed) / liftOff) : (left - liftOff) / liftOff,
            isTooLow
                ? $"{Engineering.Format(liftOff, "V", 3)} are stated; the regulators behind it need {Engineering.Format(needed, "V", 3)}."
                : $"{Engineering.Format(left, "V", 3)} are left at {Engineering.Format(most, "A", 3)} through {Engineering.Format(loop.Load.High, "Ω", 3)}; it works from {Engineering.Format(liftOff, "V", 3)}.",
            [new Figure("left", left, "V"), new Figure("lift-off", liftOff, "V"), new Figure("needed by the regulators", needed, "V"), new Figure("greatest current", most, "A")],
            isTooLow ? $"State what the regulators need, or take ones of less dropout." : "A higher supply, a smaller load, or rails of less voltage.",
            rail.Span);
    }
}
