using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What each influence that the sensor's kind knows does to the reading.</summary>
internal sealed class SensorInfluenceCheck : Check
{
    public override string Name => "influence on the sensor";

    public override string MustHold => "What acts on the sensor or its wires beside the measurand shifts the reading by less than the error limit.";

    public override string Formula => "By the sensor's own law: leads in series, terminals at another temperature than assumed, no temperature compensation; at both ends of the range.";

    public override string Source => "IEC 60751 (leads), IEC 60584-1 (cold junction), Nernst's equation (compensation).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Specification s = context.Specification;
        foreach (SensorInfluence influence in context.Instrument.Sensor.Influences(context.Instrument))
        {
            double low = influence.Shift(s.Range.Low);
            double high = influence.Shift(s.Range.High);
            (double worst, double where) = context.RangePoints.Select(x => (Shift: influence.Shift(x), x)).MaxBy(p => CheckContext.SizeOf(p.Shift));
            double allowed = influence.Allowed ?? context.AllowedError;
            string residual = "";
            List<Figure> figures =
            [
                new Figure($"error at {context.At(s.Range.Low)}", low, s.Unit),
                new Figure($"error at {context.At(s.Range.High)}", high, s.Unit),
                new Figure("largest error", worst, s.Unit),
                new Figure("largest at", where, s.Unit),
                new Figure("allowed", allowed, s.Unit),
            ];
            if (influence.Residual is { } r)
            {
                double remains = new[] { s.Range.Low, s.Range.High }.Select(r.Remains).MaxBy(Math.Abs);
                residual = $" {Sentence(r.Correction)} leaves {context.Difference(Math.Abs(remains))}.";
                figures.Add(new Figure("left after " + r.Correction, remains, s.Unit));
            }

            yield return CheckContext.Finding(
                this,
                influence.Name,
                "sensor",
                CheckContext.MarginOf(worst, allowed),
                $"{Sentence(influence.Statement)}: {Signed(context, low)} at {context.At(s.Range.Low)}, {Signed(context, high)} at {context.At(s.Range.High)}"
                    + (Math.Abs(worst) > 1.01 * Math.Max(Math.Abs(low), Math.Abs(high)) ? $", largest {Signed(context, worst)} at {context.At(where)}." : ".")
                    + residual,
                [.. figures],
                influence.Mend,
                influence.Span);
        }
    }

    private static string Signed(CheckContext context, double value) =>
        Engineering.WithUnit(Engineering.Number(value, 3, signed: true), context.Specification.Unit);

    private static string Sentence(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];
}

/// <summary>How much of the reading's error comes from the supplies.</summary>
internal sealed class SupplyShareCheck : Check
{
    public override string Name => "reading independent of the supplies";

    public override string MustHold => "A supply at either end of its tolerance shifts the reading by less than the error limit.";

    public override string Formula => "The chain solved with each supply at its limits, trimmers left alone, at both ends of the range; the share is its part of the linear sum of all part tolerances after adjustment.";

    public override string Source => "Case for ratiometric connection: TI SBAA532A, A Basic Guide to Bridge Measurements. Common practice.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Instrument instrument = context.Instrument;
        if (context.Model.Converter is not { } adc || instrument.Supplies.All(s => s.Voltage.Quantity.IsExact))
        {
            yield break;
        }

        Evaluator evaluator = context.Evaluator;
        QuantityRange range = context.Specification.Range;
        Parameter[] voltages = [.. instrument.Supplies.Select(s => s.Voltage)];
        (double x, Parameter worst, double shift) = (
            from at in new[] { range.High, range.Low }
            from voltage in voltages
            select (at, voltage, Shift(voltage, at))).MaxBy(p => CheckContext.SizeOf(p.Item3));
        double sum = voltages.Sum(v => Math.Abs(Shift(v, x)))
            + new[] { adc.Reference, adc.GainError, adc.Offset, adc.Nonlinearity }.Sum(p => p is null ? 0 : Math.Abs(Shift(p, x)))
            + OfParts(context, x);
        double share = sum > 0 ? Math.Abs(shift) / sum : 0;
        bool ratio = instrument.Sensor.SignalKind is SignalKind.Ratio or SignalKind.Resistance && adc.ReferenceNodes is null;
        Quantity q = worst.Quantity;
        double relative = q.Value != 0 ? q.Tolerance / Math.Abs(q.Value) : 0;
        yield return CheckContext.Finding(
            this,
            worst.Owner,
            "supplies",
            CheckContext.MarginOf(shift, context.AllowedError),
            Math.Abs(shift) < 1e-6 * context.Specification.Range.Width
                ? "The reading does not follow any supply."
                : $"{worst.Owner}'s ±{Engineering.Percent(relative)} moves the reading by {context.Difference(Math.Abs(shift))} at {context.At(x)}, {Engineering.Percent(share, 2)} of the error budget.",
            [
                new Figure("shift of the reading", shift, context.Specification.Unit),
                new Figure("share of the budget", share, ""),
                new Figure("allowed", context.AllowedError, context.Specification.Unit),
            ],
            ratio
                ? $"A ratiometric connection removes it: take {adc.Name.Value}'s reference from the nodes of the excitation."
                : $"Take what follows {worst.Owner} from a reference, or narrow its tolerance.",
            instrument.Supplies.First(s => ReferenceEquals(s.Voltage, worst)).Span);

        double Shift(Parameter parameter, double measurand)
        {
            int index = context.Model.Parameters.IndexOf(parameter);
            UnitState state = evaluator.NewState();
            state.Measurand = measurand;
            double nominal = evaluator.Chain(state, limited: false).IndicatedExact;
            state.Values[index] = context.Model.Parameters.High(index);
            double high = evaluator.Chain(state, limited: false).IndicatedExact - nominal;
            state.Values[index] = context.Model.Parameters.Low(index);
            double low = evaluator.Chain(state, limited: false).IndicatedExact - nominal;
            return CheckContext.SizeOf(high) >= CheckContext.SizeOf(low) ? high : low;
        }
    }

    /// <summary>What all tolerances of parts and references outside the supplies, the sensor and the converter move the reading by after adjustment, linearly.</summary>
    private static double OfParts(CheckContext context, double measurand)
    {
        Evaluator evaluator = context.Evaluator;
        Instrument instrument = context.Instrument;
        UnitState at = evaluator.NewState();
        at.Measurand = measurand;
        if (context.Observed is not { } probe || evaluator.Field.Solve(at, limited: false).Status != SolveStatus.Solved)
        {
            return 0;
        }

        HashSet<Parameter> others = new(instrument.Supplies.Select(s => s.Voltage).Concat(instrument.Sensor.Parameters), ReferenceEqualityComparer.Instance);
        Gradient gradient = context.Extremes.Gradient(new Reading(probe), evaluator.Field, at);
        double perVolt = context.MeasurandPerVolt(measurand);
        double sum = 0;
        for (int i = 0; i < context.Model.Parameters.Count; i++)
        {
            if (!others.Contains(context.Model.Parameters[i]))
            {
                sum += Math.Abs(context.Extremes.Reach(gradient, i) * perVolt);
            }
        }

        return sum;
    }
}
