using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// What the trim of the output takes from every contribution. It turns the drive against what the meter showed at the two currents, by the line through the two: with x the code that
/// would be taken for the shown current, δc = −g ((1 − t) δx₁ + t δx₂), t = (c − c₁) / (c₂ − c₁).
/// </summary>
internal sealed class TrimGradient
{
    private readonly Evaluator _evaluator;
    private readonly OutputTrimPlan _plan;
    private readonly End _low;
    private readonly End _high;

    private TrimGradient(Evaluator evaluator, OutputTrimPlan plan, End low, End high) => (_evaluator, _plan, _low, _high) = (evaluator, plan, low, high);

    /// <summary>Null without a trim, or where the nominal unit has no operating point at one of its currents.</summary>
    public static TrimGradient? Of(Evaluator evaluator, ChainDifferentiator differentiator)
    {
        return evaluator.TrimPlan is { } plan && At(plan, plan.Low) is { } low && At(plan, plan.High) is { } high ? new TrimGradient(evaluator, plan, low, high) : null;

        End? At(OutputTrimPlan plan, in OutputTrimPlan.Current current)
        {
            UnitState state = evaluator.NewState();
            using Evaluator.BenchConditions bench = evaluator.EnterBench(state);
            state.Measurand = evaluator.Instrument.Specification.Range.Middle;
            state.DriveVolts = current.Code * evaluator.VoltsPerOutputCode;
            if (differentiator.At(state, follow: true) is not { OfLoop: { } shown } gradient)
            {
                return null;
            }

            // The bench feeds what comes from outside.
            foreach (Parameter p in evaluator.Model.OutsideSupplies())
            {
                shown.Values[evaluator.Model.Parameters.IndexOf(p)] = 0;
            }

            plan.AddMeter(shown.Values, current, gradient.LoopValue);
            const double Step = 1e-6;
            double slope = (evaluator.OutputCodeOf(gradient.LoopValue + Step) - evaluator.OutputCodeOf(gradient.LoopValue - Step)) / (2 * Step);
            return new End(shown, gradient.OutputErrors, slope);
        }
    }

    /// <summary>The gradient of an adjusted unit's loop as the trim leaves it.</summary>
    /// <param name="state">The state of the gradient, with its drive.</param>
    public ChainGradient Apply(ChainGradient gradient, UnitState state)
    {
        if (gradient.OfLoop is not { } loop)
        {
            return gradient;
        }

        double t = ((state.DriveVolts / _evaluator.VoltsPerOutputCode) - _plan.Low.Code) / (_plan.High.Code - _plan.Low.Code);
        double perCode = gradient.LoopPerVolt * _evaluator.VoltsPerOutputCode * state.OutputTrim.Gain;
        List<(double, double)> errors = [.. gradient.OutputErrors];
        Take(_low, -perCode * (1 - t));
        Take(_high, -perCode * t);
        return gradient with { OutputErrors = [.. errors] };

        void Take(End end, double factor)
        {
            double amperes = factor * end.CodesPerUnit;
            for (int i = 0; i < loop.Values.Length; i++)
            {
                loop.Values[i] += amperes * end.OfShown.Values[i];
                loop.Drifts[i] += amperes * end.OfShown.Drifts[i];
            }

            errors.AddRange(end.OutputErrors.Select(e => (amperes * e.Weight, e.Place)));
        }
    }

    /// <summary>How what the meter shows at one of the currents moves.</summary>
    /// <param name="CodesPerUnit">Change of the code that the arithmetic takes for a current.</param>
    private sealed record End(Gradient OfShown, ImmutableArray<(double Weight, double Place)> OutputErrors, double CodesPerUnit);
}
