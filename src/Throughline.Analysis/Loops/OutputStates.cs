using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>
/// What a receiver may take a value of the output to mean. For a current with a live zero it is what NAMUR NE 43 says. No recommendation speaks of other signals: a receiver is then taken to
/// know the instrument's own limits and failure level and to decide half way between them; below a live zero, where nothing else is stated, half way to nothing. Common practice, no source.
/// </summary>
internal sealed class OutputStates
{
    /// <summary>An adjusted output may be wrong by this part of the span: 20 µA of 16 mA. Common practice, no source.</summary>
    private const double NearShare = 1 / 800.0;

    private const double NearAmperes = 20e-6;

    /// <summary>A value written and the same one computed may differ in the last bits; this part of the span decides nothing.</summary>
    private const double HairShare = 1e-9;

    private readonly double _hair;

    public OutputStates(Loop loop)
    {
        (ScaleLow, ScaleHigh) = (loop.Scale.Min(p => p.To.Value), loop.Scale.Max(p => p.To.Value));
        double span = ScaleHigh - ScaleLow;
        _hair = HairShare * span;
        IsDead = ScaleLow <= _hair;
        IsByRecommendation = !loop.Signal.IsVoltage && !IsDead;
        if (IsByRecommendation)
        {
            (FailureLow, FailureHigh) = (LoopSignals.FailureLow, LoopSignals.FailureHigh);
            (MeasuringLow, MeasuringHigh) = (loop.Under?.Value ?? LoopSignals.MeasuringLow, loop.Over?.Value ?? LoopSignals.MeasuringHigh);
            (Near, Unit) = (NearAmperes, 1e-3);
            return;
        }

        (MeasuringLow, MeasuringHigh) = (loop.Under?.Value ?? ScaleLow, loop.Over?.Value ?? ScaleHigh);
        (Near, Unit) = (NearShare * span, span / 16);
        FailureLow = loop.Failure is { } low && low.Value < MeasuringLow ? (low.Value + MeasuringLow) / 2
            : IsDead ? double.NegativeInfinity
            : MeasuringLow / 2;
        FailureHigh = loop.Failure is { } high && high.Value > MeasuringHigh ? (high.Value + MeasuringHigh) / 2 : double.PositiveInfinity;
    }

    /// <summary>Whether NAMUR NE 43 says it.</summary>
    public bool IsByRecommendation { get; }

    /// <summary>Whether the scale begins at nothing: then nothing tells its beginning from a broken wire or an instrument without power.</summary>
    public bool IsDead { get; }

    public double ScaleLow { get; }

    public double ScaleHigh { get; }

    /// <summary>At and below this a failure is signalled, A or V; −∞ where nothing is.</summary>
    public double FailureLow { get; }

    /// <summary>At and above this a failure is signalled, A or V; +∞ where nothing is.</summary>
    public double FailureHigh { get; }

    /// <summary>Least and greatest value of a valid reading.</summary>
    public double MeasuringLow { get; }

    public double MeasuringHigh { get; }

    /// <summary>What an adjusted output may be wrong by.</summary>
    public double Near { get; }

    /// <summary>What <see cref="Falseness"/> counts in: 1 mA, or as much of another span.</summary>
    private double Unit { get; }

    /// <summary>What a value means to a receiver. NaN is undecided.</summary>
    public LoopState Classify(double value) => IsByRecommendation ? LoopSignals.Classify(value)
        : value <= FailureLow + _hair ? LoopState.FailureLow
        : value >= FailureHigh - _hair ? LoopState.FailureHigh
        : value >= ScaleLow - _hair && value <= ScaleHigh + _hair ? LoopState.Measuring
        : value < ScaleLow && value >= MeasuringLow - _hair ? LoopState.UnderRange
        : value > ScaleHigh && value <= MeasuringHigh + _hair ? LoopState.OverRange
        : LoopState.Undecided;

    /// <summary>Whether a value is a failure signal, or as near to one as an adjusted output may be wrong by.</summary>
    public bool IsFailure(double value) => value <= FailureLow + Near || value >= FailureHigh - Near;

    /// <summary>
    /// How far a value is inside those that a receiver takes for a measured one, in sixteenths of the span, of a live-zero current in mA; below 0 outside of them. With a dead zero the very
    /// beginning of the scale counts as outside: nothing can be said there. 1 for NaN.
    /// </summary>
    public double Falseness(double value) => double.IsNaN(value)
        ? 1
        : Math.Min(value - ((double.IsNegativeInfinity(FailureLow) ? ScaleLow : FailureLow) + Near), FailureHigh - Near - value) / Unit;
}
