using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The signal uses enough of the converter.</summary>
internal sealed class ConverterRangeUsedCheck : Check
{
    private const double LeastUse = 0.25;

    public override string Name => "converter range used";

    public override string MustHold => "The measuring range uses at least a quarter of the converter's codes.";

    public override string Formula => "(code at the range's end − code at its start) / number of codes, on the nominal unit.";

    public override string Source => "Common practice, no source: two bits lost are still repaired by averaging, more are not.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.Converter is not { } adc)
        {
            yield break;
        }

        double low = context.ConverterVolts(context.Specification.Range.Low) * context.Evaluator.CodesPerVolt;
        double high = context.ConverterVolts(context.Specification.Range.High) * context.Evaluator.CodesPerVolt;
        double used = Math.Abs(high - low) / Math.ScaleB(1, adc.Bits);
        yield return CheckContext.Finding(
            this,
            adc.Name.Value,
            adc.Name.Value,
            used >= LeastUse ? (used - LeastUse) / (1 - LeastUse) : (used / LeastUse) - 1,
            $"{Engineering.Percent(used, 2)} of the codes, {Engineering.Number(Math.Round(low))} to {Engineering.Number(Math.Round(high))}.",
            [new Figure("used", used, ""), new Figure("code at the range's start", low, ""), new Figure("code at the range's end", high, "")],
            $"More gain in front of {adc.Name.Value}, or a smaller reference.",
            adc.Span);
    }
}

/// <summary>The signal stays inside the converter's range.</summary>
internal sealed class ConverterRangeCheck : Check
{
    public override string Name => "converter range exceeded";

    public override string MustHold => "Over the measuring range and all rated conditions the converter's input stays inside its range, and inside its linear range where one is stated.";

    public override string Formula => "Worst case of the input voltage against 0 .. reference / gain (± for a bipolar converter) with reference, gain error and offset where they leave least of it; margin of half the range.";

    public override string Source => "Worst case by exact sensitivities; converter ranges by definition.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.Converter is not { } adc || context.ConverterInput is not { } extreme)
        {
            yield break;
        }

        Evaluator evaluator = context.Evaluator;
        double leastReference = adc.Reference is { } own ? LeastReference(context, adc, own) : evaluator.NominalReference;
        double offset = adc.Offset?.Quantity.Tolerance ?? 0;
        double full = leastReference / (adc.Gain * (1 + (adc.GainError is { } gain ? gain.Quantity.Tolerance + (gain.Quantity.Drift * FromReference(context)) : 0)));
        (double start, double end) = ((adc.Bipolar ? -full : 0) + offset, full - offset);
        if (adc.Linear is { } linear)
        {
            (start, end) = (Math.Max(start, linear.Low), Math.Min(end, linear.High));
        }

        double room = Math.Min(extreme.Low - start, end - extreme.High);
        string range = Engineering.Range(start, end, "V", 3);
        string statement = room >= 0
            ? $"Its input stays between {Engineering.Range(extreme.Low, extreme.High, "V")} in the worst case, inside {range}."
            : ConverterWords.Exceeded(context, $"The {(adc.Linear is null ? "range" : "linear range")} of {range}", start, end, extreme);
        yield return CheckContext.Finding(
            this,
            adc.Name.Value,
            adc.Name.Value,
            room / Math.Max((end - start) / 2, Math.Abs(room)),
            statement,
            [
                .. ConverterWords.Inputs(extreme, upperIsNearer: end - extreme.High < extreme.Low - start),
                new Figure("start of the range", start, "V"),
                new Figure("end of the range", end, "V"),
                .. ConverterWords.Crossings(context, start, end),
            ],
            ConverterWords.Mend(start, end, extreme),
            adc.Input.Span);
    }

    /// <summary>A reference of its own at its least over ambient temperature and the time between calibrations, V.</summary>
    private static double LeastReference(CheckContext context, ConverterStage adc, Parameter own)
    {
        double least = context.Model.Parameters.Low(context.Model.Parameters.IndexOf(own)) - (own.Quantity.Drift * FromReference(context));
        double age = context.Specification.CalibrationInterval?.Value ?? 0;
        return adc.ReferenceAgeing is { } ageing ? least * (1 - (ageing.Quantity.Tolerance * age)) : least;
    }

    /// <summary>The greatest distance of the ambient temperature from that at which values are stated, K.</summary>
    private static double FromReference(CheckContext context) =>
        Math.Max(Math.Abs(context.Specification.Ambient.High - UnitState.ReferenceCelsius), Math.Abs(context.Specification.Ambient.Low - UnitState.ReferenceCelsius));
}

/// <summary>The converter's pins survive what reaches them.</summary>
internal sealed class ConverterPinsCheck : Check
{
    public override string Name => "converter pins within their absolute limits";

    public override string MustHold => "What the circuit can put on the converter's input stays inside the limits that its pins survive.";

    public override string Formula => "Worst case of the input voltage, amplifiers with their limits, against the stated absolute limits; margin of half of their distance.";

    public override string Source => "Absolute maximum ratings are limits of survival, not of operation: common practice.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.Converter is not { Absolute: { } absolute } adc || context.Evaluator.ConverterProbe(context.Model.Field) is not { } probe)
        {
            yield break;
        }

        Extreme extreme = context.Extremes.Find(new Reading(probe), context.RangeEnds, limited: true);
        double start = double.IsFinite(absolute.Low) ? absolute.Low : double.NegativeInfinity;
        double room = Math.Min(extreme.Low - start, absolute.High - extreme.High);
        double half = double.IsFinite(start) ? absolute.Width / 2 : Math.Abs(absolute.High) / 2;
        yield return CheckContext.Finding(
            this,
            adc.Name.Value,
            adc.Name.Value,
            room / Math.Max(half, Math.Abs(room)),
            room >= 0
                ? $"{Engineering.Format(room, "V", 3)} left to the limit its pins survive."
                : ConverterWords.Exceeded(context, $"The absolute limit of {Engineering.Format(extreme.High > absolute.High ? absolute.High : start, "V", 3)}", start, absolute.High, extreme),
            [
                .. ConverterWords.Inputs(extreme, upperIsNearer: absolute.High - extreme.High < extreme.Low - start),
                new Figure("limit", absolute.High - extreme.High < extreme.Low - start ? absolute.High : start, "V"),
                .. ConverterWords.Crossings(context, start, absolute.High),
            ],
            ConverterWords.Mend(start, absolute.High, extreme) + " Or clamp the pin, with a resistor that bounds the clamp's current.",
            absolute.Span);
    }
}

/// <summary>Words that the converter's checks share.</summary>
internal static class ConverterWords
{
    /// <summary>Least and greatest input, that in front which is nearer to its limit: a narrow window shows the first figure only.</summary>
    public static Figure[] Inputs(Extreme extreme, bool upperIsNearer)
    {
        Figure least = new("least input", extreme.Low, "V");
        Figure greatest = new("greatest input", extreme.High, "V");
        return upperIsNearer ? [greatest, least] : [least, greatest];
    }

    /// <summary>Says from which value of the measurand on, and which way, a range is left.</summary>
    public static string Exceeded(CheckContext context, string what, double start, double end, Extreme extreme)
    {
        bool above = extreme.High - end > start - extreme.Low;
        double limit = above ? end : start;
        double reached = above ? extreme.High : extreme.Low;
        double? crossing = Crossing(context, limit);
        string where = "in the worst case only";
        if (crossing is { } x)
        {
            double volts = context.ConverterVolts(context.Specification.Range.Low);
            bool leavesDown = above ? volts > limit : volts < limit;
            where = $"from {context.At(x)} {(leavesDown ? "down" : "up")}";
        }
        else if (context.ConverterVolts(context.Specification.Range.Middle) is var middle && (above ? middle > limit : middle < limit))
        {
            where = "over the whole measuring range";
        }

        return $"{what} is exceeded {where}; the input reaches {Engineering.Format(reached, "V")}.";
    }

    public static IEnumerable<Figure> Crossings(CheckContext context, double start, double end)
    {
        if (Crossing(context, end) is { } atEnd)
        {
            yield return new Figure("measurand at the end of the range", atEnd, context.Specification.Unit);
        }

        if (double.IsFinite(start) && Crossing(context, start) is { } atStart)
        {
            yield return new Figure("measurand at the start of the range", atStart, context.Specification.Unit);
        }
    }

    public static string Mend(double start, double end, Extreme extreme)
    {
        if (extreme.High > end && extreme.High > 0 && end > 0 && extreme.Low >= start)
        {
            // Rounded down, so that the divider named is one that fits.
            double ratio = Math.Floor(end / extreme.High * 100) / 100;
            return extreme.Low * ratio >= start
                ? $"A divider of at most {Engineering.Number(ratio, 2)} in front of the converter mends it."
                : $"Less gain: the input moves over {Engineering.Format(extreme.High - extreme.Low, "V", 3)}, the range holds {Engineering.Format(end - start, "V", 3)}.";
        }

        return extreme.High - extreme.Low <= end - start
            ? $"Shift the zero by {Engineering.Format(((start + end) / 2) - ((extreme.Low + extreme.High) / 2), "V", 2, signed: true)}."
            : $"Less gain: the input moves over {Engineering.Format(extreme.High - extreme.Low, "V", 3)}, the range holds {Engineering.Format(end - start, "V", 3)}.";
    }

    /// <summary>The value of the measurand, inside its range, at which the nominal input passes a voltage; null when it does not.</summary>
    private static double? Crossing(CheckContext context, double volts)
    {
        double low = context.Specification.Range.Low;
        double high = context.Specification.Range.High;
        double atLow = context.ConverterVolts(low) - volts;
        double atHigh = context.ConverterVolts(high) - volts;
        if (!(atLow * atHigh < 0))
        {
            return null;
        }

        for (int i = 0; i < 50; i++)
        {
            double middle = (low + high) / 2;
            double atMiddle = context.ConverterVolts(middle) - volts;
            if (atMiddle * atLow > 0)
            {
                (low, atLow) = (middle, atMiddle);
            }
            else
            {
                high = middle;
            }
        }

        return (low + high) / 2;
    }
}

/// <summary>The display shows nothing that the converter does not see.</summary>
internal sealed class DisplayStepCheck : Check
{
    private const double Hair = 1e-9;

    public override string Name => "display step resolved";

    public override string MustHold => "One code of the converter, referred to the measurand, is at most one step of the display, everywhere in the range.";

    public override string Formula => "1 / (codes per volt × dV/dx), at the point of the range where it is largest, on the nominal unit.";

    public override string Source => "IEC 60746-1 speaks of the resolution of the indicated value; the rule itself is common practice.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.Converter is not { } adc || context.Specification.DisplayStep is not { } step)
        {
            yield break;
        }

        (double perCode, double where) = context.RangePoints
            .Select(x => (PerCode: Math.Abs(context.MeasurandPerVolt(x) / context.Evaluator.CodesPerVolt), x))
            .MaxBy(p => CheckContext.SizeOf(p.PerCode));
        double times = perCode / step.Value;
        yield return CheckContext.Finding(
            this,
            adc.Name.Value,
            adc.Name.Value,
            CheckContext.MarginOf(perCode, step.Value),
            $"1 code = {context.Difference(perCode)} at {context.At(where)}; the display steps by {Engineering.WithUnit(Engineering.Number(step.Value), context.Specification.Unit)}.",
            [new Figure("one code", perCode, context.Specification.Unit), new Figure("display step", step.Value, context.Specification.Unit)],
            double.IsFinite(perCode)
                ? $"{CheckContext.MoreBits(times)}, {(times > 1 ? Engineering.Number(times, 2) + " times the" : "more")} gain, or a display step of {Engineering.WithUnit(Engineering.Number(StepAbove(perCode)), context.Specification.Unit)}."
                : $"See that the measurand reaches {adc.Name.Value}: its input does not follow it there.",
            step.Span);
    }

    /// <summary>The least of 1, 2, 5, 10 … that is not below a value: a step that a display can have.</summary>
    private static double StepAbove(double value)
    {
        double decade = Math.Pow(10, Math.Floor(Math.Log10(value)));
        return (value / decade) switch
        {
            <= 1 + Hair => decade,
            <= 2 + Hair => 2 * decade,
            <= 5 + Hair => 5 * decade,
            _ => 10 * decade,
        };
    }
}

/// <summary>Constants in the code fit the circuit in front of it.</summary>
internal sealed class ScalingCheck : Check
{
    public override string Name => "scaling constants agree with the stages";

    public override string MustHold => "The constants that the code holds turn the code of an intended signal back into that signal, within the error limit.";

    public override string Formula => "Intended transfer and converter reference to a code; the code through the constants; the difference referred to the measurand, at both ends of the range.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        if (context.Model.Arithmetic is not { Scaling.Length: >= 2 } arithmetic || evaluator.InputTransfer is not { } transfer)
        {
            yield break;
        }

        Sensor sensor = context.Instrument.Sensor;
        (double error, double where) = new[] { context.Specification.Range.Low, context.Specification.Range.High }
            .Select(x =>
            {
                double code = transfer.Forward(sensor.NominalSignal(x, UnitState.ReferenceCelsius)) * evaluator.CodesPerVolt;
                return (Error: sensor.MeasurandOf(evaluator.SignalOfCode(code), UnitState.ReferenceCelsius) - x, x);
            })
            .MaxBy(p => CheckContext.SizeOf(p.Error));
        string should = string.Join(
            ", ",
            arithmetic.Scaling.Select(p => $"{Engineering.Number(Math.Round(transfer.Forward(p.To.Value) * evaluator.CodesPerVolt))} for {Engineering.Format(p.To.Value, context.SignalUnit)}"));
        yield return CheckContext.Finding(
            this,
            arithmetic.Name.Value,
            arithmetic.Name.Value,
            CheckContext.MarginOf(error, context.AllowedError),
            $"The constants read the intended signal wrong by {context.Difference(error, signed: true)} at {context.At(where)}.",
            [new Figure("error", error, context.Specification.Unit), new Figure("allowed", context.AllowedError, context.Specification.Unit)],
            $"By the stages and the reference the codes are {should}; or leave the constants out: then they follow.",
            arithmetic.Scaling[0].Span);
    }
}

/// <summary>The display shows the measurand on a nominal unit.</summary>
internal sealed class DisplayFollowsCheck : Check
{
    public override string Name => "display follows the measurand";

    public override string MustHold => "On the nominal, adjusted unit under reference conditions the display differs from the measurand by less than the error limit.";

    public override string Formula => "The whole chain, sensor to display, converter rounded, at seven points of the range.";

    public override string Source => "IEC 60770-1, intrinsic error, here of the nominal unit.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Model.Converter is null)
        {
            yield break;
        }

        double worst = 0;
        double where = context.Specification.Range.Low;
        double shown = double.NaN;
        foreach (double x in context.RangePoints)
        {
            UnitState state = context.Evaluator.NewState();
            state.Measurand = x;
            double display = context.Evaluator.Chain(state).Display;
            if (!(Math.Abs(display - x) <= Math.Abs(worst)) || double.IsNaN(shown))
            {
                (worst, where, shown) = (display - x, x, display);
                if (double.IsNaN(worst))
                {
                    break;
                }
            }
        }

        yield return CheckContext.Finding(
            this,
            "display",
            context.Model.Arithmetic?.Name.Value ?? context.Model.Converter.Name.Value,
            CheckContext.MarginOf(worst, context.AllowedError),
            double.IsNaN(worst)
                ? $"At {context.At(where)} the arithmetic can make no value of the code."
                : $"At {context.At(where)} it shows {Engineering.WithUnit(Engineering.Number(shown, 4), context.Specification.Unit)}, {context.Difference(worst, signed: true)}.",
            [new Figure("largest error", worst, context.Specification.Unit), new Figure("allowed", context.AllowedError, context.Specification.Unit)],
            "Mend the stage or the constant at which the readings leave the intended line; the findings above name it.",
            context.Specification.Range.Span);
    }
}
