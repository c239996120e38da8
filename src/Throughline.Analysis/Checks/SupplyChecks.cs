using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>No supply gives more than its stated limit.</summary>
internal sealed class SupplyCurrentCheck : Check
{
    public override string Name => "supply current";

    public override string MustHold => "No supply gives more than its stated limit, whatever loop, load, ambient and outside supplies are, with every part and draw at its greatest.";

    public override string Formula => "The currents of the solved network and the stated draws, summed up the tree: series kinds I_in = I_out + I_q, converters P_in = P_out/η + V_in I_q.";

    public override string Source => "Kirchhoff's laws and conservation of power.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RailWorst rail in context.Supplies?.Worst ?? [])
        {
            if (rail.Supply.Limit is not { } limit)
            {
                continue;
            }

            string name = rail.Supply.Name.Value;
            yield return CheckContext.Finding(
                this,
                name,
                "supplies",
                1 - (rail.Amperes / limit.Value),
                $"{name} gives up to {Engineering.Format(rail.Amperes, "A", 3)} of {Engineering.Format(limit.Value, "A", 3)} ({rail.AmperesAt}).",
                [new Figure("greatest current", rail.Amperes, "A"), new Figure("limit", limit.Value, "A")],
                $"Take load off {name}, or choose one for more current.",
                limit.Span);
        }
    }
}

/// <summary>Every supply has the voltage at its input that it needs.</summary>
internal sealed class SupplyHeadroomCheck : Check
{
    public override string Name => "supply headroom";

    public override string MustHold => "Every supply has at its input what it needs: a regulator its output and its dropout, a converter a voltage of its input range, both with tolerances.";

    public override string Formula => "Least |V_in| − |V_out| − dropout over all conditions, the tolerances of the output and of an input that another supply makes taken off; or the input's distance from the ends of its range.";

    public override string Source => "Definition of the dropout voltage in data sheets.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RailWorst rail in context.Supplies?.Worst ?? [])
        {
            (string name, Supply supply) = (rail.Supply.Name.Value, rail.Supply);
            if (supply.Dropout is { } dropout)
            {
                yield return CheckContext.Finding(
                    this,
                    name,
                    "supplies",
                    rail.Headroom >= 0 ? rail.Headroom / Math.Max(rail.Headroom, dropout.High) : rail.Headroom / dropout.High,
                    $"{name} has {Engineering.Format(rail.Headroom, "V", 3)} more than it needs ({rail.HeadroomAt}).",
                    [new Figure("left above the dropout", rail.Headroom, "V"), new Figure("dropout", dropout.High, "V"), new Figure("lowest input", rail.InputLow, "V")],
                    $"Raise the input of {name}, or choose a regulator with a dropout below {Engineering.Format(Math.Max(0, dropout.High + rail.Headroom), "V", 2)}.",
                    dropout.Span);
            }
            else if (supply.Input is { } input && !double.IsNaN(rail.InputLow))
            {
                double left = Math.Min(rail.InputLow - input.Low, input.High - rail.InputHigh);
                yield return CheckContext.Finding(
                    this,
                    name,
                    "supplies",
                    left / (input.Width / 2),
                    $"The input of {name} goes from {Engineering.Format(rail.InputLow, "V", 3)} to {Engineering.Format(rail.InputHigh, "V", 3)}; it works from {Engineering.Format(input.Low, "V", 3)} to {Engineering.Format(input.High, "V", 3)}.",
                    [new Figure("lowest input", rail.InputLow, "V"), new Figure("highest input", rail.InputHigh, "V"), new Figure("left", left, "V")],
                    $"Choose a converter whose input range holds what feeds {name}.",
                    input.Span);
            }
        }
    }
}

/// <summary>No regulator gets too warm.</summary>
internal sealed class JunctionTemperatureCheck : Check
{
    public override string Name => "junction temperature of the supplies";

    public override string MustHold => "The junction of every supply stays below its limit at the highest ambient temperature and the greatest loss.";

    public override string Formula => "T_j = T_a + P R_th with P = V_in I_in − V_out I_out, over all conditions. The margin is the rise that is left as a part of the rise allowed.";

    public override string Source => "Franco, Design with Operational Amplifiers and Analog Integrated Circuits, ex. 11.14; 125 °C where no limit is stated (common practice, no source).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RailWorst rail in context.Supplies?.Worst ?? [])
        {
            if (rail.Supply.Junction is not { } junction)
            {
                continue;
            }

            string name = rail.Supply.Name.Value;
            double limit = rail.Supply.JunctionLimit?.Value ?? SupplyLaw.JunctionLimit;
            double ambient = context.Specification.Ambient.High;
            double allowed = SupplyLaw.LargestWatts(limit, ambient, junction.Value);
            yield return CheckContext.Finding(
                this,
                name,
                "supplies",
                (limit - rail.JunctionCelsius) / (limit - ambient),
                $"{name} turns {Engineering.Format(rail.LossWatts, "W", 3)} into heat and gets {Engineering.Format(rail.JunctionCelsius, "°C", 3)} warm; {Engineering.Format(limit, "°C", 3)} are allowed ({rail.JunctionAt}).",
                [
                    new Figure("loss", rail.LossWatts, "W"),
                    new Figure("junction", rail.JunctionCelsius, "°C"),
                    new Figure("limit", limit, "°C"),
                    new Figure("greatest loss allowed", allowed, "W"),
                ],
                $"Bring the loss of {name} below {Engineering.Format(allowed, "W", 2)}: a lower input, less load, or a package with less thermal resistance.",
                junction.Span);
        }
    }
}

/// <summary>Everything that takes current is on a rail.</summary>
internal sealed class ConsumersCheck : Check
{
    public override string Name => "every consumer accounted for";

    public override string MustHold => "Where draws are stated, each converter, the processor, the panel and both sides of an isolator take theirs from some supply.";

    public override string Formula => "The names under the supplies' `draws` against the stages, the panel and the links of the file; a link takes current on either side.";

    public override string Source => "common practice, no source";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        if (instrument.Supplies.All(s => s.Draws.IsEmpty))
        {
            yield break;
        }

        List<(string Name, string Where)> missing = [];
        int asked = 0;
        void Ask(string name, bool isThere, string where)
        {
            asked++;
            if (!isThere)
            {
                missing.Add((name, where));
            }
        }

        string[] drawn = [.. instrument.Supplies.SelectMany(s => s.Draws).Select(d => d.Name.Value)];
        foreach (Stage stage in instrument.Stages.Where(s => s is ConverterStage or OutputConverterStage or ArithmeticStage))
        {
            Ask(stage.Name.Value, drawn.Contains(stage.Name.Value), "any supply");
        }

        if (instrument.Panel is not null)
        {
            Ask("panel", drawn.Contains("panel"), "any supply");
        }

        if (instrument.Stages.OfType<OutputConverterStage>().Any(d => d.Link is { Kind.Value: not "plain" }))
        {
            string[] sides = [.. instrument.Supplies.Where(s => s.Draws.Any(d => d.Name.Value == "link")).Select(s => s.Return.Value).Distinct()];
            Ask("link", sides.Length > 0, "any supply");
            Ask("link", sides.Length != 1, "a supply on the other side");
        }

        double sum = instrument.Supplies.SelectMany(s => s.Draws).Sum(d => d.Greatest);
        yield return CheckContext.Finding(
            this,
            "supplies",
            "supplies",
            missing.Count == 0 ? 1 : -1,
            missing.Count == 0
                ? $"All {asked} consumers that are not drawn as circuits are on a rail."
                : string.Join(" ", missing.Select(m => $"{m.Name} takes nothing from {m.Where}.")),
            [new Figure("consumers", asked, ""), new Figure("without a supply", missing.Count, ""), new Figure("sum of all draws", sum, "A")],
            "State what it draws under the supply that feeds it, `0 mA` where another draw holds it.",
            instrument.Supplies.First(s => !s.Draws.IsEmpty).Span);
    }
}

/// <summary>The ripple of converters stays out of reading and loop.</summary>
internal sealed class SupplyRippleCheck : Check
{
    /// <summary>Part of the allowed error that ripple may take.</summary>
    private const double Share = 0.1;

    public override string Name => "supply ripple";

    public override string MustHold => "The ripple of a converter, through regulators, supply rejection, filters and averaging, moves display and loop by less than a tenth of the allowed error to either side.";

    public override string Formula => "Ripple over the ripple rejection of each regulator on the way, times the transfer of the linearised network from each rail at the ripple's frequency. Averaging takes nothing off where a tenth of the frequency holds a whole rate of readings: the folded frequency can then be any.";

    public override string Source => "Franco, ex. 11.1 (ripple rejection); folding by the sampling theorem; the tenth is common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RippleEffect effect in context.Supplies?.Ripple ?? [])
        {
            string name = effect.Supply.Name.Value;
            double allowedDisplay = Share * context.AllowedError;
            double allowedLoop = Share * context.AllowedLoopError;
            double display = double.IsNaN(effect.Display) ? 0 : effect.Display / 2;
            double loop = double.IsNaN(effect.LoopAmperes) ? 0 : effect.LoopAmperes / 2;
            bool isLoop = context.Instrument.Loop is not null && !(display / allowedDisplay > loop / allowedLoop);
            yield return CheckContext.Finding(
                this,
                name,
                "supplies",
                isLoop ? CheckContext.MarginOf(loop, allowedLoop) : CheckContext.MarginOf(display, allowedDisplay),
                $"The ripple of {name} at {Engineering.Format(effect.Hertz, "Hz", 3)} moves the display by ±{context.Difference(display)} and the loop by ±{Engineering.Format(loop, "A", 2)}.",
                [
                    new Figure("display", display, context.Specification.Unit),
                    new Figure("loop", loop, "A"),
                    new Figure("left by averaging", effect.AveragingGain, ""),
                    new Figure("allowed at the display", allowedDisplay, context.Specification.Unit),
                    new Figure("allowed in the loop", allowedLoop, "A"),
                ],
                $"Filter {name}, put a regulator with rejection at {Engineering.Format(effect.Hertz, "Hz", 3)} behind it, or take what follows it from a reference.",
                effect.Supply.Ripple?.Span ?? effect.Supply.Span);
        }
    }
}

/// <summary>The loop says nothing false before the processor does.</summary>
internal sealed class StartUpCheck : Check
{
    public override string Name => "loop steady at start-up";

    public override string MustHold => "From power on to the first code that the processor writes, the loop carries no current that a receiver takes for a measured value; and the processor does leave reset.";

    public override string Formula => "Rails in the order of their start-up times; in each stretch the network is solved with the missing supplies disconnected and the output converter as it is at reset.";

    public override string Source => "NAMUR NE 43: 3.6 mA or less, 21 mA or more is no measured value (as restated by makers), within the 20 µA that an output may be wrong by.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Supplies?.Start is not { IsEmpty: false } phases)
        {
            yield break;
        }

        ArithmeticStage? processor = context.Model.Arithmetic;
        if (StartSurvey.NeverStarts(processor, Powering.RailOf(context.Instrument, processor?.Name.Value)))
        {
            Supply rail = Powering.RailOf(context.Instrument, processor!.Name.Value)!;
            double lowest = Math.Abs(rail.Voltage.Quantity.Value) - rail.Voltage.Quantity.Tolerance;
            yield return CheckContext.Finding(
                this, rail.Name.Value, "supplies", -1,
                $"{rail.Name.Value} may be as low as {Engineering.Format(lowest, "V", 3)}; the processor is in reset below {Engineering.Format(processor.ResetsBelow!.High, "V", 3)}.",
                [new Figure("lowest rail", lowest, "V"), new Figure("resets below", processor.ResetsBelow.High, "V")],
                "Choose a lower reset threshold, or a rail with a narrower tolerance.",
                processor.ResetsBelow.Span);
            yield break;
        }

        StartPhase worst = phases.MaxBy(p => StartSurvey.Falseness(p.LoopAmperes))!;
        double falseness = StartSurvey.Falseness(worst.LoopAmperes);
        yield return CheckContext.Finding(
            this,
            "loop",
            "supplies",
            -falseness,
            falseness <= 0
                ? $"Until the first code after {Engineering.Duration(phases[^1].UntilSeconds)} the loop carries at most {Engineering.Format(phases.Max(p => p.LoopAmperes), "A", 3)}, which is no measured value."
                : $"From {Engineering.Duration(worst.FromSeconds)} to {Engineering.Duration(worst.UntilSeconds)} after power on the loop carries {Engineering.Format(worst.LoopAmperes, "A", 3)} (output converter: {worst.Output}), which a receiver takes for a measured value.",
            [
                new Figure("current", worst.LoopAmperes, "A"),
                new Figure("from", worst.FromSeconds, "s"),
                new Figure("until", worst.UntilSeconds, "s"),
                new Figure("time to the first code", phases[^1].UntilSeconds, "s"),
            ],
            "Take an output converter that begins at code 0, or hold the output stage off until the processor writes.",
            context.Model.OutputConverter!.Span);
    }
}

/// <summary>A battery lasts.</summary>
internal sealed class BatteryCheck : Check
{
    public override string Name => "battery lasts";

    public override string MustHold => "A battery gives the instrument's typical current for as long as it has to.";

    public override string Formula => "Capacity over the typical current of the tree.";

    public override string Source => "Definition of the rated capacity, IEC 60086-1 and IEC 61960-3.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        foreach (RailPoint rail in context.Supplies?.Typical?.Rails ?? [])
        {
            if (rail.Supply is not { Kind: SupplyKind.Battery, Capacity: { } capacity })
            {
                continue;
            }

            double seconds = capacity.Value / Math.Abs(rail.OutputAmperes);
            double needed = rail.Supply.Lasts?.Value ?? 0;
            yield return CheckContext.Finding(
                this,
                rail.Supply.Name.Value,
                "supplies",
                needed > 0 ? Math.Min(1, (seconds / needed) - 1) : 1,
                $"{rail.Supply.Name.Value} lasts {Engineering.Duration(seconds)} at {Engineering.Format(Math.Abs(rail.OutputAmperes), "A", 3)}{(needed > 0 ? $"; {Engineering.Duration(needed)} are asked for" : "")}.",
                [new Figure("lasts", seconds, "s"), new Figure("asked for", needed, "s"), new Figure("current", Math.Abs(rail.OutputAmperes), "A")],
                $"Take {Engineering.Format(Math.Abs(capacity.Value / needed), "A", 2)} at most, or a battery of {Engineering.Number(Math.Abs(rail.OutputAmperes) * needed / 3600, 2)} Ah.",
                rail.Supply.Lasts?.Span ?? capacity.Span);
        }
    }
}
