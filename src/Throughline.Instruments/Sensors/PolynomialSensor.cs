using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

internal sealed class PolynomialSensorKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "polynomial",
        "A sensor whose signal is a polynomial of the measurand.",
        Key.Kind("polynomial"),
        SensorReading.ResponseKey,
        SensorReading.SignalKey,
        Key.Required(
            "coefficients", new ListShape(new NumberShape(-1e30, 1e30), 2, 16),
            "c0, c1, c2 … of c0 + c1 x + c2 x² …; the signal in the unit under `signal`, x in the specification's unit."),
        SensorReading.CurveResistanceKey,
        SensorReading.CurveErrorKey,
        SensorReading.CurveExcitationKey,
        Key.Required("between", Shapes.Pair, "The two nodes of the signal."))
    {
        Example = "{ kind: polynomial, signal: V, coefficients: [0.5, 0.02, 1.0e-4], between: [sense, 0V] }",
    };

    public override Sensor? Read(MapView map)
    {
        double[] coefficients = SensorReading.Numbers(map, "coefficients");
        if (SensorReading.Curve(map) is not { } parts || coefficients.Length < 2 || map.Context.Specification is not { Range: { Width: > 0 } range })
        {
            return null;
        }

        PolynomialCurve curve = new(coefficients.Select(c => c * parts.Factor), range.Low, range.High);
        if (curve.Direction == 0)
        {
            map.Report(
                Codes.Contradiction, map.PlaceOf("coefficients"), "The polynomial neither rises nor falls all along the measuring range, so no reading follows from it.",
                "coefficients that only rise or only fall over the range", "a polynomial that turns");
            return null;
        }

        return new PolynomialSensor(parts.Signal)
        {
            Span = map.Span,
            Curve = curve,
            Resistance = parts.Resistance,
            Error = parts.Error,
            Plus = parts.Plus,
            Minus = parts.Minus,
            Excitation = parts.Excitation,
        };
    }
}

/// <summary>A sensor given by a polynomial of the measurand.</summary>
public sealed record PolynomialSensor(SignalKind PolynomialSignal) : CurveSensor(PolynomialSignal)
{
    public override string Kind => "polynomial";

    /// <summary>Signal against measurand over the measuring range; it only rises or only falls there.</summary>
    public required PolynomialCurve Curve { get; init; }

    /// <summary>Beyond the measuring range the end's tangent is held on: a reading at the end of the range scatters to either side of it.</summary>
    public override double NominalSignal(double measurand, double processCelsius) => Curve.Extended(measurand);

    public override double MeasurandOf(double signal, double processCelsius) => Curve.ExtendedX(signal);
}
