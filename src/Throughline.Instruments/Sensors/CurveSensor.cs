using System.Collections.Immutable;

namespace Throughline.Instruments;

/// <summary>A sensor whose signal the user gives as a curve of the measurand: what a table and a polynomial have in common.</summary>
public abstract record CurveSensor : Sensor
{
    private protected CurveSensor(SignalKind signalKind) => SignalKind = signalKind;

    public sealed override SignalKind SignalKind { get; }

    /// <summary>In series with a voltage, in parallel with a current, of a bridge's arms or a whole divider, Ω; null when not said.</summary>
    public Parameter? Resistance { get; init; }

    /// <summary>Error of the signal, in its own unit, about 0; null when not said.</summary>
    public Parameter? Error { get; init; }

    public required Located<string> Plus { get; init; }

    public required Located<string> Minus { get; init; }

    /// <summary>The excitation's nodes of a ratio; null for other signals.</summary>
    public (Located<string> Plus, Located<string> Minus)? Excitation { get; init; }

    public sealed override ImmutableArray<Terminal> Terminals => Excitation is var (plus, minus)
        ? [new("plus", Plus), new("minus", Minus), new("excitation plus", plus), new("excitation minus", minus)]
        : SensorParts.Pair(Plus, Minus);

    public sealed override ImmutableArray<Parameter> Parameters => [.. new[] { Resistance, Error }.OfType<Parameter>()];

    public sealed override double Signal(IUnitState state)
    {
        double signal = NominalSignal(state.Measurand, state.ProcessCelsius) + (Error is null ? 0 : state.Value(Error));
        return SignalKind == SignalKind.Resistance ? Math.Max(signal, 1e-6) : signal;
    }

    public sealed override double SourceResistance(IUnitState state) =>
        Resistance is null || SignalKind is SignalKind.Resistance or SignalKind.Current ? 0 : state.Value(Resistance);

    public sealed override void Describe(INetworkSink sink) => Elements(sink, Signal, withResistance: true);

    public sealed override void DescribeSimulated(INetworkSink sink, Law signal) => Elements(sink, signal, withResistance: false);

    private void Elements(INetworkSink sink, Law signal, bool withResistance)
    {
        switch (SignalKind)
        {
            case SignalKind.Voltage:
                SensorParts.Source(sink, Plus, Minus, signal, withResistance && Resistance is not null ? SourceResistance : null);
                break;
            case SignalKind.Resistance:
                sink.Resistor(SensorParts.Owner, Plus.Value, Minus.Value, signal);
                break;
            case SignalKind.Current:
                sink.CurrentSource(SensorParts.Owner, Minus.Value, Plus.Value, signal);
                if (withResistance && Resistance is { } parallel)
                {
                    sink.Resistor(SensorParts.Owner + ".resistance", Plus.Value, Minus.Value, s => s.Value(parallel));
                }

                break;
            default:
                (Located<string> plus, Located<string> minus) = Excitation!.Value;
                SensorParts.Ratio(sink, plus, minus, Plus, Minus, signal, s => s.Value(Resistance!));
                break;
        }
    }
}
