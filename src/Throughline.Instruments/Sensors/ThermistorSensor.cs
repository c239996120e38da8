using System.Collections.Immutable;
using Throughline.Instruments.Physics;

namespace Throughline.Instruments;

internal sealed class ThermistorKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "thermistor",
        "A thermistor of negative temperature coefficient. The measurand is a temperature in °C.",
        Key.Kind("thermistor"),
        SensorReading.ResponseKey,
        Key.Required("resistance", Shapes.Resistance, "At 25 °C; its tolerance scales the whole curve."),
        Key.Optional("beta", Shapes.Quantity(UnitSets.TemperatureDifference, f => f.WithTolerance().Positive()), "Constant of the exponential law."),
        Key.Optional(
            "coefficients", new ListShape(new NumberShape(-1e3, 1e3), 3, 4),
            "Three: a, b, c of 1/T = a + b ln(R/Ω) + c ln(R/Ω)³. Four: a, b, c, d of 1/T = a + b L + c L² + d L³ with L = ln(R/R25). T in kelvin."),
        SensorReading.SelfHeatingKey,
        Key.Required("between", Shapes.Pair, "Its two nodes."))
    {
        ExactlyOneOf = [["beta"], ["coefficients"]],
        Example = "{ kind: thermistor, resistance: 10 kΩ ±1 %, beta: 3977 K ±0.75 %, between: [ntc, 0V] }",
    };

    public override Sensor? Read(MapView map)
    {
        if (!SensorReading.Measures(map, Dimension.Temperature) || map.Parameter(SensorParts.Owner, "resistance") is not { } resistance || map.Pair("between") is not var (plus, minus))
        {
            return null;
        }

        Parameter? beta = map.Parameter(SensorParts.Owner, "beta");
        double[] coefficients = SensorReading.Numbers(map, "coefficients");
        double ohms = resistance.Quantity.Value;
        ThermistorLaw? law = (beta, coefficients) switch
        {
            ({ } b, _) => ThermistorLaw.FromBeta(ohms, 25, b.Quantity.Value),
            (_, [var a, var b, var c]) => ThermistorLaw.FromSteinhartHart(a, b, c),
            (_, [var a, var b, var c, var d]) => ThermistorLaw.FromFourTerms(ohms, a, b, c, d),
            _ => null,
        };
        if (law is null)
        {
            return null;
        }

        double at25 = law.Ohms(25);
        if (!(Math.Abs(at25 / ohms - 1) <= 0.005))
        {
            map.Report(
                Codes.Contradiction,
                map.PlaceOf("coefficients"),
                double.IsNaN(at25)
                    ? "The coefficients give no resistance at 25 °C."
                    : $"The coefficients give {QuantityText.Format(at25, Dimension.Resistance)} at 25 °C.",
                QuantityText.Format(ohms, Dimension.Resistance),
                "another resistance");
            return null;
        }

        if (map.Context.Specification is { Range: var range } && !(law.Ohms(range.Low) > law.Ohms(range.High)))
        {
            map.Report(
                Codes.OutOfRange, range.Span, "The thermistor's curve has no falling resistance over the measuring range.", "a range in which the curve holds", $"`{range.Text}`");
            return null;
        }

        return new ThermistorSensor { Span = map.Span, Resistance = resistance, Beta = beta, Law = law, SelfHeating = map.Quantity("self-heating"), Plus = plus, Minus = minus };
    }
}

/// <summary>A negative-temperature-coefficient thermistor. The measurand is a temperature in °C.</summary>
public sealed record ThermistorSensor : Sensor
{
    private const double ReferenceKelvin = 25 + Nernst.ZeroCelsius;

    public override string Kind => "thermistor";

    /// <summary>At 25 °C, Ω: scales the whole curve.</summary>
    public required Parameter Resistance { get; init; }

    /// <summary>β, K; null when the curve is given by coefficients.</summary>
    public Parameter? Beta { get; init; }

    /// <summary>The curve of nominal parameters.</summary>
    public required ThermistorLaw Law { get; init; }

    /// <summary>As said under <c>self-heating</c>.</summary>
    public Quantity? SelfHeating { get; init; }

    public override Quantity? ThermalResistance => SelfHeating;

    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    public override ImmutableArray<Terminal> Terminals => SensorParts.Pair(Plus, Minus);

    public override ImmutableArray<Parameter> Parameters => Beta is null ? [Resistance] : [Resistance, Beta];

    public override SignalKind SignalKind => SignalKind.Resistance;

    public override double Signal(IUnitState state)
    {
        double scale = state.Value(Resistance) / Resistance.Quantity.Value;
        double ohms = scale * Law.Ohms(state.Measurand);
        return Beta is null ? ohms : ohms * Math.Exp((state.Value(Beta) - Beta.Quantity.Value) * (1 / (state.Measurand + Nernst.ZeroCelsius) - 1 / ReferenceKelvin));
    }

    public override double NominalSignal(double measurand, double processCelsius) => Law.Ohms(measurand);

    public override double MeasurandOf(double signal, double processCelsius) => Law.Celsius(signal);

    public override double SourceResistance(IUnitState state) => 0;

    public override void Describe(INetworkSink sink) => sink.Resistor(SensorParts.Owner, Plus.Value, Minus.Value, Signal);

    public override void DescribeSimulated(INetworkSink sink, Law signal) => sink.Resistor(SensorParts.Owner, Plus.Value, Minus.Value, signal);
}
