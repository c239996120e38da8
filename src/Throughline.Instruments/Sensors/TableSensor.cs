using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

internal sealed class TableSensorKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "table",
        "A sensor whose signal is given by points; straight lines join them.",
        Key.Kind("table"),
        SensorReading.ResponseKey,
        SensorReading.SignalKey,
        Key.Required(
            "points",
            new DictionaryShape("two or more points such as { 0 kPa: 0.5 V, 100 kPa: 4.5 V }", Shapes.Measurand, Shapes.Quantity(UnitSets.Signal, f => f.WithSign()), 2),
            "Measurand against signal, rising or falling all along."),
        SensorReading.CurveResistanceKey,
        SensorReading.CurveErrorKey,
        SensorReading.CurveExcitationKey,
        Key.Required("between", Shapes.Pair, "The two nodes of the signal."))
    {
        Example = "{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 4.5 V }, between: [sense, 0V] }",
    };

    public override Sensor? Read(MapView map)
    {
        if (SensorReading.Curve(map) is not { } parts || map.Context.Measurand is not { } measurand)
        {
            return null;
        }

        List<(double Measurand, double Signal)> points = [];
        bool sound = true;
        foreach ((ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) in map.Points("points"))
        {
            if (to.Dimension != parts.Dimension)
            {
                sound = false;
                map.Report(
                    Codes.WrongKind, toNode.Span, $"The signal is {UnitSets.Noun(parts.Dimension)}, this point gives {UnitSets.Noun(to.Dimension)}.",
                    UnitSets.Noun(parts.Dimension), toNode.Found);
            }
            else if (measurand.Convert(from, fromNode, map.Context.Sink) is { } at)
            {
                if (points.Any(p => p.Measurand == at.Value))
                {
                    sound = false;
                    map.Report(Codes.Contradiction, fromNode.Span, "Two points have the same value of the measurand.", "each value once", fromNode.Found);
                }

                points.Add((at.Value, to.Value));
            }
            else
            {
                sound = false;
            }
        }

        if (!sound || points.Count < 2)
        {
            return null;
        }

        PiecewiseLinear curve = new(points);
        if (curve.Direction == 0)
        {
            map.Report(
                Codes.Contradiction, map.PlaceOf("points"), "The signal neither rises nor falls all along, so no reading follows from it.", "points that only rise or only fall",
                "a table that turns");
            return null;
        }

        SensorReading.RangeWithin(map, curve.LowestX, curve.HighestX, "The table goes");
        return new TableSensor(parts.Signal)
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

/// <summary>A sensor given by points of measurand and signal, straight between them.</summary>
public sealed record TableSensor(SignalKind TableSignal) : CurveSensor(TableSignal)
{
    public override string Kind => "table";

    /// <summary>Signal against measurand; it only rises or only falls.</summary>
    public required PiecewiseLinear Curve { get; init; }

    /// <summary>Beyond the table's ends its end pieces are held on: a reading at the end of the range scatters to either side of it.</summary>
    public override double NominalSignal(double measurand, double processCelsius) => Curve.Extended(measurand);

    public override double MeasurandOf(double signal, double processCelsius) => Curve.ExtendedX(signal);
}
