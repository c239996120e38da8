using Throughline.Circuits;

namespace Throughline.Analysis;

/// <content>The trim of the output, performed on a unit.</content>
internal sealed partial class Evaluator
{
    /// <summary>Null when the instrument has no trim.</summary>
    public OutputTrimPlan? TrimPlan { get; }

    /// <summary>Trims the output under the conditions of the bench, which are put back; a unit that refuses the entries works untrimmed.</summary>
    internal void TrimOutput(UnitState state, bool limited)
    {
        state.OutputTrim = OutputTrim.Neutral;
        if (TrimPlan is not { } plan)
        {
            return;
        }

        using BenchConditions bench = EnterBench(state);
        double measurand = state.Measurand;
        state.Measurand = Instrument.Specification.Range.Middle;
        double low = TrueCurrent(state, plan.Low, limited);
        double high = TrueCurrent(state, plan.High, limited);
        state.Measurand = measurand;
        state.OutputTrim = plan.Fit(state, low, high) ?? OutputTrim.Neutral;
    }

    /// <summary>What flows at a current of the trim, A; NaN without an operating point.</summary>
    private double TrueCurrent(UnitState state, in OutputTrimPlan.Current current, bool limited)
    {
        state.DriveVolts = current.Code * VoltsPerOutputCode;
        return Field.Solve(state, limited).Status == SolveStatus.Solved ? LoopValue(Field) : double.NaN;
    }
}
