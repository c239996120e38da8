using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// Loads and connects the loop of the nominal unit in every way there is, in the greatest ambient temperature with every supply at its greatest voltage and the
/// output at the greatest current that it must carry.
/// </summary>
internal sealed class LoopConditionsBuilder(CheckContext context)
{
    /// <summary>Stands for an open loop, Ω: far more than any insulation lets matter.</summary>
    private const double OpenOhms = 1e9;

    private const double ShortOhms = 1e-3;

    /// <summary>Values, evenly from 0 to the greatest, among which the warmest is looked for.</summary>
    private const int Steps = 24;

    /// <summary>A current against its way that is more than leakage, A.</summary>
    private const double Backwards = 100e-6;

    private readonly bool _isBench = context.Model.OutputConverter is null;

    private NetworkRun Run => _isBench ? context.Evaluator.Bench : context.Evaluator.Field;

    /// <summary>The conditions that the instrument can get into; none without a loop.</summary>
    public ImmutableArray<LoopCondition> Build()
    {
        if (context.Instrument.Loop is not { } loop)
        {
            return [];
        }

        List<LoopCondition> all = [];
        if (context.Evaluator.OutputTransfer is not null && context.Evaluator.LoopScale is not null)
        {
            all.Add(Rated(loop));
            all.Add(At(LoopConditionKind.ShortCircuit, loop.Signal.IsVoltage ? "terminals short-circuited" : "receiver short-circuited", Run, ShortOhms, context.LoopValues.High));
        }

        all.Add(Open(loop));
        all.AddRange(Misconnected(loop));
        if (loop.Clamps is { } clamps)
        {
            all.Add(Leaking(clamps));
        }

        all.Add(Grounded(loop));
        return [.. all];
    }

    private double Ambient => context.Specification.Ambient.High;

    /// <summary>The warmest of all rated loads and currents. Heat in a controlled output, (V − I R) I, falls with the load; over the current it has one top.</summary>
    private LoopCondition Rated(Loop loop)
    {
        double most = context.LoopValues.High;
        LoopCondition? warmest = null;
        foreach (double load in new[] { loop.Load.Low, loop.Load.High })
        {
            for (int i = 1; i <= Steps; i++)
            {
                double value = most * i / Steps;
                LoopCondition found = At(
                    LoopConditionKind.RatedLoad, $"warmest at a rated load, {Engineering.Format(load, "Ω", 3)}", Run, Math.Max(load, ShortOhms), value);
                if (warmest is null || Strain(found) > Strain(warmest))
                {
                    warmest = found;
                }
            }
        }

        return warmest!;
    }

    private static double Strain(LoopCondition condition) =>
        double.IsNaN(condition.Watts) ? 0 : double.IsNaN(condition.AllowedWatts) ? condition.Watts : condition.Watts / condition.AllowedWatts;

    private LoopCondition Open(Loop loop)
    {
        UnitState state = HotState();
        state.Burden = loop.BurdenOf(OpenOhms);
        ChainPoint point = context.Evaluator.Chain(state);
        UnitState closed = HotState();
        double shown = context.Evaluator.Chain(closed).Display;
        string display = double.IsNaN(point.Display) ? ""
            : point.Display == shown ? $"; the display goes on showing {context.At(point.Display)}"
            : $"; the display moves from {context.At(shown)} to {context.At(point.Display)}";
        context.Evaluator.Field.Solve(state, limited: true);
        return Describe(
            LoopConditionKind.Open, loop.Signal.Place + " open", context.Evaluator.Field, double.NaN, $"{point.Remark ?? "No amplifier is at a limit"}{display}.");
    }

    private IEnumerable<LoopCondition> Misconnected(Loop loop)
    {
        if (loop.Supply is not null)
        {
            yield return Wired(LoopConditionKind.Reversed, "wires exchanged", new LoopWiring(IsReversed: true));
            yield break;
        }

        double foreign = context.Instrument.Supplies.Where(s => s.Kind is SupplyKind.Dc or SupplyKind.Battery).Select(s => Math.Abs(Greatest(s.Voltage))).DefaultIfEmpty(0).Max();
        if (foreign > 0)
        {
            string volts = Engineering.Format(foreign, "V", 3);
            string Name(string way) => loop.Signal.IsVoltage ? $"{volts} on the terminals{(way == "aiding" ? ", reversed" : "")}" : $"{volts} in the receiver, {way}";
            yield return Wired(LoopConditionKind.ForeignSupply, Name("aiding"), new LoopWiring(IsReversed: false, -foreign));
            yield return Wired(LoopConditionKind.ForeignSupplyReversed, Name("opposing"), new LoopWiring(IsReversed: false, foreign));
        }
    }

    private LoopCondition Wired(LoopConditionKind kind, string name, LoopWiring wiring)
    {
        NetworkRun run = new(context.Model.BindFault(new Fault(name, context.Signal.Place, context.Instrument.Loop!.Span) { Wiring = wiring }));
        double load = context.Signal.IsVoltage ? ShortOhms : Math.Max(context.Instrument.Loop.Load.Low, ShortOhms);
        LoopCondition found = At(kind, name, run, load, context.LoopValues.High, asked: false);

        // As the receiver counts it: against the way in which the current ought to flow.
        found = wiring.IsReversed ? found with { Amperes = -found.Amperes } : found;
        return found.Harm == LoopHarm.None && found.Amperes < -Backwards
            ? found with { Harm = LoopHarm.Unstated, Remark = "The current runs backwards: what supplies, amplifiers and emitters take of that is not in the file." }
            : found;
    }

    private LoopCondition Leaking(LoopClamps clamps)
    {
        double amperes = clamps.Leakage.Quantity.High * clamps.Factor(Ambient);
        return new LoopCondition(
            LoopConditionKind.ClampLeakage, $"clamps at {Engineering.Format(Ambient, "°C")}", amperes, null, double.NaN, double.NaN, double.NaN, double.NaN, amperes, LoopHarm.None,
            $"{Engineering.Percent(amperes / context.LoopSpan, 2)} of span past the receiver or past the output.");
    }

    private LoopCondition Grounded(Loop loop)
    {
        string end = loop.Supply is null ? loop.Minus.Value : Model.ReceiverNode;
        string back = context.Model.DefaultReturn;
        double asDrawn = context.Evaluator.Chain(HotState()).LoopValue;
        double inWire = Evaluator.WireAmperes(context.Evaluator.Field);
        const string Name = "receiver and sensor side grounded";
        if (end == back)
        {
            return new LoopCondition(
                LoopConditionKind.ReceiverGrounded, Name, inWire, null, double.NaN, double.NaN, double.NaN, double.NaN, 0, LoopHarm.None, "They share their return anyway.");
        }

        NetworkRun run = new(context.Model.BindFault(new Fault(Name, loop.Signal.Place, loop.Span) { Shorted = (end, back) }));
        ChainPoint point = context.Evaluator.Chain(run, HotState(), limited: true);
        double shift = point.LoopValue - asDrawn;
        LoopCondition found = Describe(LoopConditionKind.ReceiverGrounded, Name, run, shift, null);
        return found with
        {
            Remark = double.IsNaN(shift) ? point.Remark
                : Math.Abs(shift) < context.LoopSpan * 1e-6 ? loop.Signal.IsVoltage ? "The voltage stays: no current flows through the joint." : "No other way for the current: the two sides stay apart."
                : loop.Signal.IsVoltage ? $"The receiver sees {Engineering.Format(shift, "V", 3, signed: true)} of difference."
                : $"{Engineering.Format(-shift, "A", 3)} of the current find another way than the receiver.",
        };
    }

    /// <summary>Drives the output to a value at a load in Ω.</summary>
    /// <param name="asked">Whether it is one that ought to come about.</param>
    private LoopCondition At(LoopConditionKind kind, string name, NetworkRun run, double load, double value, bool asked = true)
    {
        UnitState state = HotState();
        state.Burden = context.Instrument.Loop!.BurdenOf(load);
        context.Drive(state, value);
        OperatingPoint point = run.Solve(state, limited: true);
        double given = point.Status == SolveStatus.Solved ? Evaluator.LoopValue(run) : double.NaN;
        string? remark = point.Status == SolveStatus.Solved ? Evaluator.LimitRemark(run, point) : point.Trouble;
        return Describe(kind, name, run, asked ? given - value : double.NaN, remark);
    }

    /// <summary>A nominal adjusted unit in the greatest ambient temperature, every supply at its greatest voltage.</summary>
    private UnitState HotState()
    {
        UnitState state = context.Evaluator.NewState();
        state.AmbientCelsius = Ambient;
        IEnumerable<Parameter> supplies = context.Instrument.Supplies.Select(s => s.Voltage);
        foreach (Parameter supply in context.Instrument.Loop?.Supply is { } loop ? supplies.Append(loop) : supplies)
        {
            state.Values[context.Model.Parameters.IndexOf(supply)] = Greatest(supply);
        }

        // What an amplifier gives into a short is its own limit.
        foreach (Parameter limit in OutputParts().OfType<IAmplifier>().SelectMany(p => ((Part)p).Parameters).Where(p => p.Name == "output current"))
        {
            state.Values[context.Model.Parameters.IndexOf(limit)] = context.Model.Parameters.High(context.Model.Parameters.IndexOf(limit));
        }

        return state;
    }

    /// <summary>The voltage of a supply that is furthest from zero.</summary>
    private double Greatest(Parameter supply)
    {
        int index = context.Model.Parameters.IndexOf(supply);
        return supply.Quantity.Value < 0 ? context.Model.Parameters.Low(index) : context.Model.Parameters.High(index);
    }

    /// <summary>What the point last solved does to the part that it strains most.</summary>
    private LoopCondition Describe(LoopConditionKind kind, string name, NetworkRun run, double shift, string? remark)
    {
        if (run.Point is not { Status: SolveStatus.Solved } point)
        {
            return new LoopCondition(
                kind, name, double.NaN, null, double.NaN, double.NaN, double.NaN, double.NaN, shift, LoopHarm.Unstated, run.Point?.Trouble ?? remark);
        }

        LoopCondition blank = new(
            kind, name, Evaluator.WireAmperes(run), null, double.NaN, double.NaN, double.NaN, double.NaN, shift, LoopHarm.None, remark);
        LoopCondition worst = blank;
        foreach (Part part in OutputParts())
        {
            if (!run.Bound.Elements.TryGetValue(part.Name.Value, out ElementId element))
            {
                continue;
            }

            double watts = point.Power(element);
            PowerRating? rating = (part as IRated)?.Rating;
            LoopCondition found = blank with
            {
                Part = part.Name.Value,
                PartAmperes = Enumerable.Range(0, part.Terminals.Length).Max(pin => Math.Abs(point.CurrentInto(element, pin))),
                Watts = watts,
                AllowedWatts = rating?.AllowedWatts(Ambient) ?? double.NaN,
                JunctionCelsius = rating?.JunctionCelsius(watts, Ambient) ?? double.NaN,
            };
            found = found with { Harm = double.IsNaN(found.AllowedWatts) ? LoopHarm.Unstated : watts > found.AllowedWatts ? LoopHarm.Overheated : LoopHarm.None };
            if (worst.Part is null || Strain(found) > Strain(worst))
            {
                worst = found;
            }
        }

        return worst;
    }

    /// <summary>Semiconductors of the output whose heat follows the load; an amplifier where its grade says what it stands.</summary>
    private IEnumerable<Part> OutputParts() => context.Model.OutputStages.SelectMany(s => s.Parts).Where(p => p is IRated rated && (p is not IAmplifier || rated.Rating is not null));
}
