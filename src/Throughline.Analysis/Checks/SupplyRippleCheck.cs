namespace Throughline.Analysis;

/// <summary>The ripple of converters stays out of reading and loop.</summary>
internal sealed class SupplyRippleCheck : Check
{
    /// <summary>Part of the allowed error that ripple may take.</summary>
    private const double Share = 0.1;

    public override string Name => "supply ripple";

    public override string MustHold => "The ripple of a converter, through regulators, supply rejection, filters and averaging, moves display and loop by less than a tenth of the allowed error to either side.";

    public override string Formula => "Ripple over the ripple rejection of each regulator on the way, times the transfer of the linearised network from each rail at the ripple's frequency, plus what the amplifiers' least supply rejection makes of it, falling with frequency above its corner. Averaging takes nothing off where a tenth of the frequency holds a whole rate of readings: the folded frequency can then be any.";

    public override string Source => "Franco, ex. 11.1 (ripple rejection); folding by the sampling theorem; the tenth is common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RippleEffect effect in context.Supplies?.Ripple ?? [])
        {
            string name = effect.Supply.Name.Value;
            double allowedDisplay = Share * context.AllowedError;
            double allowedLoop = Share * context.AllowedLoopError;
            double display = double.IsNaN(effect.Display) ? 0 : effect.Display / 2;
            double loop = double.IsNaN(effect.LoopValue) ? 0 : effect.LoopValue / 2;
            bool isLoop = context.Instrument.Loop is not null && !(display / allowedDisplay > loop / allowedLoop);
            yield return CheckContext.Finding(
                this,
                name,
                "supplies",
                isLoop ? CheckContext.MarginOf(loop, allowedLoop) : CheckContext.MarginOf(display, allowedDisplay),
                $"The ripple of {name} at {Engineering.Format(effect.Hertz, "Hz", 3)} moves the display by ±{context.Difference(display)} and the {context.Signal.Place} by ±{Engineering.Format(loop, context.Signal.Unit, 2)}.",
                [
                    new Figure("display", display, context.Specification.Unit),
                    new Figure(context.Signal.Place, loop, context.Signal.Unit),
                    new Figure("left by averaging", effect.AveragingGain, ""),
                    new Figure("allowed at the display", allowedDisplay, context.Specification.Unit),
                    new Figure(context.Signal.IsVoltage ? "allowed at the output" : "allowed in the loop", allowedLoop, context.Signal.Unit),
                ],
                $"Filter {name}, put a regulator with rejection at {Engineering.Format(effect.Hertz, "Hz", 3)} behind it, or take what follows it from a reference.",
                effect.Supply.Ripple?.Span ?? effect.Supply.Span);
        }
    }
}
