using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Every unit's output can be trimmed.</summary>
internal sealed class OutputTrimReachCheck : Check
{
    public override string Name => "output trim reached";

    public override string MustHold => "The trim of the output accepts what the meter shows on every unit, and the trimmed code of every value of the signal is one that the converter has.";

    public override string Formula => "Least and greatest output at the codes of the trim over every adjusted unit at 25 °C, with the meter's error, against what is accepted; of the four units that lie furthest, "
        + "the trimmed codes of the least and the greatest of the signal against 0 and the last code. Margin: of what is accepted, or of the codes that are left, whichever is less.";

    public override string Source => "Common practice, no source.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Evaluator evaluator = context.Evaluator;
        if (evaluator.TrimPlan is not { } plan || context.Model.OutputConverter is not { } dac)
        {
            yield break;
        }

        Extreme low = At(context, plan.Low);
        Extreme high = At(context, plan.High);
        double accepted = plan.Trim.Accept.Tolerance;
        (double offLow, double offHigh) = (Off(plan.Low, low), Off(plan.High, high));
        double off = Math.Max(offLow, offHigh);
        double margin = CheckContext.MarginOf(off, accepted);
        string at = Engineering.Format(offLow >= offHigh ? plan.Low.Asked : plan.High.Asked, context.Signal.Unit);
        string statement = $"Asked for {at}, a unit may show {Engineering.Format(off, context.Signal.Unit, 2)} beside it; accepted is ±{Engineering.Format(accepted, context.Signal.Unit, 2)}.";
        string mend = $"Accept ±{Engineering.Format(off / (1 - CheckContext.MarginalBelow), context.Signal.Unit, 2)}, or an adjustment that leaves the output nearer.";
        double last = Math.Ceiling(Math.ScaleB(1, dac.Bits)) - 1;
        (double least, double most) = Codes(context, plan, [low.AtLow, low.AtHigh, high.AtLow, high.AtHigh]);
        double left = Math.Min(least, last - most);
        double share = Math.Clamp(left / (0.01 * last), -1, 1);
        if (margin >= CheckContext.MarginalBelow && left < 0)
        {
            margin = share;
            statement = least < last - most
                ? $"The least {context.Signal.Noun} of the signal may need code {Engineering.Number(Math.Floor(least))}, below the converter's first."
                : $"The greatest {context.Signal.Noun} of the signal may need code {Engineering.Number(Math.Ceiling(most))}, beyond the converter's last, {Engineering.Number(last)}.";
            mend = "More range of the converter at both ends of the signal, or limits of the signal that need less of it.";
        }

        yield return CheckContext.Finding(
            this,
            context.Signal.Place,
            context.Signal.Place,
            margin,
            statement,
            [
                new Figure($"shown beside the lower {context.Signal.Noun} at most", offLow, context.Signal.Unit),
                new Figure($"shown beside the higher {context.Signal.Noun} at most", offHigh, context.Signal.Unit),
                new Figure("accepted", accepted, context.Signal.Unit),
                new Figure("least code, worst case", least, ""),
                new Figure("greatest code, worst case", most, ""),
                new Figure("last code", last, ""),
            ],
            mend,
            plan.Trim.Span);

        double Off(in OutputTrimPlan.Current current, Extreme extreme) =>
            Math.Max(Math.Abs(extreme.High - current.Asked), Math.Abs(extreme.Low - current.Asked)) + plan.MeterLimit(current);
    }

    private static Extreme At(CheckContext context, OutputTrimPlan.Current current)
    {
        Scenario asked = new("trim", s =>
        {
            s.AmbientCelsius = UnitState.ReferenceCelsius;
            s.ProcessCelsius = UnitState.ReferenceCelsius;
            s.DriveVolts = current.Code * context.Evaluator.VoltsPerOutputCode;
        });
        return context.Extremes.Find(new Reading(context.Model.Field.Output!.Value), [asked], limited: true);
    }

    /// <summary>The codes of the ends of the signal on units that were trimmed, unrounded.</summary>
    private static (double Least, double Most) Codes(CheckContext context, OutputTrimPlan plan, UnitState[] units)
    {
        Evaluator evaluator = context.Evaluator;
        Loop loop = context.Instrument.Loop!;
        double[] ends = [loop.Scale.Min(p => p.To.Value), loop.Scale.Max(p => p.To.Value), .. new[] { loop.Under, loop.Over, loop.Failure }.OfType<Quantity>().Select(q => q.Value), plan.Low.Asked, plan.High.Asked];
        (double least, double most) = (double.PositiveInfinity, double.NegativeInfinity);
        UnitState unit = evaluator.NewState();
        foreach (UnitState extreme in units)
        {
            unit.CopyFrom(extreme);
            evaluator.TrimOutput(unit, limited: true);
            foreach (double end in ends)
            {
                double code = unit.OutputTrim.Of(evaluator.OutputCodeOf(end));
                (least, most) = (Math.Min(least, code), Math.Max(most, code));
            }
        }

        return (least, most);
    }
}
