using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The loop's scale is that of the measuring range.</summary>
internal sealed class ScaleCheck(OutputSignal signal) : OutputCheck(signal)
{
    /// <summary>IEC 60381-1, A.</summary>
    private static readonly (double Low, double High)[] Currents = [(4e-3, 20e-3), (0, 20e-3)];

    /// <summary>IEC 60381-2, V.</summary>
    private static readonly (double Low, double High)[] Voltages = [(0, 10), (2, 10), (0, 5), (1, 5), (-10, 10)];

    public override string Name => Signal.IsVoltage ? "voltage scale agrees with the range" : "scale agrees with the range";

    public override string MustHold => Signal.IsVoltage
        ? "The ends of the measuring range stand at 0 and 10 V (or 2 and 10 V, 0 and 5 V, 1 and 5 V, −10 and 10 V), in either direction, with nothing of the range outside."
        : "The ends of the measuring range stand at 4 and 20 mA (or 0 and 20 mA), in either direction, with nothing of the range outside.";

    public override string Formula => "Ends of the scale against ends of the range.";

    public override string Source => Signal.IsVoltage
        ? "IEC 60381-2: direct voltage signals of 1 to 5 V, 0 to 5 V, 0 to 10 V and −10 to 10 V (from memory of the standard, not seen); 2 to 10 V, which 4 to 20 mA make across 500 Ω: common practice, no source."
        : "IEC 60381-1: direct current signals of 4 to 20 mA, 0 to 20 mA.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        if (context.Evaluator.LoopScale is not { } scale)
        {
            yield return CheckContext.Finding(
                this, Signal.Place, Signal.Place, -1, "The scale's points do not make a rising or falling line.", [], $"Give each value of the measurand one {Signal.Noun}.", loop.Span);
            yield break;
        }

        QuantityRange range = context.Specification.Range;
        double atLow = scale.Forward(range.Low);
        double atHigh = scale.Forward(range.High);
        double least = Math.Min(atLow, atHigh);
        double most = Math.Max(atLow, atHigh);
        double tolerance = Signal.FineScale;
        bool right = (Signal.IsVoltage ? Voltages : Currents).Any(s => Math.Abs(most - s.High) <= tolerance && Math.Abs(least - s.Low) <= tolerance);
        (string from, string to) = Signal.IsVoltage ? ("0 V", "10 V") : ("4 mA", "20 mA");
        yield return CheckContext.Finding(
            this,
            Signal.Place,
            Signal.Place,
            right ? 1 : -1,
            $"{context.At(range.Low)} → {Value(atLow)}, {context.At(range.High)} → {Value(atHigh)}.",
            [Figure($"{Signal.Noun} at the range's start", atLow), Figure($"{Signal.Noun} at the range's end", atHigh)],
            $"Give the scale the range's ends: {{ {context.At(range.Low)}: {from}, {context.At(range.High)}: {to} }}.",
            loop.Scale.IsEmpty ? loop.Span : loop.Scale[0].Span);
    }
}

/// <summary>Constants of the output in the code fit the circuit behind it.</summary>
internal sealed class OutputScalingCheck : Check
{
    public override string Name => "output scaling constants agree with the stages";

    public override string MustHold => "The codes that the code holds for currents or voltages of the output give those by the intents, within the output's error limit.";

    public override string Formula => "Constants to a code, code times the converter's step, through the intended transfer to the output, at each of the constants.";

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
            arithmetic.OutputScaling.Select(p => $"{Engineering.Number(Math.Round(transfer.Inverse(p.From.Value) / evaluator.VoltsPerOutputCode))} for {Engineering.Format(p.From.Value, context.Signal.Unit)}"));
        yield return CheckContext.Finding(
            this,
            arithmetic.Name.Value,
            arithmetic.Name.Value,
            CheckContext.MarginOf(error, context.AllowedLoopError),
            $"The constants give {Engineering.Format(where + error, context.Signal.Unit)} for {Engineering.Format(where, context.Signal.Unit)} by the intended stages.",
            [new Figure("error", error, context.Signal.Unit), new Figure("allowed", context.AllowedLoopError, context.Signal.Unit)],
            $"By the stages and the reference the codes are {should}; or leave the constants out: then they follow.",
            arithmetic.OutputScaling[0].Span);
    }
}

/// <summary>The output converter reaches everything that is asked of it.</summary>
internal sealed class OutputRangeCheck : Check
{
    public override string Name => "output range";

    public override string MustHold => "The codes for every current or voltage of the output (scale, limits, failure, output test) lie inside the output converter's range.";

    public override string Formula => "Inverse of the intended transfer at each of them, over the converter's step.";

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
            $"Codes {Engineering.Number(Math.Round(low))} to {Engineering.Number(Math.Round(high))} of 0 to {Engineering.Number(top)} for {Engineering.Range(least, most, context.Signal.Unit)}.",
            [new Figure("least code", low, ""), new Figure("greatest code", high, ""), new Figure("last code", top, "")],
            high > top
                ? $"A greater reference, more gain behind {dac.Name.Value}{(context.Signal.IsVoltage ? "" : ", or a smaller sense resistor")}."
                : $"A zero that leaves room below: the intent asks for {Engineering.Number(low)} at {Engineering.Format(least, context.Signal.Unit)}.",
            dac.Span);
    }
}

/// <summary>One code of the output is small against what it may be wrong by.</summary>
internal sealed class LoopResolutionCheck(OutputSignal signal) : OutputCheck(signal)
{
    /// <summary>One code may be this part of the output's error limit.</summary>
    private const double Fraction = 0.25;

    public override string Name => Signal.Place + " resolution";

    public override string MustHold => $"One code of the output converter moves the {Signal.Place} by at most a quarter of the {Signal.Place}'s error limit.";

    public override string Formula => (Signal.IsVoltage ? "Voltage" : "Current") + " of the intended transfer per code over the scale.";

    public override string Source => "Common practice, no source.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
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
            $"1 code = {Value(step, 3)}, {Engineering.Percent(step / context.LoopSpan, 2)} of span; a quarter of the error limit is {Value(allowed, 3)}.",
            [Figure("one code", step), Figure("allowed", allowed)],
            double.IsFinite(step) ? $"{CheckContext.MoreBits(step / allowed)}, or more of the converter's range for the scale." : $"See that {dac.Name.Value} moves the {Signal.Place}.",
            dac.Span);
    }
}

/// <summary>The output follows the measurand on a nominal unit.</summary>
internal sealed class LoopFollowsCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => Signal.Place + " follows the measurand";

    public override string MustHold => $"On the nominal, adjusted unit under reference conditions the {Signal.Place}'s {Signal.Noun} differs from its scale by less than the {Signal.Place}'s error limit.";

    public override string Formula => $"The whole chain, sensor to {Signal.Place}, converters rounded, load in the middle of its range, at seven points of the range.";

    public override string Source => "IEC 60770-1, intrinsic error, here of the nominal unit.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        if (context.Evaluator.LoopScale is not { } scale)
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
            double found = context.Evaluator.Chain(state).LoopValue;
            double error = found - scale.Forward(x);
            if (!(Math.Abs(error) <= Math.Abs(worst)) || double.IsNaN(where))
            {
                (worst, where, given) = (error, x, found);
                if (double.IsNaN(error))
                {
                    break;
                }
            }
        }

        yield return CheckContext.Finding(
            this,
            Signal.Place,
            Signal.Place,
            CheckContext.MarginOf(worst, context.AllowedLoopError),
            double.IsNaN(worst)
                ? $"At {context.At(where)} the network has no single operating point."
                : $"At {context.At(where)} it {(Signal.IsVoltage ? "gives" : "carries")} {Value(given, 5)} for {Value(scale.Forward(where), 5)}, {Value(worst, 2, signed: true)}.",
            [Figure("largest error", worst), Figure("allowed", context.AllowedLoopError)],
            "Mend the stage or the constant at which the readings leave the intended line; the findings above name it.",
            loop.Span);
    }
}

/// <summary>A failure can't be taken for a measured value.</summary>
internal sealed class FailureLevelCheck(OutputSignal signal) : OutputCheck(signal)
{
    public override string Name => $"failure {Signal.Noun} distinct";

    public override string MustHold => Signal.IsVoltage
        ? "The failure voltage, worst case, lies outside every voltage that a measured value can have, worst case and beyond the range. Where the scale begins at 0 V it lies above."
        : "The failure current, worst case, lies outside every current that a measured value can have, worst case and beyond the range, and, with a live zero, at 3.6 mA or below or at 21 mA or above as set. Where the scale begins at 0 mA it lies above.";

    public override string Formula => $"Extremes of the {Signal.Place}'s {Signal.Noun} with the output converter at the code for the failure and at the code for the nearer measuring limit.";

    public override string Source => Signal.IsVoltage
        ? "Common practice, no source: no recommendation gives limits for a voltage."
        : "NAMUR NE 43: measuring 3.8 to 20.5 mA, failure at 3.6 mA or below or at 21 mA or above (as restated by makers; the recommendation itself was not seen). It speaks of a live zero; for 0 to 20 mA common practice, no source.";

    protected override IEnumerable<Finding> Run(CheckContext context, Loop loop)
    {
        if (loop.Failure is not { } failure || context.Model.OutputConverter is null || context.Evaluator.OutputTransfer is null)
        {
            yield break;
        }

        double set = failure.Value;
        bool low = set < loop.Scale.Average(p => p.To.Value);
        OutputStates states = context.States;
        double limit = low ? Math.Min(states.MeasuringLow, states.ScaleLow) : Math.Max(states.MeasuringHigh, states.ScaleHigh);
        if (low && states.IsDead)
        {
            yield return CheckContext.Finding(
                this,
                Signal.Place,
                Signal.Place,
                -1,
                $"{Value(set)} is where the scale begins, and what a broken wire and an instrument without power give: nothing below the scale is left to signal with.",
                [Figure($"failure {Signal.Noun}", set), Figure("start of the scale", states.ScaleLow)],
                $"A failure {Signal.Noun} above {Value(states.MeasuringHigh)}, or a scale with a live zero.",
                failure.Span);
            yield break;
        }

        if ((low ? loop.Under : loop.Over) is null)
        {
            string word = low ? "under" : "over";
            yield return CheckContext.Finding(
                this,
                Signal.Place,
                Signal.Place,
                -1,
                $"Nothing keeps a measured value beyond the range from {Value(set)}: the {Signal.Place} states no limit `{word}`.",
                [Figure($"failure {Signal.Noun}", set)],
                $"State the limit: {word}: {Value(limit)}.",
                failure.Span);
            yield break;
        }

        Reading reading = new(context.Model.Field.Output!.Value);
        Extreme atFailure = context.Extremes.Find(reading, Scenarios(context, loop, set), limited: true);
        Extreme atLimit = context.Extremes.Find(reading with { Sides = low ? Sides.Low : Sides.High }, Scenarios(context, loop, limit), limited: true);
        double gap = low ? atLimit.Low - atFailure.High : atFailure.Low - atLimit.High;
        double nominalGap = Math.Abs(limit - set);
        bool standard = !states.IsByRecommendation || LoopSignals.Classify(set) is LoopState.FailureLow or LoopState.FailureHigh;
        bool outside = low ? set < limit : set > limit;
        double margin = !standard || !outside ? -1 : gap / Math.Max(nominalGap, Math.Abs(gap));
        double spread = Math.Max(atFailure.High - set, set - atFailure.Low);
        string mend = !outside || !standard
            ? !states.IsByRecommendation ? $"A failure {Signal.Noun} {(low ? "below" : "above")} {Value(limit)}."
                : low ? "A failure current of 3.6 mA or less." : "A failure current of 21 mA or more."
            : $"Narrower tolerances of the output stage, or a failure {Signal.Noun} further out.";
        yield return CheckContext.Finding(
            this,
            Signal.Place,
            Signal.Place,
            margin,
            margin >= 0
                ? $"{Value(set)} ±{Value(spread, 2)} against {Value(limit)}: {Value(gap, 2)} apart in the worst case."
                : !outside
                    ? $"{Value(set)} is a {Signal.Noun} that a measured value has too: measuring runs to {Value(limit)}."
                    : !standard
                        ? $"{Value(set)} is no failure signal to a receiver that follows NE 43."
                        : $"{Value(set)} is set; between {Engineering.Range(atFailure.Low, atFailure.High, Signal.Unit)} {(Signal.IsVoltage ? "comes out" : "flows")}, and {Value(limit)} of measuring is as near as {Value(-gap, 2)} over it.",
            [
                Figure($"failure {Signal.Noun}", set),
                Figure("least", atFailure.Low),
                Figure("greatest", atFailure.High),
                Figure("nearer measuring limit", limit),
                Figure("gap in the worst case", gap),
            ],
            mend,
            failure.Span);
    }

    internal static Scenario[] Scenarios(CheckContext context, Loop loop, double value) =>
    [
        new Scenario("least load", s =>
        {
            s.Burden = loop.Burden.Low;
            context.Drive(s, value);
        }),
        new Scenario("greatest load", s =>
        {
            s.Burden = loop.Burden.High;
            context.Drive(s, value);
        }),
    ];
}
