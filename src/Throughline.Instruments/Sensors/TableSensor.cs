using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>A sensor whose signal the user gives as a table, straight lines between its points and beyond its ends.</summary>
internal sealed class TableSensorKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "table",
        "A sensor whose signal is given by points; straight lines join them.",
        Key.Kind("table"),
        Key.Required("signal", new WordShape("V", "Ω", "A", "V/V"), "What the points give: a voltage, a resistance, a current or a ratio to the excitation."),
        Key.Required(
            "points",
            new DictionaryShape("two or more points such as { 0 kPa: 0.5 V, 100 kPa: 4.5 V }", Shapes.Measurand, Shapes.Quantity(UnitSets.Signal, f => f.WithSign()), 2),
            "Measurand against signal."),
        Key.Optional("resistance", Shapes.ResistanceOrRange, "Resistance in series with the signal.", "0 Ω"),
        Key.Optional("error", Shapes.Quantity(UnitSets.Signal, f => f.WithDrift().OnlyTolerance()), "How far a good sensor's signal may be from the table.", "none"),
        Key.Required("between", Shapes.Pair, "The two nodes it is connected to."))
    {
        Example = "{ kind: table, signal: V, points: { 0 kPa: 0.5 V, 100 kPa: 4.5 V }, between: [sense, 0V] }",
    };

    public override Sensor? Read(MapView map)
    {
        if (map.Word("signal") is not { } signal || map.Pair("between") is not var (plus, minus) || map.Context.Measurand is not { } measurand)
        {
            return null;
        }

        (SignalKind kind, Dimension dimension) = signal.Value switch
        {
            "V" => (SignalKind.Voltage, Dimension.Voltage),
            "Ω" => (SignalKind.Resistance, Dimension.Resistance),
            "A" => (SignalKind.Current, Dimension.Current),
            _ => (SignalKind.Ratio, Dimension.Ratio),
        };
        List<(double Measurand, double Signal)> points = [];
        foreach ((ParsedQuantity from, ScalarNode fromNode, ParsedQuantity to, ScalarNode toNode) in map.Points("points"))
        {
            if (to.Dimension != dimension)
            {
                map.Report(
                    Codes.WrongKind, toNode.Span, $"The signal is in {signal.Value}, this point gives {UnitSets.Noun(to.Dimension)}.", UnitSets.Noun(dimension), toNode.Found);
            }
            else if (measurand.Convert(from, fromNode, map.Context.Sink) is { } at)
            {
                points.Add((at.Value, to.Value));
            }
        }

        points.Sort((a, b) => a.Measurand.CompareTo(b.Measurand));
        for (int i = 1; i < points.Count; i++)
        {
            if (points[i].Measurand == points[i - 1].Measurand)
            {
                map.Report(Codes.Contradiction, map.PlaceOf("points"), "Two points have the same value of the measurand.", "each value once", "the same value twice");
                return null;
            }
        }

        if (points.Count < 2)
        {
            return null;
        }

        Quantity? error = map.Quantity("error");
        if (error is not null && error.Dimension != dimension)
        {
            map.Report(
                Codes.WrongKind, error.Span, $"The signal is in {signal.Value}, the error is {UnitSets.Noun(error.Dimension)}.", UnitSets.Noun(dimension), $"`{error.Text}`");
            error = null;
        }

        return new TableSensor
        {
            Span = map.Span,
            Plus = plus,
            Minus = minus,
            Points = [.. points],
            KindOfSignal = kind,
            Resistance = map.Parameter("sensor", "resistance"),
            Error = error is null ? null : new Parameter("sensor", "error of the table", error),
        };
    }
}

/// <summary>See <see cref="TableSensorKind"/>.</summary>
internal sealed record TableSensor : Sensor
{
    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    /// <summary>Rising in the measurand; two or more.</summary>
    public required ImmutableArray<(double Measurand, double Signal)> Points { get; init; }

    public required SignalKind KindOfSignal { get; init; }

    public Parameter? Resistance { get; init; }

    public Parameter? Error { get; init; }

    public override string Kind => "table";

    public override ImmutableArray<Terminal> Terminals => [new("plus", Plus), new("minus", Minus)];

    public override ImmutableArray<Parameter> Parameters =>
        [.. new[] { Resistance, Error }.OfType<Parameter>()];

    public override SignalKind SignalKind => KindOfSignal;

    public override double Signal(IUnitState state) =>
        NominalSignal(state.Measurand, state.ProcessCelsius) + (Error is null ? 0 : state.Value(Error));

    public override double NominalSignal(double measurand, double processCelsius)
    {
        int i = 1;
        while (i < Points.Length - 1 && Points[i].Measurand < measurand)
        {
            i++;
        }

        (double x0, double y0) = Points[i - 1];
        (double x1, double y1) = Points[i];
        return y0 + ((y1 - y0) * (measurand - x0) / (x1 - x0));
    }

    public override double MeasurandOf(double signal, double processCelsius)
    {
        // The first stretch that contains the signal; beyond the table, the stretch at that end.
        for (int i = 1; i < Points.Length; i++)
        {
            (double x0, double y0) = Points[i - 1];
            (double x1, double y1) = Points[i];
            if (y0 != y1 && (signal - y0) / (y1 - y0) is >= 0 and <= 1 and var share)
            {
                return x0 + (share * (x1 - x0));
            }
        }

        bool beforeFirst = Math.Abs(signal - Points[0].Signal) < Math.Abs(signal - Points[^1].Signal);
        ((double a, double ya), (double b, double yb)) = beforeFirst ? (Points[0], Points[1]) : (Points[^2], Points[^1]);
        return ya == yb ? double.NaN : a + ((signal - ya) * (b - a) / (yb - ya));
    }

    public override double SourceResistance(IUnitState state) => Resistance is null ? 0 : state.Value(Resistance);

    public override void Describe(INetworkSink sink) => DescribeSimulated(sink, Signal);

    public override void DescribeSimulated(INetworkSink sink, Law signal)
    {
        string plus = Plus.Value;
        if (Resistance is { } resistance && SignalKind != SignalKind.Current)
        {
            plus = "sensor.inner";
            sink.Resistor("sensor.resistance", Plus.Value, plus, state => state.Value(resistance));
        }

        switch (SignalKind)
        {
            case SignalKind.Resistance:
                sink.Resistor("sensor", plus, Minus.Value, signal);
                break;
            case SignalKind.Current:
                sink.CurrentSource("sensor", Minus.Value, Plus.Value, signal);
                if (Resistance is { } parallel)
                {
                    sink.Resistor("sensor.resistance", Plus.Value, Minus.Value, state => state.Value(parallel));
                }

                break;
            default:
                // A ratio needs an excitation, which a table doesn't name: it is taken as 1 V.
                sink.VoltageSource("sensor", plus, Minus.Value, signal);
                break;
        }
    }
}
