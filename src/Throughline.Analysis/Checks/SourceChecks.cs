using System.Collections.Immutable;
using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an amplifier's bias current makes of the sensor's resistance.</summary>
internal sealed class BiasCurrentCheck : Check
{
    public override string Name => "bias current times source resistance";

    public override string MustHold => "The greatest bias current of an amplifier, through the sensor's greatest resistance, shifts the reading by less than the error limit.";

    public override string Formula => "Two solves with the amplifier's bias current at its maximum and at zero, the sensor's resistance at its greatest, process coldest, ambient hottest; "
        + "the difference referred to the measurand.";

    public override string Source => "Franco, Design with Operational Amplifiers and Analog Integrated Circuits, input bias current. The maximum counts, not the typical value.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        Sensor sensor = context.Instrument.Sensor;
        if (sensor.SignalKind != SignalKind.Voltage || context.Observed is null || sensor.SourceResistance(evaluator.Nominal) <= 0)
        {
            yield break;
        }

        UnitState state = SourceStates.Stressed(context);
        double resistance = sensor.SourceResistance(state);
        double perVolt = context.MeasurandPerVolt(context.Specification.Range.Middle, state.ProcessCelsius);
        foreach (Part part in context.Model.Parts)
        {
            if (part is not IAmplifier { Bias: { } bias } || !context.Model.InputStages.Any(s => s.Parts.Contains(part)))
            {
                continue;
            }

            int index = context.Model.Parameters.IndexOf(bias);
            (double atNone, double sourceAtNone) = At(0);
            double most = Math.Max(Math.Abs(context.Model.Parameters.High(index)), Math.Abs(context.Model.Parameters.Low(index)));
            (double atMost, double sourceAtMost) = At(most);
            (double atTypical, _) = At(bias.Quantity.Value);
            double shift = (atMost - atNone) * perVolt;
            double typical = (atTypical - atNone) * perVolt;
            double volts = Math.Abs(sourceAtMost - sourceAtNone);
            if (volts < 1e-3 * most * resistance)
            {
                // Its input is not at the sensor: its current flows elsewhere.
                continue;
            }

            double current = volts / resistance;
            ImmutableArray<Figure> figures =
            [
                new Figure("source resistance", resistance, "Ω"),
                new Figure("greatest bias current", most, "A"),
                new Figure("bias current at the hottest ambient", current, "A"),
                new Figure("shift at the sensor", volts, "V"),
                new Figure("shift of the reading", Math.Abs(shift), context.Specification.Unit),
                new Figure("typical shift of the reading", Math.Abs(typical), context.Specification.Unit),
                new Figure("allowed", context.AllowedError, context.Specification.Unit),
            ];
            string typicalWords = bias.Quantity.Value != 0
                ? $" (typical {Engineering.Format(current * Math.Abs(bias.Quantity.Value) / most, "A", 3)}: {context.Difference(Math.Abs(typical))})"
                : "";
            string at = $"at {Engineering.Format(state.AmbientCelsius, "°C")}, the sensor at {Engineering.Format(state.ProcessCelsius, "°C")}";
            yield return CheckContext.Finding(
                this,
                part.Name.Value,
                context.StageOf(part.Name.Value),
                CheckContext.MarginOf(shift, context.AllowedError),
                $"{Engineering.Format(resistance, "Ω", 3)} × {Engineering.Format(current, "A", 3)} at most = {Engineering.Format(volts, "V", 3)} or {context.Difference(Math.Abs(shift), digits: 3)}{typicalWords}, {at}.",
                figures,
                $"A grade for {part.Name.Value} of at most {Engineering.Format(most * context.AllowedError / Math.Abs(shift), "A", 2)} bias current.",
                part.Span);

            (double Observed, double AtSensor) At(double amperes)
            {
                state.Values[index] = amperes;
                double observed = context.Observe(state);
                double atSensor = Evaluator.Volts(evaluator.Field, sensor.Terminals[0].Node.Value, sensor.Terminals[1].Node.Value);
                state.Values[index] = bias.Quantity.Value;
                return (observed, atSensor);
            }
        }
    }
}

/// <summary>States that the checks of the source share.</summary>
internal static class SourceStates
{
    /// <summary>The nominal unit with the sensor's resistances at their greatest, the process at its coldest and the ambient at its hottest.</summary>
    public static UnitState Stressed(CheckContext context)
    {
        UnitState state = context.Evaluator.NewState();
        state.ProcessCelsius = context.Specification.Process.Low;
        state.AmbientCelsius = context.Specification.Ambient.High;
        foreach (Parameter p in Resistances(context))
        {
            int index = context.Model.Parameters.IndexOf(p);
            state.Values[index] = context.Model.Parameters.High(index);
        }

        return state;
    }

    public static IEnumerable<Parameter> Resistances(CheckContext context) =>
        context.Instrument.Sensor.Parameters.Where(p => p.Quantity.Dimension == Dimension.Resistance);
}

/// <summary>What the circuit's input takes from the sensor.</summary>
internal sealed class SourceLoadingCheck : Check
{
    public override string Name => "source loading";

    public override string MustHold => "Between no resistance and its greatest resistance in the sensor the reading moves by less than the error limit, bias currents apart.";

    public override string Formula => "Two solves at the range's ends with the sensor's resistance at its greatest and at none, bias currents zero; the difference referred to the measurand.";

    public override string Source => "Voltage divider of source and input resistance; an electrode maker's guide asks for a hundred times the source, common practice.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Sensor sensor = context.Instrument.Sensor;
        if (sensor.SignalKind != SignalKind.Voltage || context.Observed is null || sensor.SourceResistance(context.Evaluator.Nominal) <= 0)
        {
            yield break;
        }

        (double worst, double where) = new[] { context.Specification.Range.Low, context.Specification.Range.High }
            .Select(x => (Shift: Shift(context, x), x))
            .MaxBy(p => CheckContext.SizeOf(p.Shift));
        yield return CheckContext.Finding(
            this,
            "sensor",
            context.Model.InputStages.FirstOrDefault()?.Name.Value ?? "sensor",
            CheckContext.MarginOf(worst, context.AllowedError),
            $"The input's load moves the reading by {context.Difference(Math.Abs(worst))} at {context.At(where)}.",
            [new Figure("shift of the reading", worst, context.Specification.Unit), new Figure("allowed", context.AllowedError, context.Specification.Unit)],
            "Raise the resistance of what hangs on the sensor: leakage paths, dividers, the amplifier's input.",
            sensor.Span);
    }

    private static double Shift(CheckContext context, double x)
    {
        UnitState state = SourceStates.Stressed(context);
        foreach (Part part in context.Model.Parts)
        {
            if (part is IAmplifier { Bias: { } bias })
            {
                state.Values[context.Model.Parameters.IndexOf(bias)] = 0;
            }
        }

        state.Measurand = x;
        double loaded = context.Observe(state);
        foreach (Parameter p in SourceStates.Resistances(context))
        {
            state.Values[context.Model.Parameters.IndexOf(p)] = 0;
        }

        return (loaded - context.Observe(state)) * context.MeasurandPerVolt(x);
    }
}

/// <summary>What the sensor can take from a bias that is not buffered.</summary>
internal sealed class ReferenceSideCheck : Check
{
    public override string Name => "bias of the sensor's return";

    public override string MustHold => "The node that biases the sensor's return moves by less than the error limit even if the sensor of least resistance had the whole bias voltage across it.";

    public override string Formula => "Shift = Rth × |V| / Rmin: the resistance seen at the return (adjoint sensitivity to a current there), the bias voltage, the sensor's least resistance.";

    public override string Source => "Thévenin's theorem.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        Sensor sensor = context.Instrument.Sensor;
        if (sensor.SignalKind != SignalKind.Voltage
            || !context.Model.Field.Elements.TryGetValue(Model.ReturnProbeElement, out ElementId probe)
            || context.Model.SignalReturn is not { } back
            || Evaluator.VoltageProbe(context.Model.Field, back.Value, null) is not { } node)
        {
            yield break;
        }

        UnitState state = evaluator.NewState();
        state.ProcessCelsius = context.Specification.Process.High;
        foreach (Parameter p in SourceStates.Resistances(context))
        {
            int index = context.Model.Parameters.IndexOf(p);
            state.Values[index] = context.Model.Parameters.Low(index);
        }

        double least = sensor.SourceResistance(state);
        if (least <= 0 || evaluator.Field.Solve(state, limited: false).Status != SolveStatus.Solved)
        {
            yield break;
        }

        double volts = evaluator.Field.Read(new Reading(node), state);
        double seen = Math.Abs(evaluator.Field.ElementSensitivity(new Reading(node), probe));
        double shift = seen * Math.Abs(volts) / least;
        (double low, double high) = evaluator.SignalRange();
        double perVolt = context.Specification.Range.Width / Math.Abs(high - low);
        yield return CheckContext.Finding(
            this,
            back.Value,
            context.Model.InputStages.FirstOrDefault()?.Name.Value ?? "sensor",
            CheckContext.MarginOf(shift * perVolt, context.AllowedError),
            $"{Engineering.Format(seen, "Ω", 3)} at {back.Value} with {Engineering.Format(volts, "V", 3)} against a sensor of {Engineering.Format(least, "Ω", 3)} or more: "
                + $"at most {context.Difference(shift * perVolt)}.",
            [
                new Figure("resistance at the return", seen, "Ω"),
                new Figure("bias voltage", volts, "V"),
                new Figure("least source resistance", least, "Ω"),
                new Figure("shift of the reading", shift * perVolt, context.Specification.Unit),
                new Figure("allowed", context.AllowedError, context.Specification.Unit),
            ],
            "Buffer the bias, or make its divider of smaller resistors.",
            back.Span);
    }
}
