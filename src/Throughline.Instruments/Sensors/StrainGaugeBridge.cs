using System.Collections.Immutable;

namespace Throughline.Instruments;

internal sealed class StrainGaugeBridgeKind : SensorKind
{
    public override MapShape Shape { get; } = new(
        "strain-gauge bridge",
        "A bridge of strain gauges such as a load cell. The measurand is what the rated load is in.",
        Key.Kind("strain-gauge bridge"),
        SensorReading.ResponseKey,
        Key.Required("resistance", Shapes.Resistance, "Of the arms, which is the output resistance."),
        Key.Required("rated output", Shapes.Quantity(UnitSets.VoltageRatio, f => f.WithDrift().Positive()), "Output over excitation at the rated load."),
        Key.Required("rated load", Shapes.Measurand, "The load of the rated output."),
        Key.Optional(
            "zero balance", Shapes.Quantity(UnitSets.Percent, f => f.WithDrift().OnlyTolerance()), "Output without load as a part of the rated output.", "±0 %"),
        Key.Optional("input resistance", Shapes.Resistance, "Between the excitation terminals.", "that of the arms"),
        Key.Required("excitation", Shapes.Pair, "The nodes of the excitation."),
        Key.Required("signal", Shapes.Pair, "The nodes of the signal; the first rises with the load."))
    {
        Example = "{ kind: strain-gauge bridge, resistance: 350 Ω, rated output: 2.000 mV/V ±0.1 %, rated load: 100 kg, zero balance: ±1 %, excitation: [e+, e-], signal: [s+, s-] }",
    };

    public override Sensor? Read(MapView map) =>
        map.Parameter(SensorParts.Owner, "resistance") is { } resistance
        && map.Parameter(SensorParts.Owner, "rated output") is { } rated
        && SensorReading.Positive(map, map.Measurand("rated load")) is { } load
        && map.Pair("excitation") is var (excitationPlus, excitationMinus)
        && map.Pair("signal") is var (signalPlus, signalMinus)
            ? new StrainGaugeBridge
            {
                Span = map.Span,
                Resistance = resistance,
                RatedOutput = rated,
                RatedLoad = load.Value,
                ZeroBalance = map.Parameter(SensorParts.Owner, "zero balance"),
                InputResistance = map.Parameter(SensorParts.Owner, "input resistance"),
                ExcitationPlus = excitationPlus,
                ExcitationMinus = excitationMinus,
                SignalPlus = signalPlus,
                SignalMinus = signalMinus,
            }
            : null;
}

/// <summary>
/// A bridge of strain gauges, such as a load cell: four arms between excitation and signal, so that it loads the excitation and its signal stands at half of it.
/// The measurand is what the rated load is in: a mass, a force, a pressure.
/// </summary>
public sealed record StrainGaugeBridge : Sensor
{
    public override string Kind => "strain-gauge bridge";

    /// <summary>Of each arm, which is the output resistance, Ω.</summary>
    public required Parameter Resistance { get; init; }

    /// <summary>Output over excitation at the rated load, V/V.</summary>
    public required Parameter RatedOutput { get; init; }

    /// <summary>In the measurand's unit.</summary>
    public required double RatedLoad { get; init; }

    /// <summary>Output without load as a part of the rated output, about 0; null when not said.</summary>
    public Parameter? ZeroBalance { get; init; }

    /// <summary>Between the excitation terminals, Ω; null when it is that of the arms. More than the arms' lies in series with them, as the makers' span
    /// resistors do; less lies across them.</summary>
    public Parameter? InputResistance { get; init; }

    public required Located<string> ExcitationPlus { get; init; }

    public required Located<string> ExcitationMinus { get; init; }

    public required Located<string> SignalPlus { get; init; }

    public required Located<string> SignalMinus { get; init; }

    public override ImmutableArray<Terminal> Terminals =>
    [
        new("signal plus", SignalPlus), new("signal minus", SignalMinus), new("excitation plus", ExcitationPlus), new("excitation minus", ExcitationMinus),
    ];

    public override ImmutableArray<Parameter> Parameters =>
        [Resistance, RatedOutput, .. new[] { ZeroBalance, InputResistance }.OfType<Parameter>()];

    public override SignalKind SignalKind => SignalKind.Ratio;

    public override double Signal(IUnitState state)
    {
        double rated = state.Value(RatedOutput);
        return rated * (state.Measurand / RatedLoad + (ZeroBalance is null ? 0 : state.Value(ZeroBalance)));
    }

    public override double NominalSignal(double measurand, double processCelsius) =>
        RatedOutput.Quantity.Value * (measurand / RatedLoad + (ZeroBalance?.Quantity.Value ?? 0));

    public override double MeasurandOf(double signal, double processCelsius) =>
        RatedLoad * (signal / RatedOutput.Quantity.Value - (ZeroBalance?.Quantity.Value ?? 0));

    public override double SourceResistance(IUnitState state) => state.Value(Resistance);

    public override void Describe(INetworkSink sink) => Arms(sink, Signal);

    public override void DescribeSimulated(INetworkSink sink, Law signal) => Arms(sink, signal);

    private void Arms(INetworkSink sink, Law ratio)
    {
        if (InputResistance is null || InputResistance.Quantity.Value == Resistance.Quantity.Value)
        {
            SensorParts.Ratio(sink, ExcitationPlus, ExcitationMinus, SignalPlus, SignalMinus, ratio, SourceResistance);
        }
        else if (InputResistance.Quantity.Value > Resistance.Quantity.Value)
        {
            // The rated output refers to the excitation terminals, the arms see less than that. Tolerances never bring the series part to nothing.
            const string Plus = SensorParts.Owner + ".excitation+", Minus = SensorParts.Owner + ".excitation-";
            double Series(IUnitState s) => Math.Max(1e-3, (s.Value(InputResistance) - s.Value(Resistance)) / 2);
            sink.Resistor(SensorParts.Owner + ".series1", ExcitationPlus.Value, Plus, Series);
            sink.Resistor(SensorParts.Owner + ".series2", ExcitationMinus.Value, Minus, Series);
            Located<string> plus = new(Plus, ExcitationPlus.Span), minus = new(Minus, ExcitationMinus.Span);
            SensorParts.Ratio(sink, plus, minus, SignalPlus, SignalMinus, s => ratio(s) * (1 + 2 * Series(s) / s.Value(Resistance)), SourceResistance);
        }
        else
        {
            sink.Resistor(
                SensorParts.Owner + ".shunt",
                ExcitationPlus.Value,
                ExcitationMinus.Value,
                s => 1 / Math.Max(1e-9, 1 / s.Value(InputResistance) - 1 / s.Value(Resistance)));
            SensorParts.Ratio(sink, ExcitationPlus, ExcitationMinus, SignalPlus, SignalMinus, ratio, SourceResistance);
        }
    }
}
