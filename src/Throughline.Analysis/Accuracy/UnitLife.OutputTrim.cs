namespace Throughline.Analysis;

/// <content>The trim of the output of a block of units, as <see cref="Evaluator.TrimOutput"/> performs it on one.</content>
internal sealed partial class UnitLife
{
    private readonly double[] _lowCurrents;

    private void TrimOutput(TestConditions conditions, int count)
    {
        if (_evaluator.TrimPlan is not { } plan || _output is null)
        {
            return;
        }

        SetConditions(conditions, count);
        _block.Condition(UnitState.Of.Process).Fill(UnitState.ReferenceCelsius);
        _block.Condition(UnitState.Of.Measurand).Fill(Plan.Model.Instrument.Specification.Range.Middle);
        _block.Condition(UnitState.Of.Drive).Fill(_evaluator.Nominal.DriveVolts);
        _output.Prepare(_block, count);
        Give(plan.Low).CopyTo(_lowCurrents);
        ReadOnlySpan<double> high = Give(plan.High);
        for (int lane = 0; lane < count; lane++)
        {
            _block.Lane = lane;
            _block.OutputTrim = plan.Fit(_block, _lowCurrents[lane], high[lane]) ?? OutputTrim.Neutral;
        }

        ReadOnlySpan<double> Give(in OutputTrimPlan.Current current)
        {
            _block.Condition(UnitState.Of.Drive).Fill(current.Code * _evaluator.VoltsPerOutputCode);
            _output.Solve(_block, count);
            return _output.Reading(0)[..count];
        }
    }
}
