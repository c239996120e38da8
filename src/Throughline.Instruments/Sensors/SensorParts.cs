using System.Collections.Immutable;
using System.Globalization;

namespace Throughline.Instruments;

/// <summary>What several kinds of sensors are made of.</summary>
internal static class SensorParts
{
    /// <summary>The owner of a sensor's parameters, and the name its elements and inner nodes begin with.</summary>
    public const string Owner = Sensor.ElementName;

    /// <summary>A resistance that a check or a range sets to nothing is still this, Ω: far below any contact, and the network's equations stay regular.</summary>
    public const double LeastOhms = 1e-4;

    /// <summary>A parameter from a stretch in which good sensors lie: the ideal value is nominal when the stretch holds it, else the end nearer to it.</summary>
    public static Parameter Within(string name, QuantityRange range, double ideal) =>
        Bounded(name, range, Math.Clamp(ideal, range.Low, range.High));

    /// <summary>A parameter from a stretch without an ideal: nominal is the geometric mean, since resistances of electrodes spread over decades; the middle
    /// when the stretch begins at zero or below.</summary>
    public static Parameter Spread(string name, QuantityRange range) =>
        Bounded(name, range, range.Low > 0 ? Math.Clamp(Math.Sqrt(range.Low * range.High), range.Low, range.High) : range.Middle);

    /// <summary>A parameter from a stretch whose middle is nominal.</summary>
    public static Parameter Middle(string name, QuantityRange range) => Bounded(name, range, range.Middle);

    private static Parameter Bounded(string name, QuantityRange range, double nominal) =>
        new(Owner, name, new Quantity(range.Dimension, nominal, range.Low, range.High, 0, 0, range.Span, range.Text));

    /// <summary>An exact parameter that stands for a default.</summary>
    public static Parameter Exact(string name, Dimension dimension, double value) => new(Owner, name, Quantity.Exact(dimension, value));

    /// <summary>A parameter about zero.</summary>
    public static Parameter Symmetric(string name, Dimension dimension, double halfWidth, SourceSpan span = default, string text = "") =>
        new(Owner, name, new Quantity(dimension, 0, -halfWidth, halfWidth, 0, 0, span, text));

    /// <summary>A voltage with a resistance in series, as electrodes and thermocouples are.</summary>
    public static void Source(INetworkSink sink, Located<string> plus, Located<string> minus, Law volts, Law? ohms)
    {
        if (ohms is null)
        {
            sink.VoltageSource(Owner, plus.Value, minus.Value, volts);
            return;
        }

        const string Inner = Owner + ".source";
        sink.VoltageSource(Owner, Inner, minus.Value, volts);
        sink.Resistor(Owner + ".resistance", plus.Value, Inner, s => Math.Max(LeastOhms, ohms(s)));
    }

    /// <summary>
    /// A ratio of the excitation. Where the lower signal node is the excitation's own return it is a divider, otherwise a bridge of four equal arms that move in pairs: by
    /// the bridge's node equations its open output is exactly the ratio, its output resistance the arms' and its middle half the excitation.
    /// </summary>
    public static void Ratio(INetworkSink sink, Located<string> excitationPlus, Located<string> excitationMinus, Located<string> signalPlus, Located<string> signalMinus, Law ratio, Law ohms)
    {
        if (signalMinus.Value == excitationMinus.Value)
        {
            sink.Resistor(Owner + ".upper", excitationPlus.Value, signalPlus.Value, s => ohms(s) * (1 - DividerPart(ratio(s))));
            sink.Resistor(Owner + ".lower", signalPlus.Value, excitationMinus.Value, s => ohms(s) * DividerPart(ratio(s)));
            return;
        }

        sink.Resistor(Owner + ".arm1", excitationPlus.Value, signalPlus.Value, s => ohms(s) * (1 - BridgePart(ratio(s))));
        sink.Resistor(Owner + ".arm2", signalPlus.Value, excitationMinus.Value, s => ohms(s) * (1 + BridgePart(ratio(s))));
        sink.Resistor(Owner + ".arm3", excitationPlus.Value, signalMinus.Value, s => ohms(s) * (1 + BridgePart(ratio(s))));
        sink.Resistor(Owner + ".arm4", signalMinus.Value, excitationMinus.Value, s => ohms(s) * (1 - BridgePart(ratio(s))));

        // An arm is a resistance: past its ends a divider stands at an end and a bridge is unbalanced as far as it can be.
        static double DividerPart(double ratio) => Math.Clamp(ratio, 1e-9, 1 - 1e-9);
        static double BridgePart(double ratio) => Math.Clamp(ratio, -1 + 1e-9, 1 - 1e-9);
    }

    public static ImmutableArray<Terminal> Pair(Located<string> plus, Located<string> minus) => [new("plus", plus), new("minus", minus)];

    /// <summary>A number of a statement: three digits behind the point at most, a true minus.</summary>
    public static string Say(double value) => value.ToString("0.###", CultureInfo.InvariantCulture).Replace('-', '−');

    /// <summary>A stretch of a statement, one value when both ends are the same.</summary>
    public static string Say(double low, double high) => low == high ? Say(low) : $"{Say(low)} .. {Say(high)}";

    /// <summary>The value of greatest size, keeping its sign; NaN when one is NaN.</summary>
    public static double Worst(params ReadOnlySpan<double> values)
    {
        double worst = 0;
        foreach (double value in values)
        {
            if (double.IsNaN(value))
            {
                return value;
            }

            worst = Math.Abs(value) > Math.Abs(worst) ? value : worst;
        }

        return worst;
    }

    /// <summary>
    /// The error of a reading whose arithmetic assumes one process temperature while the process has another: the worst end of the rated range. Empty when the
    /// temperature is measured, when no arithmetic is said or when the process has the assumed temperature only.
    /// </summary>
    public static ImmutableArray<SensorInfluence> WithoutCompensation(Instrument instrument, Sensor sensor)
    {
        QuantityRange process = instrument.Specification.Process;
        ArithmeticStage? arithmetic = instrument.Stages.OfType<ArithmeticStage>().FirstOrDefault();
        if (arithmetic is not { Compensation: Compensation.Fixed })
        {
            return [];
        }

        double assumed = arithmetic.AssumedTemperature?.Value ?? 25;
        if (process.Low == assumed && process.High == assumed)
        {
            return [];
        }

        double At(double measurand, double celsius) => sensor.MeasurandOf(sensor.NominalSignal(measurand, celsius), assumed) - measurand;
        return
        [
            new SensorInfluence(
                "process temperature not compensated",
                x => Worst(At(x, process.Low), At(x, process.High)),
                $"process at {Say(process.Low, process.High)} °C, slope held at that of {Say(assumed)} °C",
                null,
                "Measure the process temperature and compute with it (compensation: measured).",
                arithmetic.AssumedTemperature?.Span ?? arithmetic.Span),
        ];
    }

    /// <summary>What a drift of the signal or the measurand adds until the next calibration. Empty without a drift or an interval.</summary>
    /// <param name="shift">Error of the reading at a measurand for an elapsed time in seconds at the drift's limit.</param>
    public static ImmutableArray<SensorInfluence> Drift(Instrument instrument, Parameter? drift, Func<double, double, double> shift) =>
        drift is { Quantity.Tolerance: > 0 } && instrument.Specification.CalibrationInterval is { } interval
            ?
            [
                new SensorInfluence(
                    "drift until the next calibration",
                    x => shift(x, interval.Value),
                    $"drift of {(drift.Quantity.Text.Length > 0 ? drift.Quantity.Text : "the sensor")} over {Say(interval.Value / 86400)} days",
                    null,
                    "Calibrate more often, or choose a sensor that drifts less.",
                    drift.Quantity.Span),
            ]
            : [];
}
