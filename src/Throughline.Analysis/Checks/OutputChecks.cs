using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop's scale is that of the measuring range.</summary>
internal sealed class ScaleCheck : Check
{
    public override string Name => "scale agrees with the range";

    public override string MustHold => "The ends of the measuring range stand at 4 and 20 mA (or 0 and 20 mA), in either direction, with nothing of the range outside.";

    public override string Formula => "Ends of the scale against ends of the range.";

    public override string Source => "IEC 60381-1: direct current signals of 4 to 20 mA, 0 to 20 mA.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { } loop)
        {
            yield break;
        }

        if (context.Evaluator.LoopScale is not { } scale)
        {
            yield return CheckContext.Finding(
                this, "loop", "loop", -1, "The scale's points do not make a rising or falling line.", [], "Give each value of the measurand one current.", loop.Span);
            yield break;
        }

        QuantityRange range = context.Specification.Range;
        double atLow = scale.Forward(range.Low);
        double atHigh = scale.Forward(range.High);
        double least = Math.Min(atLow, atHigh);
        double most = Math.Max(atLow, atHigh);
        const double Tolerance = 1e-6;
        bool right = Math.Abs(most - 20e-3) <= Tolerance && (Math.Abs(least - 4e-3) <= Tolerance || Math.Abs(least) <= Tolerance);
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            right ? 1 : -1,
            $"{context.At(range.Low)} → {Engineering.Format(atLow, "A")}, {context.At(range.High)} → {Engineering.Format(atHigh, "A")}.",
            [new Figure("current at the range's start", atLow, "A"), new Figure("current at the range's end", atHigh, "A")],
            $"Give the scale the range's ends: {{ {context.At(range.Low)}: 4 mA, {context.At(range.High)}: 20 mA }}.",
            loop.Scale.IsEmpty ? loop.Span : loop.Scale[0].Span);
    }
}

/// <summary>Constants of the output in the code fit the circuit behind it.</summary>
internal sealed class OutputScalingCheck : Check
{
    public override string Name => "output scaling constants agree with the stages";

    public override string MustHold => "The codes that the code holds for currents give those currents by the intents, within the loop's error limit.";

    public override string Formula => "Constants to a code, code times the converter's step, through the intended transfer to a current, at 4 and 20 mA.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        if (context.Model.Arithmetic is not { OutputScaling.Length: >= 2 } arithmetic || evaluator.OutputTransfer is not { } transfer)
        {
            yield break;
        }

        (double error, double where) = arithmetic.OutputScaling.Select(p => p.From.Value)
            .Select(i => (Error: transfer.Forward(evaluator.OutputCodeOf(i) * evaluator.VoltsPerOutputCode) - i, i))
            .MaxBy(p => CheckContext.SizeOf(p.Error));
        string should = string.Join(
            ", ",
            arithmetic.OutputScaling.Select(p => $"{Engineering.Number(Math.Round(transfer.Inverse(p.From.Value) / evaluator.VoltsPerOutputCode))} for {Engineering.Format(p.From.Value, "A")}"));
        yield return CheckContext.Finding(
            this,
            arithmetic.Name.Value,
            arithmetic.Name.Value,
            CheckContext.MarginOf(error, context.AllowedLoopError),
            $"The constants give {Engineering.Format(where + error, "A")} for {Engineering.Format(where, "A")} by the intended stages.",
            [new Figure("error", error, "A"), new Figure("allowed", context.AllowedLoopError, "A")],
            $"By the stages and the reference the codes are {should}; or leave the constants out: then they follow.",
            arithmetic.OutputScaling[0].Span);
    }
}

/// <summary>The output converter reaches every current that is asked of it.</summary>
internal sealed class OutputRangeCheck : Check
{
    public override string Name => "output range";

    public override string MustHold => "The codes for every current of the loop (scale, limits, failure, output test) lie inside the output converter's range.";

    public override string Formula => "Inverse of the intended transfer at each current, over the converter's step.";

    public override string Source => "Converter ranges by definition.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.OutputConverter is not { } dac || context.Instrument.Loop is null || context.Evaluator.OutputTransfer is null)
        {
            yield break;
        }

        (double least, double most) = context.LoopValues;
        double top = Math.ScaleB(1, dac.Bits) - 1;
        double a = context.Evaluator.OutputCodeOf(least);
        double b = context.Evaluator.OutputCodeOf(most);
        (double low, double high) = (Math.Min(a, b), Math.Max(a, b));
        double room = Math.Min(low, top - high) / top;
        yield return CheckContext.Finding(
            this,
            dac.Name.Value,
            dac.Name.Value,
            room < 0 ? room * 2 : Math.Max(room * 4, CheckContext.MarginalBelow),
            $"Codes {Engineering.Number(Math.Round(low))} to {Engineering.Number(Math.Round(high))} of 0 to {Engineering.Number(top)} for {Engineering.Range(least, most, "A")}.",
            [new Figure("least code", low, ""), new Figure("greatest code", high, ""), new Figure("last code", top, "")],
            high > top
                ? $"A greater reference, more gain behind {dac.Name.Value}, or a smaller sense resistor."
                : $"A zero that leaves room below: the intent asks for {Engineering.Number(low)} at {Engineering.Format(least, "A")}.",
            dac.Span);
    }
}

/// <summary>One code of the output is small against what the loop may be wrong by.</summary>
internal sealed class LoopResolutionCheck : Check
{
    /// <summary>One code may be this part of the loop's error limit.</summary>
    private const double Fraction = 0.25;

    public override string Name => "loop resolution";

    public override string MustHold => "One code of the output converter moves the loop by at most a quarter of the loop's error limit.";

    public override string Formula => "Current of the intended transfer per code over the scale.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.OutputConverter is not { } dac || context.Evaluator.LoopScale is not { } scale || context.Evaluator.OutputTransfer is null)
        {
            yield break;
        }

        double low = scale.To[0];
        double high = scale.To[^1];
        double step = Math.Abs((high - low) / (context.Evaluator.OutputCodeOf(high) - context.Evaluator.OutputCodeOf(low)));
        double allowed = Fraction * context.AllowedLoopError;
        yield return CheckContext.Finding(
            this,
            dac.Name.Value,
            dac.Name.Value,
            CheckContext.MarginOf(step, allowed),
            $"1 code = {Engineering.Format(step, "A", 3)}, {Engineering.Percent(step / context.LoopSpan, 2)} of span; a quarter of the error limit is {Engineering.Format(allowed, "A", 3)}.",
            [new Figure("one code", step, "A"), new Figure("allowed", allowed, "A")],
            double.IsFinite(step) ? $"{CheckContext.MoreBits(step / allowed)}, or more of the converter's range for the scale." : $"See that {dac.Name.Value} moves the loop.",
            dac.Span);
    }
}

/// <summary>The loop carries the measurand on a nominal unit.</summary>
internal sealed class LoopFollowsCheck : Check
{
    public override string Name => "loop follows the measurand";

    public override string MustHold => "On the nominal, adjusted unit under reference conditions the loop's current differs from its scale by less than the loop's error limit.";

    public override string Formula => "The whole chain, sensor to loop, converters rounded, load in the middle of its range, at seven points of the range.";

    public override string Source => "IEC 60770-1, intrinsic error, here of the nominal unit.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { } loop || context.Evaluator.LoopScale is not { } scale)
        {
            yield break;
        }

        double worst = 0;
        double where = double.NaN;
        double given = double.NaN;
        foreach (double x in context.RangePoints)
        {
            UnitState state = context.Evaluator.NewState();
            state.Measurand = x;
            double current = context.Evaluator.Chain(state).LoopValue;
            double error = current - scale.Forward(x);
            if (!(Math.Abs(error) <= Math.Abs(worst)) || double.IsNaN(where))
            {
                (worst, where, given) = (error, x, current);
                if (double.IsNaN(error))
                {
                    break;
                }
            }
        }

        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            CheckContext.MarginOf(worst, context.AllowedLoopError),
            double.IsNaN(worst)
                ? $"At {context.At(where)} the network has no single operating point."
                : $"At {context.At(where)} it carries {Engineering.Format(given, "A", 5)} for {Engineering.Format(scale.Forward(where), "A", 5)}, {Engineering.Format(worst, "A", 2, signed: true)}.",
            [new Figure("largest error", worst, "A"), new Figure("allowed", context.AllowedLoopError, "A")],
            "Mend the stage or the constant at which the readings leave the intended line; the findings above name it.",
            loop.Span);
    }
}

/// <summary>A failure can't be taken for a measured value.</summary>
internal sealed class FailureCurrentCheck : Check
{
    public override string Name => "failure current distinct";

    public override string MustHold => "The failure current, worst case, lies outside every current that a measured value can have, worst case and beyond the range, and at 3.6 mA or below or at 21 mA or above as set.";

    public override string Formula => "Extremes of the loop's current with the output converter at the code for the failure and at the code for the nearer measuring limit.";

    public override string Source => "NAMUR NE 43: measuring 3.8 to 20.5 mA, failure at 3.6 mA or below or at 21 mA or above (as restated by makers; the recommendation itself was not seen).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { Failure: { } failure } loop || context.Model.OutputConverter is null || context.Evaluator.OutputTransfer is null)
        {
            yield break;
        }

        double set = failure.Value;
        bool low = set < loop.Scale.Average(p => p.To.Value);
        double limit = low
            ? Math.Min(loop.Under?.Value ?? LoopSignals.MeasuringLow, loop.Scale.Min(p => p.To.Value))
            : Math.Max(loop.Over?.Value ?? LoopSignals.MeasuringHigh, loop.Scale.Max(p => p.To.Value));
        if ((low ? loop.Under : loop.Over) is null)
        {
            string word = low ? "under" : "over";
            yield return CheckContext.Finding(
                this,
                "loop",
                "loop",
                -1,
                $"Nothing keeps a measured value beyond the range from {Engineering.Format(set, "A")}: the loop states no limit `{word}`.",
                [new Figure("failure current", set, "A")],
                $"State the limit: {word}: {Engineering.Format(limit, "A")}.",
                failure.Span);
            yield break;
        }

        Reading reading = new(Evaluator.LoopProbe(context.Model.Field));
        Extreme atFailure = context.Extremes.Find(reading, Scenarios(context, loop, set), limited: true);
        Extreme atLimit = context.Extremes.Find(reading with { Sides = low ? Sides.Low : Sides.High }, Scenarios(context, loop, limit), limited: true);
        double gap = low ? atLimit.Low - atFailure.High : atFailure.Low - atLimit.High;
        double nominalGap = Math.Abs(limit - set);
        bool standard = LoopSignals.Classify(set) is LoopState.FailureLow or LoopState.FailureHigh;
        bool outside = low ? set < limit : set > limit;
        double margin = !standard || !outside ? -1 : gap / Math.Max(nominalGap, Math.Abs(gap));
        double spread = Math.Max(atFailure.High - set, set - atFailure.Low);
        string mend = !outside || !standard
            ? low ? "A failure current of 3.6 mA or less." : "A failure current of 21 mA or more."
            : "Narrower tolerances of the output stage, or a failure current further out.";
        yield return CheckContext.Finding(
            this,
            "loop",
            "loop",
            margin,
            margin >= 0
                ? $"{Engineering.Format(set, "A")} ±{Engineering.Format(spread, "A", 2)} against {Engineering.Format(limit, "A")}: {Engineering.Format(gap, "A", 2)} apart in the worst case."
                : !outside
                    ? $"{Engineering.Format(set, "A")} is a current that a measured value has too: measuring runs to {Engineering.Format(limit, "A")}."
                    : !standard
                        ? $"{Engineering.Format(set, "A")} is no failure signal to a receiver that follows NE 43."
                        : $"{Engineering.Format(set, "A")} is set; between {Engineering.Range(atFailure.Low, atFailure.High, "A")} flows, and {Engineering.Format(limit, "A")} of measuring is as near as {Engineering.Format(-gap, "A", 2)} over it.",
            [
                new Figure("failure current", set, "A"),
                new Figure("least", atFailure.Low, "A"),
                new Figure("greatest", atFailure.High, "A"),
                new Figure("nearer measuring limit", limit, "A"),
                new Figure("gap in the worst case", gap, "A"),
            ],
            mend,
            failure.Span);
    }

    internal static Scenario[] Scenarios(CheckContext context, Loop loop, double amperes) =>
    [
        new Scenario("least load", s =>
        {
            s.LoadOhms = loop.Load.Low;
            context.Drive(s, amperes);
        }),
        new Scenario("greatest load", s =>
        {
            s.LoadOhms = loop.Load.High;
            context.Drive(s, amperes);
        }),
    ];
}
