using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>How the measurand follows from the sensor's signal, as far as the form of the computation goes.</summary>
internal enum SensorShape
{
    /// <summary>A straight line.</summary>
    Straight,

    /// <summary>A straight line about a fixed point, its slope inverse to the absolute temperature: electrodes.</summary>
    InverseToTemperature,

    /// <summary>A curve.</summary>
    Curve,

    /// <summary>A curve of the signal and the emf of terminals whose temperature is measured.</summary>
    ColdJunction,

    /// <summary>None of these.</summary>
    Other,
}

/// <summary>The form that a sensor's law has, found by asking the law itself.</summary>
/// <param name="Slope">Of a straight line, measurand per signal; of one inverse to the temperature, measurand × K per signal.</param>
/// <param name="FixedSignal">Signal of the fixed point; 0 for a straight line.</param>
/// <param name="FixedMeasurand">Measurand there.</param>
/// <param name="Curve">Signal (with the terminals' emf added) to measurand; NaN where there is none.</param>
/// <param name="Terminals">The terminals' emf in V at a temperature in °C; null when they do not count.</param>
/// <param name="AddsTemperature">Whether the terminals' temperature is added to the result instead of their emf to the signal.</param>
internal sealed record SensorForm(
    SensorShape Shape, double Slope, double FixedSignal, double FixedMeasurand, Func<double, double> Curve, Func<double, double>? Terminals = null, bool AddsTemperature = false)
{
    /// <summary>°C.</summary>
    public const double AbsoluteZero = -273.15;

    public static SensorForm Of(ChainLaw law, double leastSignal, double greatestSignal)
    {
        Sensor sensor = law.Instrument.Sensor;
        if (sensor is ThermocoupleSensor { ColdJunction: not ColdJunction.Assumed } couple)
        {
            return new SensorForm(
                SensorShape.ColdJunction, double.NaN, 0, 0, couple.Type.Celsius, t => couple.Type.Emf(Math.Clamp(t, couple.Type.LowestCelsius, couple.Type.HighestCelsius)),
                couple.ColdJunction == ColdJunction.TemperaturesAdded);
        }

        (double cold, double warm) = Temperatures(law);
        double middle = (cold + warm) / 2;
        double Reading(double signal, double celsius) => law.Indicated(CalibrationLine.Neutral, signal, celsius);
        double[] signals = [.. Enumerable.Range(0, 9).Select(i => leastSignal + ((greatestSignal - leastSignal) * i / 8))];
        double[] values = [.. signals.Select(s => Reading(s, middle))];
        double span = values[^1] - values[0];
        bool isStraight = double.IsFinite(span) && signals.Zip(values).All(p => Math.Abs(p.Second - (values[0] + (span * (p.First - signals[0]) / (signals[^1] - signals[0])))) <= 1e-9 * Math.Abs(span));
        bool dependsOnTemperature = signals.Zip(values).Any(p => Math.Abs(Reading(p.First, cold) - p.Second) > 1e-9 * Math.Abs(span) || Math.Abs(Reading(p.First, warm) - p.Second) > 1e-9 * Math.Abs(span));
        Func<double, double> curve = s => Reading(s, middle);
        if (!dependsOnTemperature)
        {
            double slope = span / (signals[^1] - signals[0]);
            return isStraight ? new SensorForm(SensorShape.Straight, slope, 0, values[0] - (slope * signals[0]), curve) : new SensorForm(SensorShape.Curve, double.NaN, 0, 0, curve);
        }

        if (isStraight)
        {
            // m = m₀ + B (s − s₀) / T: two temperatures give B and the fixed point, the third must agree.
            (double Slope, double At) Line(double celsius)
            {
                double a = Reading(signals[0], celsius);
                double b = Reading(signals[^1], celsius);
                double slope = (b - a) / (signals[^1] - signals[0]);
                return (slope, a - (slope * signals[0]));
            }

            (double slopeCold, double atCold) = Line(cold);
            (double slopeWarm, double atWarm) = Line(warm);
            (double slopeMiddle, double atMiddle) = Line(middle);
            double fixedSignal = -(atCold - atWarm) / (slopeCold - slopeWarm);
            double fixedMeasurand = atCold + (slopeCold * fixedSignal);
            double factor = slopeCold * (cold - AbsoluteZero);
            if (Math.Abs((slopeWarm * (warm - AbsoluteZero)) - factor) <= 1e-9 * Math.Abs(factor) && Math.Abs((slopeMiddle * (middle - AbsoluteZero)) - factor) <= 1e-9 * Math.Abs(factor)
                && Math.Abs(atMiddle + (slopeMiddle * fixedSignal) - fixedMeasurand) <= 1e-9 * Math.Abs(span))
            {
                double snapped = Math.Abs(fixedSignal) <= 1e-9 * Math.Abs(signals[^1] - signals[0]) ? 0 : fixedSignal;
                return new SensorForm(SensorShape.InverseToTemperature, factor, snapped, fixedMeasurand, curve);
            }
        }

        return new SensorForm(SensorShape.Other, double.NaN, 0, 0, curve);
    }

    /// <summary>Temperatures of the process that the code takes, °C: the rated ones with 10 K to either side for what the thermometer is wrong by, or the one assumed.</summary>
    public static (double Low, double High) Temperatures(ChainLaw law)
    {
        if (law.Arithmetic.Compensation == Compensation.Fixed)
        {
            double assumed = law.Arithmetic.AssumedTemperature?.Value ?? UnitState.ReferenceCelsius;
            return (assumed, assumed);
        }

        const double Beyond = 10;
        QuantityRange process = law.Instrument.Specification.Process;
        return (Math.Max(-270, Math.Floor(process.Low) - Beyond), Math.Ceiling(process.High) + Beyond);
    }
}
