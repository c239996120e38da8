using Throughline.Circuits;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>How far a resistive sensor is warmer than what it measures.</summary>
internal sealed class SelfHeatingCheck : Check
{
    public override string Name => "self-heating of the sensor";

    public override string MustHold => "The power that the circuit puts into the sensor warms it by less than the error limit.";

    public override string Formula => "Power in the sensor on the nominal unit, at seven points over the measuring range, times its greatest thermal resistance.";

    public override string Source => "ΔT = I² R · Rth; IEC 60751 allows a quarter of the class's tolerance for it.";

    public override IEnumerable<Finding> Run(CheckContext context)
    {
        Specification s = context.Specification;
        if (context.Instrument.Sensor.ThermalResistance is not { } thermal
            || s.Dimension is not (Dimension.Temperature or Dimension.TemperatureDifference)
            || !context.Model.Field.Elements.TryGetValue(Sensor.ElementName, out ElementId element))
        {
            yield break;
        }

        (double watts, double where) = context.RangePoints.Select(x => (Power(x), x)).MaxBy(p => double.IsNaN(p.Item1) ? double.PositiveInfinity : p.Item1);
        double rise = watts * thermal.High;
        yield return CheckContext.Finding(
            this,
            "sensor",
            "sensor",
            CheckContext.MarginOf(rise, context.AllowedError),
            $"{Engineering.Format(watts, "W", 3)} in the sensor at {context.At(where)} warm it by {Engineering.Format(rise, "K", 2)} at {Engineering.Format(thermal.High, "K/W", 3)}.",
            [
                new Figure("power in the sensor", watts, "W"),
                new Figure("thermal resistance", thermal.High, "K/W"),
                new Figure("rise", rise, "K"),
                new Figure("allowed", context.AllowedError, "K"),
            ],
            "Measure with less current, or only now and then, or couple the sensor better to what it measures.",
            thermal.Span);

        double Power(double x)
        {
            UnitState state = context.Evaluator.NewState();
            state.Measurand = x;
            return context.Evaluator.Field.Solve(state, limited: false).Power(element);
        }
    }
}
