using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>The sensor is wired the way round that the first stage takes its signal.</summary>
internal sealed class SensorPolarityCheck : Check
{
    public override string Name => "sensor polarity";

    public override string MustHold => "The voltage between the first stage's incoming nodes moves with the measurand in the direction of the sensor's signal.";

    public override string Formula => "Sign of dV/dx between the nodes of `from`, solved with the sensor, against the sign of the sensor's own dE/dx.";

    public override string Source => "Common practice, no source. A glass electrode goes positive in acid (IEC 60746-2 convention).";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Sensor sensor = context.Instrument.Sensor;
        if (sensor.SignalKind != SignalKind.Voltage || context.Model.InputStages.IsEmpty)
        {
            yield break;
        }

        Evaluator evaluator = context.Evaluator;
        (string node, string? back) = evaluator.IncomingNodes(context.Model.InputStages[0]);
        if (back is null)
        {
            yield break;
        }

        UnitState state = evaluator.NewState();
        double At(double x)
        {
            state.Measurand = x;
            return evaluator.Field.Solve(state, limited: false).Status == SolveStatus.Solved ? Evaluator.Volts(evaluator.Field, node, back) : double.NaN;
        }

        double low = At(context.Specification.Range.Low);
        double high = At(context.Specification.Range.High);
        (double signalLow, double signalHigh) = evaluator.SignalRange();
        double rise = high - low;
        double expected = signalHigh - signalLow;
        if (double.IsNaN(rise) || double.IsNaN(expected) || expected == 0)
        {
            yield break;
        }

        bool right = Math.Sign(rise) == Math.Sign(expected);
        yield return CheckContext.Finding(
            this,
            "sensor",
            "sensor",
            right ? 1 : -1,
            right
                ? $"{node} against {back} goes from {Engineering.Format(low, "V")} to {Engineering.Format(high, "V")} over the range, as the {sensor.Kind} does."
                : $"{node} against {back} goes from {Engineering.Format(low, "V")} to {Engineering.Format(high, "V")} over the range; the {sensor.Kind} goes from "
                    + $"{Engineering.Format(signalLow, "V")} to {Engineering.Format(signalHigh, "V")}.",
            [new Figure("change over the range", rise, "V"), new Figure("change of the sensor", expected, "V")],
            $"Exchange the sensor's two nodes {sensor.Terminals[0].Node.Value} and {sensor.Terminals[1].Node.Value}.",
            sensor.Span);
    }
}
