using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>What kind of signal a sensor gives.</summary>
public enum SignalKind
{
    /// <summary>Volt between its terminals.</summary>
    Voltage,

    /// <summary>Ohm between its terminals.</summary>
    Resistance,

    /// <summary>Volt out per volt of excitation.</summary>
    Ratio,

    /// <summary>Ampere through it.</summary>
    Current,
}

/// <summary>
/// A sensor: how its signal follows from the measurand, and what it is as a circuit. Each kind is one file. Measurands are in the specification's unit.
/// </summary>
public abstract record Sensor
{
    /// <summary>The name of the element that senses among those that <see cref="Describe"/> says; inner nodes and further elements begin with it.</summary>
    public const string ElementName = "sensor";

    /// <summary>The trade's word, such as <c>glass electrode</c>.</summary>
    public abstract string Kind { get; }

    public SourceSpan Span { get; init; }

    /// <summary>Time that the sensor itself takes to go nine tenths of a step of the measurand, s; null when it follows at once.</summary>
    public Quantity? Response { get; init; }

    /// <summary>Its terminals; the first is the one that the bench's source takes the place of.</summary>
    public abstract ImmutableArray<Terminal> Terminals { get; }

    /// <summary>Every number of it that may move.</summary>
    public abstract ImmutableArray<Parameter> Parameters { get; }

    public abstract SignalKind SignalKind { get; }

    /// <summary>The signal of this unit's sensor at the state's measurand and temperatures, V, Ω, V/V or A by <see cref="SignalKind"/>.</summary>
    public abstract double Signal(IUnitState state);

    /// <summary>The signal of the sensor that the code assumes: nominal parameters, at a measurand and a process temperature in °C.</summary>
    public abstract double NominalSignal(double measurand, double processCelsius);

    /// <summary>The measurand at which <see cref="NominalSignal"/> gives this signal. NaN when no measurand does.</summary>
    public abstract double MeasurandOf(double signal, double processCelsius);

    /// <summary>Resistance in series with a voltage or a ratio at the state's process temperature, Ω: what a bias current and a load act on. 0 when negligible
    /// and for resistances and currents.</summary>
    public abstract double SourceResistance(IUnitState state);

    /// <summary>Says the elements that it consists of.</summary>
    public abstract void Describe(INetworkSink sink);

    /// <summary>Says the elements with the bench's source in its place: a voltage, a resistance or a ratio by <see cref="SignalKind"/>.</summary>
    public abstract void DescribeSimulated(INetworkSink sink, Law signal);

    /// <summary>
    /// Where the code takes a calibration into account: null for the measurand (most kinds); for an electrode the signal that its line turns about, V: what the nominal one
    /// gives at its zero.
    /// </summary>
    public virtual double? ZeroSignal => null;

    /// <summary>The nominal slope as a ratio to the theoretical one.</summary>
    public virtual double NominalSlope => 1;

    /// <summary>Thermal resistance from the element that senses to what it measures, K/W; null when not said or when it does not warm itself.</summary>
    public virtual Quantity? ThermalResistance => null;

    /// <summary>
    /// The measurand that the code of this unit makes of a signal, in the specification's unit; NaN when it can make none. Most kinds know only the
    /// signal and the process temperature; one that measures more beside it (a thermocouple's cold junction) takes that from the unit's state.
    /// </summary>
    /// <param name="signal">V, Ω, V/V or A by <see cref="SignalKind"/>.</param>
    /// <param name="processCelsius">The process temperature that the code uses: as measured, or as assumed, °C.</param>
    /// <param name="state">The unit and its conditions.</param>
    public virtual double Reading(double signal, double processCelsius, IUnitState state) => MeasurandOf(signal, processCelsius);

    /// <summary>What beside the measurand moves the reading in this instrument. The sensor itself does not know the instrument it is in:
    /// the range, the conditions and the arithmetic come with the question.</summary>
    public virtual ImmutableArray<SensorInfluence> Influences(Instrument instrument) => [];
}

/// <summary>
/// Something beside the measurand that moves a sensor's reading and that the designer's choice of connection or arithmetic may leave in:
/// lead resistance, terminal temperature, temperature of the process, the excitation's rail.
/// </summary>
/// <param name="Name">In the trade's words.</param>
/// <param name="Shift">The error of the reading at a measurand (in its unit) for the stated size of the influence: what the instrument would show minus the truth.</param>
/// <param name="Statement">What the size is, such as <c>2.0 Ω of wire in the loop</c>.</param>
/// <param name="Allowed">The error allowed for it, in the measurand's unit; null takes the display's error limit.</param>
/// <param name="Mend">What would mend it.</param>
/// <param name="Residual">What remains after the best simple correction at a measurand, and that correction's name; null when none makes sense.</param>
public sealed record SensorInfluence(
    string Name,
    Func<double, double> Shift,
    string Statement,
    double? Allowed,
    string Mend,
    SourceSpan Span,
    (string Correction, Func<double, double> Remains)? Residual = null);
