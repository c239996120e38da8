using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Both ends of the output test can be set on every unit.</summary>
internal sealed class OutputTestCheck : Check
{
    public override string Name => "output test range";

    public override string MustHold => "Every unit can be set to both ends of the output test, to within one code.";

    public override string Formula => "Greatest output at code 0 and least output at the last code over every adjusted unit and all rated conditions, amplifiers with their limits, against the ends of the test.";

    public override string Source => "Common practice, no source: an error of the converter below its code 0 can't be taken away by a code.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        if (context.Instrument.Loop is not { Test: { } test } loop || context.Model.OutputConverter is not { } dac || context.Evaluator.OutputTransfer is not { } transfer)
        {
            yield break;
        }

        double step = context.Evaluator.VoltsPerOutputCode;
        double last = (Math.ScaleB(1, dac.Bits) - 1) * step;
        bool rising = transfer.Forward(last) > transfer.Forward(0);
        double bottom = At(context, loop, Sides.High, rising ? 0 : last, last);
        double top = At(context, loop, Sides.Low, rising ? last : 0, last);
        double code = Math.Abs(transfer.Forward(step) - transfer.Forward(0));
        double missingLow = Math.Max(0, bottom - test.Low);
        double missingHigh = Math.Max(0, test.High - top);
        bool low = missingLow >= missingHigh;
        double missing = Math.Max(missingLow, missingHigh);
        yield return CheckContext.Finding(
            this,
            context.Signal.Place,
            context.Signal.Place,
            missing <= code ? 1 - (0.9 * missing / code) : Math.Max(-1, (code - missing) / Math.Max(code, context.AllowedLoopError)),
            missing <= code
                ? $"Every unit reaches {Engineering.Range(test.Low, test.High, context.Signal.Unit)}; code 0 gives at most {Engineering.Format(rising ? bottom : top, context.Signal.Unit, 3)}."
                : low
                    ? $"{Engineering.Format(test.Low, context.Signal.Unit)} can't be set on every unit: the least that {(loop.Signal.IsVoltage ? "comes out" : "flows")} may be {Engineering.Format(bottom, context.Signal.Unit, 3)}."
                    : $"{Engineering.Format(test.High, context.Signal.Unit)} can't be set on every unit: the most that {(loop.Signal.IsVoltage ? "comes out" : "flows")} may be {Engineering.Format(top, context.Signal.Unit, 4)}.",
            [
                new Figure($"least {context.Signal.Noun} that can be set, worst case", bottom, context.Signal.Unit),
                new Figure($"greatest {context.Signal.Noun} that can be set, worst case", top, context.Signal.Unit),
                new Figure("test from", test.Low, context.Signal.Unit),
                new Figure("test to", test.High, context.Signal.Unit),
                new Figure("one code", code, context.Signal.Unit),
            ],
            low
                ? $"A test from {Engineering.Format(bottom + code, context.Signal.Unit, 2)} upwards, or a zero of the stage that leaves codes below it."
                : "More gain behind the converter, a greater reference, or a test that ends lower.",
            test.Span);
    }

    /// <summary>The least or the greatest output of any unit at a drive. The unit is chosen a hundredth of the range inside, where the stage is not yet cut off and
    /// shows what moves it.</summary>
    private static double At(CheckContext context, Loop loop, Sides side, double volts, double full)
    {
        Reading reading = new(context.Model.Field.Output!.Value, Sides: side);
        Scenario inside = new("least load", s =>
        {
            s.Burden = loop.Burden.Low;
            s.DriveVolts = Math.Clamp(volts, 0.01 * full, 0.99 * full);
        });
        Extreme extreme = context.Extremes.Find(reading, [inside], limited: true);
        UnitState unit = (side == Sides.High ? extreme.AtHigh : extreme.AtLow).Copy();
        unit.DriveVolts = volts;
        return context.Evaluator.Field.Solve(unit, limited: true).Status == SolveStatus.Solved ? Evaluator.LoopValue(context.Evaluator.Field) : double.NaN;
    }
}
