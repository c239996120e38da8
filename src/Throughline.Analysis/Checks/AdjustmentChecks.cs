using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What an adjustment step asks for is what the stage is meant to do.</summary>
internal sealed class AdjustmentIntentCheck : Check
{
    public override string Name => "adjustment target agrees with the intent";

    public override string MustHold => "The target of an adjustment step is the stage's intended value for the source that the step sets, within the step's tolerance.";

    public override string Formula => "The intent's line at the value set, against the target.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        foreach (AdjustmentStep step in context.Instrument.Adjustment)
        {
            CircuitStage? stage = context.Model.CircuitStages.FirstOrDefault(s => s.Intent.Length >= 2 && IsOutput(evaluator, s, step));
            if (stage is null || step.With.Length != 1
                || Line.TryCreate(stage.Intent.Select(p => (p.From.Value, p.To.Value))) is not { } line)
            {
                continue;
            }

            if (!IsFirst(context, stage) || SetValue(context, stage, step.With[0]) is not { } set)
            {
                continue;
            }

            double intended = line.Forward(set);
            string unit = step.IsAtLoop || stage.To?.Value == Loop.Word ? "A" : "V";
            double span = Math.Abs(line.To[^1] - line.To[0]);
            double allowed = Math.Max(step.Target.Tolerance, 1e-3 * span);
            double error = step.Target.Value - intended;
            yield return CheckContext.Finding(
                this,
                step.Name.Value,
                stage.Name.Value,
                CheckContext.MarginOf(error, allowed),
                Math.Abs(error) <= allowed
                    ? $"Step {step.Name.Value} asks for {Engineering.Format(step.Target.Value, unit)} at {step.Meter.Value}, as the intent does."
                    : $"Step {step.Name.Value} asks for {Engineering.Format(step.Target.Value, unit)} at {step.Meter.Value}; the intent there is {Engineering.Format(intended, unit)}.",
                [new Figure("target", step.Target.Value, unit), new Figure("intended", intended, unit), new Figure("tolerance", allowed, unit)],
                $"Make the target {Engineering.Format(intended, unit)}, or the intent what the step says.",
                step.Target.Span);
        }
    }

    /// <summary>Whether what the step sets is what the stage is driven by.</summary>
    private static bool IsFirst(CheckContext context, CircuitStage stage) =>
        (context.Evaluator.DriveOf(stage) == Evaluator.DriveKind.Converter ? context.Model.OutputStages : context.Model.InputStages).FirstOrDefault() == stage;

    /// <summary>The value that a step sets as the stage's intent counts it; null when it sets something else than what the intent begins with.</summary>
    private static double? SetValue(CheckContext context, CircuitStage stage, SetSource source)
    {
        Evaluator evaluator = context.Evaluator;
        double value = source.Value.Value;
        if (evaluator.DriveOf(stage) == Evaluator.DriveKind.Converter)
        {
            return Evaluator.IsOutputCode(source) ? value * evaluator.VoltsPerOutputCode
                : source.Node.Value == context.Model.OutputConverter!.Output.Value ? value
                : null;
        }

        if (Evaluator.IsOutputCode(source) || source.Value.Dimension != stage.Intent[0].From.Dimension)
        {
            return null;
        }

        // The intent counts from the stage's incoming node to its return, whichever way round the sensor lies between them.
        return source.Node.Value == evaluator.IncomingNodes(stage).Return ? -value : value;
    }

    private static bool IsOutput(Evaluator evaluator, CircuitStage stage, AdjustmentStep step)
    {
        (string? node, _) = evaluator.OutgoingNodes(stage);
        return node is not null && (step.Meter.Value == node || (node != Loop.Word && evaluator.MeterNodes(step).Node == node));
    }
}

/// <summary>The trimmer of each step can make its meter read the target.</summary>
internal sealed class AdjustmentReachCheck : Check
{
    public override string Name => "adjustment target within the trimmer's reach";

    public override string MustHold => "On every unit each step's trimmer reaches the target without standing at an end.";

    public override string Formula => "The procedure is performed step by step until nothing moves; the position beyond the ends is found by the secant method; "
        + "the same on the units whose part values, by the signs of the exact sensitivities, need the least and the greatest position. Margin: distance of the wiper from the nearer end, of half the travel.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        for (int number = 0; number < context.Evaluator.Adjustment.Length; number++)
        {
            AdjustmentOutcome outcome = context.Evaluator.Adjustment[number];
            AdjustmentStep step = outcome.Step;
            int index = context.Model.TrimmerIndex(step.Turn.Value);
            if (index < 0)
            {
                continue;
            }

            Part part = context.Model.Trimmers[index];
            double whole = ((ITrimmer)part).Resistance.Quantity.Value;
            string unit = step.MeterUnit;
            (double low, double high) = context.Extremes.NeededPositions(number, index);
            if (double.IsNaN(low) || double.IsNaN(high))
            {
                (low, high) = (outcome.Needed, outcome.Needed);
            }

            (low, high) = (Math.Min(low, high), Math.Max(low, high));

            double margin = double.IsNaN(outcome.Needed) ? -1 : 2 * Math.Min(low, 1 - high);
            if (!outcome.Reached)
            {
                margin = Math.Min(margin, -0.01);
            }

            string statement = outcome.Reached
                ? $"{part.Name.Value} stands at {Engineering.Format(outcome.Position * whole, "Ω", 3)} of {Engineering.Format(whole, "Ω", 3)} for {Engineering.Format(step.Target.Value, unit)} at {step.Meter.Value}; "
                    + (margin >= 0
                        ? $"between {Engineering.Percent(low, 2)} and {Engineering.Percent(high, 2)} of its travel on every unit."
                        : $"some units would need {Engineering.Percent(low < 1 - high ? low : high, 2)} of its travel.")
                : double.IsNaN(outcome.Needed)
                    ? $"No position of {part.Name.Value} gives {Engineering.Format(step.Target.Value, unit)} at {step.Meter.Value}; it reads {Engineering.Format(outcome.Reading, unit)}."
                : outcome.Needed is >= 0 and <= 1
                    ? $"{part.Name.Value} can give {Engineering.Format(step.Target.Value, unit)} at {step.Meter.Value}, but in the end it reads {Engineering.Format(outcome.Reading, unit)}: "
                        + "an amplifier stands at a limit, or a later step takes it away."
                    : $"{part.Name.Value} would need {Engineering.Format(outcome.Needed * whole, "Ω", 3)} for {Engineering.Format(step.Target.Value, unit)} at {step.Meter.Value}; "
                        + $"it has 0 to {Engineering.Format(whole, "Ω", 3)} and {step.Meter.Value} reads {Engineering.Format(outcome.Reading, unit)}.";
            yield return CheckContext.Finding(
                this,
                step.Name.Value,
                context.StageOf(part.Name.Value),
                margin,
                statement,
                [
                    new Figure("needed", outcome.Needed * whole, "Ω"),
                    new Figure("trimmer", whole, "Ω"),
                    new Figure("least position needed", low, ""),
                    new Figure("greatest position needed", high, ""),
                    new Figure("travel used", high - low, ""),
                    new Figure("reads", outcome.Reading, unit),
                    new Figure("target", step.Target.Value, unit),
                ],
                outcome.Reached
                    ? high - low > 1
                        ? $"A trimmer of at least {Engineering.Format((high - low) * whole, "Ω", 2)}{Standard(context, part, low, high)}, or narrower tolerances."
                        : Centre(context, step, part, ((low + high) / 2 - 0.5) * whole, low, high)
                    : double.IsNaN(outcome.Needed)
                        ? context.FarFromSensor(step) ?? $"Look at what {step.Name.Value} sets, where its meter is and whether {part.Name.Value} acts there at all."
                    : outcome.Needed is >= 0 and <= 1
                        ? "Put the steps in an order in which no later one moves an earlier one, one trimmer to each, and see to the headroom at this point."
                        : Centre(context, step, part, (outcome.Needed - 0.5) * whole, low, high),
                step.Span);
        }
    }

    /// <summary>What brings the trimmer to the middle of its travel where it would have to be moved by so many ohms.</summary>
    private static string Centre(CheckContext context, AdjustmentStep step, Part trimmer, double ohms, double low, double high)
    {
        if (context.FarFromSensor(step) is { } far)
        {
            return far;
        }

        if (InSeries(context, trimmer) is not { } fixedPart)
        {
            return $"Shift the fixed part beside {trimmer.Name.Value} by {Engineering.Format(ohms, "Ω", 3)} to centre it, or take another target.";
        }

        double value = fixedPart.Parameters[0].Quantity.Value;
        return value + ohms > 0
            ? $"{fixedPart.Name.Value} of {Engineering.Format(value + ohms, "Ω", 3)} instead of {Engineering.Format(value, "Ω")} centres {trimmer.Name.Value}{Standard(context, trimmer, low, high)}; or take another target."
            : $"No value of {fixedPart.Name.Value} does: look at what step {step.Name.Value} sets and at its target.";
    }

    /// <summary>
    /// The smallest trimmer, of the usual values 1, 2 and 5 of a decade, that with a fixed resistor of its tolerance's series covers what every unit needs and
    /// keeps a tenth of its travel free at either end; empty where nothing does. Common practice, no source.
    /// </summary>
    private static string Standard(CheckContext context, Part trimmer, double low, double high)
    {
        if (InSeries(context, trimmer) is not { } fixedPart || !double.IsFinite(low) || !double.IsFinite(high))
        {
            return "";
        }

        Quantity had = fixedPart.Parameters[0].Quantity;
        Quantity whole = ((ITrimmer)trimmer).Resistance.Quantity;
        double least = had.Value + (low * whole.Value);
        double greatest = had.Value + (high * whole.Value);
        double tolerance = had.Tolerance / had.Value;
        double trimmerTolerance = whole.Tolerance / whole.Value;
        const double Free = 0.1;
        for (int exponent = 0; exponent <= 6; exponent++)
        {
            foreach (int mantissa in new[] { 1, 2, 5 })
            {
                double trim = mantissa * Math.Pow(10, exponent);
                double middle = ((least + greatest) / 2) - (trim / 2);
                if (middle <= 0 || trim * (1 - trimmerTolerance) < greatest - least)
                {
                    continue;
                }

                // What the other fixed value spreads more than the one there is comes on top of what every unit needs.
                double value = ESeries.Nearest(middle, ESeries.ForTolerance(tolerance));
                double more = Math.Max(0, (value - had.Value) * tolerance);
                double first = (least - more - value) / trim;
                double last = (greatest + more - value) / (trim * (1 - trimmerTolerance));
                if (first >= Free && last <= 1 - Free)
                {
                    return $"; of the standard values {Engineering.Format(value, "Ω")} for {fixedPart.Name.Value} with a trimmer of {Engineering.Format(trim, "Ω")} covers every unit";
                }
            }
        }

        return "";
    }

    /// <summary>The resistor that carries the current of a rheostat and of nothing else; null when there is none.</summary>
    private static Part? InSeries(CheckContext context, Part trimmer)
    {
        if (trimmer.Terminals.Length != 2)
        {
            return null;
        }

        foreach (string node in trimmer.Terminals.Select(t => t.Node.Value))
        {
            Part[] others = [.. context.Model.Parts.Where(p => p != trimmer).SelectMany(p => p.Terminals.Where(t => t.Node.Value == node).Select(_ => p))];
            bool isTapped = context.Model.Converter?.Input.Value == node || context.Model.OutputConverter?.Output.Value == node
                || context.Instrument.Sensor.Terminals.Any(t => t.Node.Value == node);
            if (others is [{ Kind: "resistor" } only] && !isTapped)
            {
                return only;
            }
        }

        return null;
    }
}
